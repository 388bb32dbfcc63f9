package inventory

import (
	"maps"
	"slices"

	"shimwright/shim"
)

// settle brings a job's reserved shims, purchases and state in line with its plan
// and the ledger. It reserves what the plan still needs, as far as it is free; had
// are the shims reserved for it until this booking freed them.
func (b *booking) settle(id int64, had ...Hold) error {
	w, err := load(b, id)
	if err != nil {
		return err
	}
	w.State = w.progress()
	left := w.left()
	if !w.State.holds() {
		left = nil
	}
	if w.Short, err = b.holdFor(w, left, had); err != nil {
		return err
	}
	if err := b.settlePurchases(w); err != nil {
		return err
	}
	w.Changed = b.at
	return b.PutJob(w.Job)
}

// progress is the state that follows from the plan and the ledger.
func (w *work) progress() State {
	switch w.State {
	case StatePlanned, StateFitting, StateFitted, StateRechecked:
	default:
		return w.State
	}
	left, all := len(w.left()), len(w.plan.Placements)
	switch {
	case len(w.empty()) > 0:
		return StateFitting
	case left == 0 && w.State == StateRechecked:
		return StateRechecked
	case left == 0 && all > 0:
		return StateFitted
	case all == 0 && w.anyFitted(): // nothing is left to do
		if w.remeasured() {
			return StateRechecked
		}
		return StateFitted
	}
	for _, m := range w.moves {
		// What it does not name, a trial shim, is measured before anything is fitted.
		if named := func(p Placement) bool { return p.Valve == m.Valve }; m.Seq > w.plan.Seq && (m.Kind == KindPulled || m.Kind == KindFitted) && slices.ContainsFunc(w.plan.Placements, named) {
			return StateFitting
		}
	}
	return StatePlanned
}

// settleOrders is [booking.settlePurchases] for a job by its number; 0 is the shop.
func (b *booking) settleOrders(id int64) error {
	if id == 0 {
		return nil
	}
	w, err := load(b, id)
	if err != nil {
		return err
	}
	return b.settlePurchases(w)
}

// settlePurchases brings what the job needs from the supplier in line with the
// placements that are left: pieces that came and that are on order serve it
// first, then what the shop has on order. What is on order and the job does not
// need, or no longer since it is at its end, is the shop's. A job whose readings
// are new keeps its order until it is planned, after its fit too.
func (b *booking) settlePurchases(w *work) error {
	final := w.State.Final()
	if final || w.plan.Number == 0 {
		for i := range w.purchases {
			w.purchases[i] = w.purchases[i].carry()
		}
	}
	discs := map[shim.Disc]bool{}
	for _, p := range w.left() {
		if p.Source == SourceBought && !final {
			discs[w.disc(p)] = true
		}
	}
	for _, p := range w.purchases {
		discs[p.Disc] = true
	}
	for _, d := range slices.SortedFunc(maps.Keys(discs), shim.Disc.Compare) {
		var rows []Purchase
		for _, p := range w.purchases {
			if p.Disc == d {
				rows = append(rows, p)
			}
		}
		need := 0
		if !final && w.plan.Number != 0 {
			need = w.needs(d)
		}
		if err := b.serve(w, rows, d, need, final || w.plan.Number != 0 && w.State != StateRechecked); err != nil {
			return err
		}
	}
	return nil
}

// serve lets the rows of one kind of shim serve what is needed of it; what is on order
// beyond that goes to the shop where it may.
func (b *booking) serve(w *work, rows []Purchase, d shim.Disc, need int, release bool) error {
	for i := range rows {
		rows[i].Needed = min(need, rows[i].Arrived)
		need -= rows[i].Needed
	}
	free := map[Terms]int{}
	for i := range rows {
		p := &rows[i]
		n := min(need, p.Coming())
		need -= n
		p.Needed += n
		if spare := p.Coming() - n; release && spare > 0 {
			p.Ordered -= spare
			free[p.Terms] += spare
		}
		if err := b.PutPurchase(*p); err != nil {
			return err
		}
	}
	for _, t := range slices.SortedFunc(maps.Keys(free), Terms.Compare) {
		if err := b.giveOver(d, t, free[t]); err != nil {
			return err
		}
	}
	need, err := b.takeOver(w, d, need)
	if err != nil || need == 0 {
		return err
	}
	// Including what was just taken over.
	if rows, err = b.Purchases(HoldFilter{Job: w.ID, Disc: d}); err != nil {
		return err
	}
	for _, t := range missing(w.wanted(d), rows, need) {
		p, err := b.purchase(w.ID, d, t)
		if err != nil {
			return err
		}
		p.Needed++
		if err := b.PutPurchase(p); err != nil {
			return err
		}
	}
	return nil
}

