package inventory

import (
	"cmp"
	"fmt"
	"maps"
	"slices"

	"shimwright/shim"
)

// A Hold is a number of shims of one lot reserved for a job's plan.
type Hold struct {
	Job int64
	Lot
	Count int
	Plan  int64 // the ledger's last row when the plan was made; later plans lose shims first
	Seal  Hash  // the store's; rules see none
}

// A plan reserves shims of a lot, not sizes: the fitting list names the bin to look
// in. A reservation stays with its lot until a booking takes the lot away. Then it
// moves to another free shim of the size, if there is one.

// A need is a placement that takes a shim from the box.
type need struct {
	Placement
	shim.Disc
	very []Lot // the exact shims meant, if known
	slot
}

// A slot is what a reserved shim is for: a valve's own shim, or the temporary one
// that sits there until then.
type slot struct {
	valve  shim.Valve
	forNow bool
}

// counted is how the plan counts on the shim's size, which of a temporary one does not
// matter.
func (n need) counted() Counted {
	if n.forNow {
		return Anyhow
	}
	return n.Placement.Counted
}

// onBox lists the placements that take a shim from the box: drawn ones, moved ones
// whose shim is already pulled, and bought ones that have arrived.
func (w *work) onBox(left []Placement) []need {
	var list []need
	came := map[shim.Disc]int{}
	for _, p := range left {
		n := need{Placement: p, Disc: w.disc(p), slot: slot{valve: p.Valve}}
		switch p.Source {
		case SourceMoved:
			m, out := w.since(p.From, KindPulled)
			if !out {
				continue
			}
			if w.serves(p, m.Size()) {
				n.very, n.Disc.Size = []Lot{m.Lot}, m.Size()
			}
		case SourceBought:
			if came[n.Disc]++; came[n.Disc] > w.arrived(n.Disc)-w.used(n.Disc) {
				continue
			}
			for _, m := range w.moves {
				if m.Kind == KindReceived && m.Disc() == n.Disc {
					n.very = append(n.very, m.Lot)
				}
			}
		}
		list = append(list, n)
	}
	return list
}

// holdable lists the shims to reserve for the job: those the placements take from
// the box, and the temporary ones, which go back into it.
func (w *work) holdable(left []Placement) []need {
	list := w.onBox(left)
	for _, p := range left {
		if p.Temporary != 0 {
			list = append(list, need{Placement: p, Disc: w.family(p.Valve).Of(p.Temporary), slot: slot{p.Valve, true}})
		}
	}
	return list
}

// promise finds a shim for each need: the exact one if it is there, else one known
// as the plan counted it, else a surer one, else any; each time first one reserved
// for the job before, then one not reserved for another job.
func (w *work) promise(r Reader, needs []need, had []Hold) (map[slot]Lot, error) {
	stock, err := w.unpromised(r, needs)
	if err != nil {
		return nil, err
	}
	mine := map[Lot]int{}
	for _, h := range had {
		mine[h.Lot] += h.Count
	}
	given := map[slot]Lot{}
	// give takes the first wanted lot of the size that is there.
	give := func(n need, want func(Lot) bool) {
		if _, done := given[n.slot]; done {
			return
		}
		if best := pickWhere(stock[n.Disc], want); best >= 0 {
			lot := &stock[n.Disc][best]
			lot.Count--
			mine[lot.Lot]--
			given[n.slot] = lot.Lot
		}
	}
	very := func(n need, l Lot) bool { return slices.Contains(n.very, l) }
	alike := func(n need, l Lot) bool { return countedAs(l) == n.counted() }
	surer := func(n need, l Lot) bool { return n.counted().surer(countedAs(l)) }
	anyhow := func(need, Lot) bool { return true }
	before := func(want func(need, Lot) bool) func(need, Lot) bool {
		return func(n need, l Lot) bool { return mine[l] > 0 && want(n, l) }
	}
	for _, want := range []func(need, Lot) bool{very, before(alike), alike, before(surer), surer, before(anyhow), anyhow} {
		for _, n := range needs {
			give(n, func(l Lot) bool { return want(n, l) })
		}
	}
	return given, nil
}

// unpromised lists the lots of the needed sizes, by size, without the shims
// reserved for other jobs.
func (w *work) unpromised(r Reader, needs []need) (map[shim.Disc][]Balance, error) {
	stock := map[shim.Disc][]Balance{}
	for _, n := range needs {
		if _, read := stock[n.Disc]; read {
			continue
		}
		lots, err := spare(r, n.Disc, w.ID)
		if err != nil {
			return nil, err
		}
		stock[n.Disc] = lots
	}
	return stock, nil
}

// spare lists the lots of a size with the shims not reserved for another job than
// this one; 0 means no job.
func spare(r Reader, d shim.Disc, job int64) ([]Balance, error) {
	lots, err := r.Balances(StockFilter{Disc: d})
	if err != nil {
		return nil, err
	}
	holds, err := r.Holds(HoldFilter{Disc: d})
	if err != nil {
		return nil, err
	}
	for i := range lots {
		for _, h := range holds {
			if h.Lot == lots[i].Lot && h.Job != job {
				lots[i].Count -= h.Count
			}
		}
	}
	return lots, nil
}

