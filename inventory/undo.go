package inventory

import (
	"cmp"
	"context"
	"errors"
	"fmt"
	"maps"
	"slices"

	"shimwright/shim"
)

// Undo books the reverse of everything that a batch booked. An undo can be
// undone as well. A fit can be undone as long as its job is not at its end and
// the same valves were neither worked on nor measured since.
func (s *Shop) Undo(ctx context.Context, batch int64, note string) (Receipt, error) {
	return s.update(ctx, func(b *booking) error {
		rows, err := batchRows(b, batch)
		if err != nil {
			return err
		}
		jobs := map[int64]bool{}
		for _, m := range rows {
			if m.Job != 0 {
				jobs[m.Job] = true
			}
			if m.Reverses != 0 && m.Job != 0 && m.Kind != KindReceived {
				return shim.Fail(ErrInvalid, "book it again: a fit with job fit, a correction with job correct", "booking %d undid a fit", batch)
			}
			taken, err := b.Movements(MovementFilter{Reverses: m.Seq, Limit: 1})
			if err != nil {
				return err
			}
			if len(taken) > 0 {
				return shim.Fail(ErrInvalid, "see the history of the box", "booking %d was undone by booking %d", batch, taken[0].Batch)
			}
		}
		for _, id := range slices.Sorted(maps.Keys(jobs)) {
			if err := b.mayUndo(id, batch, rows); err != nil {
				return err
			}
		}
		return b.reverse(rows, slices.Sorted(maps.Keys(jobs)), note)
	})
}

// batchRows reads the rows of one batch.
func batchRows(r Reader, batch int64) ([]Movement, error) {
	var rows []Movement
	for after := batch - 1; batch > 0; {
		page, err := r.Movements(MovementFilter{After: after, Limit: 100})
		if err != nil {
			return nil, err
		}
		for _, m := range page {
			if m.Batch != batch {
				page = nil
				break
			}
			rows = append(rows, m)
			after = m.Seq
		}
		if len(page) == 0 {
			break
		}
	}
	if len(rows) == 0 {
		return nil, shim.Fail(ErrUnknown, "see the history of the box", "there is no booking %d", batch)
	}
	return rows, nil
}

// mayUndo refuses where the job is at its end or went on with the same valves.
func (b *booking) mayUndo(id, batch int64, rows []Movement) error {
	w, err := load(b, id)
	if err != nil {
		return err
	}
	if w.State.Final() {
		return w.fail("its bookings stay", "cannot be changed")
	}
	for _, c := range w.checks {
		if c.carried() {
			continue
		}
		for _, m := range rows {
			read := func(x shim.Measurement) bool { return x.Valve == m.Valve && x.Reading.Kind != shim.Unread }
			if (m.Kind == KindPulled || m.Kind == KindFitted) && m.Job == id && c.Seq >= m.Seq && slices.ContainsFunc(c.Readings, read) {
				return shim.Fail(ErrInvalid, fmt.Sprintf("say what is in it now: job correct %d %s=SIZE", id, m.Valve), "valve %s of job %d was measured since", m.Valve, id)
			}
		}
	}
	for _, later := range w.moves {
		if later.Batch <= batch || later.Kind != KindPulled && later.Kind != KindFitted {
			continue
		}
		for _, m := range rows {
			if (m.Kind == KindPulled || m.Kind == KindFitted) && m.Job == id && m.Valve == later.Valve {
				return shim.Fail(ErrInvalid, "undo the later booking first", "valve %s of job %d was worked on again in booking %d", m.Valve, id, later.Batch)
			}
		}
	}
	return nil
}

// reverse books the reverse of the rows, the last one first, so that no count
// goes below zero on the way, and settles the jobs.
func (b *booking) reverse(rows []Movement, jobs []int64, note string) error {
	had := map[int64][]Hold{}
	for _, id := range jobs {
		var err error
		if had[id], err = b.freeHolds(id); err != nil {
			return err
		}
	}
	for _, m := range slices.Backward(rows) {
		if m.Job != 0 && m.Count < 0 { // what went in is promised again as it comes back
			had[m.Job] = append(had[m.Job], Hold{Job: m.Job, Lot: m.Lot, Count: -m.Count})
		}
		back := Movement{Kind: m.Kind, Lot: m.Lot, Count: -m.Count, Job: m.Job, Valve: m.Valve, Quote: m.Quote, Order: m.Order, Unordered: m.Unordered, Note: note, Reverses: m.Seq}
		if err := b.post(back, override); err != nil {
			return b.tookIt(m, err)
		}
		if m.Kind == KindReceived && (m.Job != 0 || m.Order != nil) {
			if err := b.unarrive(m); err != nil {
				return err
			}
		}
	}
	for _, id := range jobs {
		if err := b.settle(id, had[id]...); err != nil {
			return err
		}
	}
	return nil
}

// tookIt names the batch that took the pieces which a row cannot take back.
func (b *booking) tookIt(m Movement, short error) error {
	if !errors.Is(short, ErrShort) {
		return short
	}
	later, err := b.Movements(MovementFilter{After: m.Seq, Disc: m.Disc()})
	if err != nil {
		return err
	}
	undone := map[int64]bool{}
	for _, x := range slices.Backward(later) {
		if x.Reverses != 0 || undone[x.Seq] {
			undone[x.Reverses] = true
			continue
		}
		if x.Lot == m.Lot && x.Count < 0 {
			return shim.Fail(ErrShort, fmt.Sprintf("undo that booking first: box undo %d", x.Batch),
				"%s is not there any more: %d × %s in booking %d", m.Lot, -x.Count, x.Kind, x.Batch)
		}
	}
	return short
}

