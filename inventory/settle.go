package inventory

// settle brings a job's holds, purchases and state in line with its plan and
// with what the ledger says was done. It holds what the plan still counts on,
// as far as it is free; had are pieces that it held until this booking freed them.
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