// wanted are the terms that the plan buys pieces of a kind on: first those of
// the pieces that are left, then those of the fitted ones, for a piece may have
// gone into another valve than it was bought for.
func (w *work) wanted(d shim.Disc) []Terms {
	var left, done []Terms
	for _, p := range w.plan.Placements {
		if p.Source != SourceBought || w.disc(p) != d {
			continue
		}
		if m, fitted := w.since(p.Valve, KindFitted); !fitted {
			left = append(left, p.Terms)
		} else if w.taken(m).Disc() == d {
			done = append(done, p.Terms)
		}
	}
	return append(left, done...)
}

// missing picks the terms of pieces that are to be ordered: those on which
// nothing was ordered before. A piece that was ordered stands for the one wanted
// on its terms, else for one of its supplier's part, else of its supplier: it may
// have come at another price.
func missing(wanted []Terms, rows []Purchase, need int) []Terms {
	var have, served []Terms
	for _, p := range rows {
		have = append(have, slices.Repeat([]Terms{p.Terms}, p.Ordered)...)
	}
	for _, alike := range []func(x, y Terms) bool{
		func(x, y Terms) bool { return x == y },
		func(x, y Terms) bool { return SameSupplier(x.Supplier, y.Supplier) && x.Part == y.Part },
		func(x, y Terms) bool { return SameSupplier(x.Supplier, y.Supplier) },
	} {
		have = slices.DeleteFunc(have, func(t Terms) bool {
			at := slices.IndexFunc(wanted, func(o Terms) bool { return alike(t, o) })
			if at < 0 {
				return false
			}
			served = append(served, wanted[at])
			wanted = slices.Delete(wanted, at, at+1)
			return true
		})
	}
	return append(wanted, served...)[:need]
}

// giveOver hands shims on order to the jobs that must buy the size, oldest first,
// and the rest to the shop.
func (b *booking) giveOver(d shim.Disc, t Terms, count int) error {
	list, err := b.Purchases(HoldFilter{Disc: d})
	if err != nil {
		return err
	}
	for _, p := range list {
		n := min(count, p.Missing())
		if n == 0 {
			continue
		}
		count -= n
		if err := b.hand(p.Job, d, t, n); err != nil {
			return err
		}
	}
	p, err := b.purchase(0, d, t)
	if err != nil || count == 0 {
		return err
	}
	p.Ordered += count
	return b.PutPurchase(p)
}

// hand gives a job shims on order in place of those it must order.
func (b *booking) hand(job int64, d shim.Disc, t Terms, count int) error {
	p, err := b.purchase(job, d, t)
	if err != nil {
		return err
	}
	p.Ordered += count
	if err := b.PutPurchase(p); err != nil {
		return err
	}
	return b.settleOrders(job)
}

// takeOver gives the job what the shop has on order and returns how many shims it
// still needs.
func (b *booking) takeOver(w *work, d shim.Disc, need int) (int, error) {
	if need == 0 {
		return 0, nil
	}
	list, err := b.Purchases(HoldFilter{Disc: d})
	if err != nil {
		return 0, err
	}
	for _, p := range list {
		n := min(need, p.Coming())
		if n == 0 || p.Job != 0 {
			continue
		}
		need -= n
		p.Ordered -= n
		if err := b.PutPurchase(p); err != nil {
			return 0, err
		}
		q, err := b.purchase(w.ID, d, p.Terms)
		if err != nil {
			return 0, err
		}
		q.Needed += n
		q.Ordered += n
		if err := b.PutPurchase(q); err != nil {
			return 0, err
		}
	}
	return need, nil
}

// carry is what is left of a purchase when its plan no longer applies: the shims on
// order.
func (p Purchase) carry() Purchase {
	p.Needed, p.Ordered, p.Arrived = 0, p.Coming(), 0
	return p
}