// unarrive takes an arrival of pieces for a job or the shop back: they are on order
// again, or to be ordered if nobody had ordered them. If the row is itself such an
// undo, they have arrived after all.
func (b *booking) unarrive(m Movement) error {
	var p Purchase
	var err error
	if m.Order != nil {
		p, err = b.purchase(m.Job, m.Disc(), m.paid())
	} else {
		p, m.Order, err = b.guessed(m)
	}
	if err != nil {
		return err
	}
	switch {
	case m.Count < 0 && m.Unordered:
		return b.unorderedAfterAll(m, p)
	case m.Count < 0:
		return b.cameAfterAll(m)
	case m.Job == 0:
		return b.giveOver(m.Disc(), *m.Order, m.Count)
	}
	// Pieces that arrived for an earlier plan are no longer counted in Arrived.
	known := min(m.Count, p.Arrived)
	p.Arrived -= known
	if m.Unordered { // the job is settled yet: it needs them on its plan's terms
		p.Ordered -= known
		return b.PutPurchase(p)
	}
	p.Ordered += m.Count - known
	if err := b.PutPurchase(p); err != nil {
		return err
	}
	return b.reprice(p, *m.Order, m.Count, 0)
}

// cameAfterAll takes pieces off order on the terms that they were bought on, be
// they the job's, the shop's or handed to another job meanwhile, the newest first.
// The job counts them as come as far as it needs them.
func (b *booking) cameAfterAll(m Movement) error {
	purchases, err := b.Purchases(HoldFilter{Disc: m.Disc()})
	if err != nil {
		return err
	}
	own := func(p Purchase) bool { return p.Job == m.Job }
	slices.SortStableFunc(purchases, func(x, y Purchase) int { return cmp.Or(compareBool(!own(x), !own(y)), newestFirst(x, y)) })
	onOrder, needed := -m.Count, -m.Count
	for _, p := range purchases {
		if p, err = b.purchase(p.Job, p.Disc, p.Terms); err != nil { // as it is now
			return err
		}
		n := min(onOrder, p.Coming())
		if n == 0 || p.Terms != *m.Order {
			continue
		}
		onOrder -= n
		if own(p) && p.Job != 0 {
			needed -= n
			if err := b.reprice(p, m.paid(), n, n); err != nil {
				return err
			}
			continue
		}
		p.Ordered -= n
		if err := b.PutPurchase(p); err != nil {
			return err
		}
		if err := b.settleOrders(p.Job); err != nil {
			return err
		}
	}
	if m.Job == 0 {
		return nil
	}
	if purchases, err = b.Purchases(HoldFilter{Job: m.Job, Disc: m.Disc()}); err != nil {
		return err
	}
	for _, p := range purchases {
		if p, err = b.purchase(p.Job, p.Disc, p.Terms); err != nil { // as it is now
			return err
		}
		n := min(needed, p.Missing())
		if n == 0 {
			continue
		}
		needed -= n
		if err := b.reprice(p, m.paid(), n, n); err != nil {
			return err
		}
	}
	return nil
}

// unorderedAfterAll counts pieces that came without an order as come for their
// job again, as far as it waits for some. An order that was placed since stands.
func (b *booking) unorderedAfterAll(m Movement, paid Purchase) error {
	purchases, err := b.Purchases(HoldFilter{Job: m.Job, Disc: m.Disc()})
	if err != nil {
		return err
	}
	wanted := 0
	for _, p := range purchases {
		wanted += p.Needed - p.Arrived
	}
	n := max(0, min(-m.Count, wanted))
	paid.Ordered += n
	paid.Arrived += n
	return b.PutPurchase(paid)
}

// guessed are the purchase and the terms of a piece whose row does not name
// them: those that suit best.
func (b *booking) guessed(m Movement) (Purchase, *Terms, error) {
	p := Purchase{Job: m.Job, Disc: m.Disc(), Terms: m.paid()}
	found, err := b.Purchases(HoldFilter{Job: m.Job, Disc: m.Disc()})
	if err != nil {
		return p, nil, err
	}
	w, err := load(b, m.Job)
	if err != nil {
		return p, nil, err
	}
	rank := func(p Purchase) int { // how well the row suits
		n := 0
		if m.Count > 0 && p.Arrived > 0 || m.Count < 0 && p.Coming() > 0 {
			n += 2
		}
		if p.Price == m.Price && p.Priced == m.Priced {
			n++
		}
		return n
	}
	if len(found) > 0 {
		p = slices.MaxFunc(found, func(x, y Purchase) int { return cmp.Compare(rank(x), rank(y)) })
	}
	if m.Count < 0 {
		return p, &p.Terms, nil
	}
	terms := w.asked(p)
	return p, &terms, nil
}

// asked are the terms that the plan buys on from the purchase's supplier: a
// piece may come at another price.
func (w *work) asked(p Purchase) Terms {
	terms := p.Terms
	for _, l := range w.plan.Placements {
		if l.Source != SourceBought || w.disc(l) != p.Disc || l.Supplier != p.Supplier || l.Part != p.Part {
			continue
		}
		if l.Terms == p.Terms {
			return l.Terms
		}
		terms = l.Terms
	}
	return terms
}