// pick chooses among lots of one size: used shims before new ones, which a
// supplier may take back. It returns -1 if there is none.
func pick(lots []Balance) int { return pickWhere(lots, func(Lot) bool { return true }) }

func pickWhere(lots []Balance, want func(Lot) bool) int {
	best := -1
	for i, l := range lots {
		if l.Count > 0 && want(l.Lot) && (best < 0 || l.Used && !lots[best].Used) {
			best = i
		}
	}
	return best
}

// holdFor reserves the shims that the placements take from the box, first those the
// job had before. It returns how many are missing.
func (b *booking) holdFor(w *work, left []Placement, had []Hold) (short int, err error) {
	holds, err := b.Holds(HoldFilter{Job: w.ID})
	if err != nil {
		return 0, err
	}
	needs := w.holdable(left)
	if had == nil {
		had = holds
	}
	given, err := w.promise(b, needs, had)
	if err != nil {
		return 0, err
	}
	counts := map[Lot]int{}
	for _, h := range holds {
		counts[h.Lot] = 0
	}
	for _, lot := range given {
		counts[lot]++
	}
	for _, lot := range slices.SortedFunc(maps.Keys(counts), Lot.Compare) {
		if err := b.setHold(Hold{Job: w.ID, Lot: lot, Count: counts[lot], Plan: w.plan.Seq}); err != nil {
			return 0, err
		}
	}
	return len(needs) - len(given), nil
}

// yield frees shims of a lot until no more are reserved than the count left. Each
// reservation moves to another free shim of the size. If none is free, the booking
// is refused, or the latest plan loses a shim and is short.
func (b *booking) yield(lot Lot, count int, c claim) error {
	for {
		holds, err := b.Holds(HoldFilter{Disc: lot.Disc()})
		if err != nil {
			return err
		}
		slices.SortFunc(holds, func(x, y Hold) int {
			return cmp.Or(cmp.Compare(y.Plan, x.Plan), cmp.Compare(y.Job, x.Job), x.Lot.Compare(y.Lot))
		})
		promised := 0
		for _, h := range holds {
			if h.Lot == lot {
				promised += h.Count
			}
		}
		if promised <= count {
			return nil
		}
		at := slices.IndexFunc(holds, func(h Hold) bool { return h.Lot == lot })
		to, err := b.elsewhere(lot)
		switch {
		case err != nil:
			return err
		case to == lot && c == respect:
			return b.reserved(lot.Disc())
		case to == lot:
			if err := b.release(holds[0]); err != nil {
				return err
			}
			to = holds[0].Lot
			if to == lot {
				continue
			}
		}
		if err := b.shift(holds[at], to); err != nil {
			return err
		}
	}
}

// elsewhere finds another lot of the size with a free shim: first one that this
// booking brought in, because that shim was only moved, then one known in the same
// way. If there is none, it returns the lot itself.
func (b *booking) elsewhere(lot Lot) (Lot, error) {
	lots, err := spare(b, lot.Disc(), 0)
	if err != nil {
		return lot, err
	}
	other := func(l Lot) bool { return l != lot }
	came := func(l Lot) bool {
		return other(l) && slices.ContainsFunc(b.booked, func(m Movement) bool { return m.Count > 0 && m.Lot == l })
	}
	alike := func(l Lot) bool { return other(l) && countedAs(l) == countedAs(lot) }
	for _, want := range []func(Lot) bool{came, alike, other} {
		if best := pickWhere(lots, want); best >= 0 {
			return lots[best].Lot, nil
		}
	}
	return lot, nil
}

// shift moves one reservation to another lot.
func (b *booking) shift(h Hold, to Lot) error {
	from := h.Lot
	h.Count--
	if err := b.setHold(h); err != nil {
		return err
	}
	there, err := b.held(h.Job, to)
	if err != nil {
		return err
	}
	there.Count, there.Plan = there.Count+1, h.Plan
	if err := b.setHold(there); err != nil {
		return err
	}
	for i, s := range b.shifted {
		if s.Job == h.Job && s.From == from && s.To == to {
			b.shifted[i].Count++
			return nil
		}
	}
	b.shifted = append(b.shifted, Shift{Job: h.Job, From: from, To: to, Count: 1})
	return nil
}

// release takes one reserved shim from a plan.
func (b *booking) release(h Hold) error {
	taken := h
	taken.Count = 1
	h.Count--
	if err := b.setHold(h); err != nil {
		return err
	}
	job, err := b.Job(h.Job)
	if err != nil {
		return err
	}
	job.Short++
	if err := b.PutJob(job); err != nil {
		return err
	}
	for i, r := range b.released {
		if r.Job == taken.Job && r.Lot == taken.Lot {
			b.released[i].Count++
			return nil
		}
	}
	b.released = append(b.released, taken)
	return nil
}

// reserved is the error for shims reserved for other jobs.
func (b *booking) reserved(d shim.Disc) error {
	holds, err := b.Holds(HoldFilter{Disc: d})
	if err != nil {
		return err
	}
	jobs, last := "", int64(0)
	for _, h := range holds {
		if h.Job == last {
			continue
		}
		if last = h.Job; jobs != "" {
			jobs += ", "
		}
		jobs += fmt.Sprint(h.Job)
	}
	return shim.Fail(ErrShort, "choose another size, or plan again or cancel the job that reserved it",
		"%s: all shims on hand are reserved for job %s", d, jobs)
}
