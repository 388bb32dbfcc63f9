package inventory

import (
	"maps"
	"slices"
)

// settle brings a job's holds, purchases and state in line with its plan and
// with what the ledger says was done. It holds what the plan still counts on,
// as far as it is free.
func (b *booking) settle(id int64) error {
	w, err := load(b, id)
	if err != nil {
		return err
	}
	w.State = w.progress()
	left := w.left()
	if !w.State.holds() {
		left = nil
	}
	if w.Short, err = b.holdFor(w, left); err != nil {
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
	case Planned, Fitting, Complete, Rechecked:
	default:
		return w.State
	}
	left, all := len(w.left()), len(w.plan.Placements)
	switch {
	case len(w.empty()) > 0:
		return Fitting
	case left == 0 && w.State == Rechecked:
		return Rechecked
	case left == 0 && all > 0:
		return Complete
	}
	for _, m := range w.moves {
		if m.Seq > w.plan.Seq && (m.Kind == Pulled || m.Kind == Fitted) {
			return Fitting
		}
	}
	return Planned
}

// holdFor holds the pieces that the placements count on and gives how many of
// them are not free.
func (b *booking) holdFor(w *work, left []Placement) (short int, err error) {
	want := w.wants(left)
	holds, err := b.Holds(HoldFilter{Job: w.ID})
	if err != nil {
		return 0, err
	}
	for _, h := range holds {
		if want[h.Size] == 0 {
			h.Count = 0
			if err := b.setHold(h); err != nil {
				return 0, err
			}
		}
	}
	for _, size := range slices.Sorted(maps.Keys(want)) {
		stock, err := b.Stock(w.Diameter, size)
		if err != nil {
			return 0, err
		}
		own := 0
		for _, h := range holds {
			if h.Size == size {
				own = h.Count
			}
		}
		count := min(want[size], stock.Free()+own)
		short += want[size] - count
		if err := b.setHold(Hold{Job: w.ID, Diameter: w.Diameter, Size: size, Count: count, Plan: w.plan.Seq}); err != nil {
			return 0, err
		}
	}
	return short, nil
}

// settlePurchases brings what the job needs from the supplier in line with the
// placements that are left. A job at its end, or without a plan that stands,
// needs nothing; what is on order for it stays on order.
func (b *booking) settlePurchases(w *work) error {
	for _, p := range w.purchases {
		p.Needed = w.needs(p.Size)
		if w.State.Final() || w.plan.Number == 0 {
			p = p.carry()
		}
		if err := b.PutPurchase(p); err != nil {
			return err
		}
	}
	return nil
}

// carry is what is left of a purchase once its plan no longer stands: the
// pieces on order.
func (p Purchase) carry() Purchase {
	p.Needed, p.Ordered, p.Arrived = 0, p.Coming(), 0
	return p
}
