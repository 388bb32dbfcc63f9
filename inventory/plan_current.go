package inventory

import (
	"slices"

	"shimwright/shim"
)

// fittedPlan returns the last plan that was fitted completely. Later plans that
// were not begun or change no shim do not count. It is nil if nothing was fitted, if
// a plan was dropped during its fit, or if the job has changed to another engine
// file since.
func (w *work) fittedPlan(r Reader) (*KeptPlan, error) {
	switch {
	case !w.anyFitted():
		return nil, nil
	case w.State == StateFitted, w.State == StateRechecked:
		return &w.plan, nil
	case w.State != StatePlanned:
		return nil, nil
	}
	edits, err := r.Edits(w.ID)
	if err != nil {
		return nil, err
	}
	var nothing *KeptPlan // the first plan with no shim to change, after the last fit
	until := forever
	for number := w.Job.Plan; number > 0; number-- {
		p, err := r.Plan(w.ID, number)
		if err != nil {
			return nil, err
		}
		old := func(e Edit) bool { return e.Field == EngineField && !p.Time.After(e.Time) }
		if slices.ContainsFunc(edits, old) {
			return nothing, nil // it was made on other limits
		}
		done, left := 0, 0
		for _, l := range p.Placements {
			if w.fittedBetween(l.Valve, p.Seq, until) {
				done++
			} else {
				left++
			}
		}
		switch {
		case left == 0 && done > 0:
			return &p, nil
		case len(p.Placements) == 0:
			nothing = &p
		case done > 0:
			return nothing, nil
		}
		until = p.Seq
	}
	return nothing, nil
}

// anyFitted reports whether the job fitted any shim.
func (w *work) anyFitted() bool {
	return slices.ContainsFunc(w.moves, func(m Movement) bool { return m.Kind == KindFitted })
}

// fittedBetween reports whether the valve got a shim after one
// row of the ledger and up to another.
func (w *work) fittedBetween(v shim.Valve, after, until int64) bool {
	return slices.ContainsFunc(w.moves, func(m Movement) bool {
		return m.Kind == KindFitted && m.Valve == v && m.Seq > after && m.Seq <= until
	})
}

// restand makes the fitted plan the job's plan again, under a new number. The plan
// not yet begun is dropped with its purchases; shims on order still come to the
// job. It returns false if there is no fitted plan.
func (b *booking) restand(w *work) (bool, error) {
	p, err := w.fittedPlan(b)
	if err != nil || p == nil {
		return false, err
	}
	if p.Number != w.Job.Plan {
		again := *p
		again.Number = w.Job.Plan + 1
		if err := b.AddPlan(again); err != nil {
			return false, err
		}
		if err := b.carry(w); err != nil {
			return false, err
		}
		p = &again
	}
	w.plan, w.Job.Plan = *p, p.Number
	if w.State == StatePlanned {
		w.State = StateFitted
		if slices.ContainsFunc(w.checks, func(c Check) bool { return c.Kind == CheckRecheck && c.Seq >= p.Seq }) {
			w.State = StateRechecked
		}
	}
	return true, nil
}

// stillStands handles a plan with no shim to change: if there is a fitted plan, or
// one being fitted, that one stays and nothing is kept. Otherwise it returns false.
// The job's own reservations must be free.
func (b *booking) stillStands(w *work, held []Hold) (bool, error) {
	if w.State != StateFitting || !w.unfinished() {
		stands, err := b.restand(w)
		if err != nil || !stands {
			return false, err
		}
	}
	if err := b.PutJob(w.Job); err != nil {
		return false, err
	}
	return true, b.settle(w.ID, held...)
}

// unfinished reports whether a valve has no shim fitted, or was read outside its
// limits and has had no other shim since.
func (w *work) unfinished() bool {
	readings, from := w.latest()
	for v, m := range readings {
		if w.limits(v).Judge(m.Reading) != shim.OK && !w.fittedBetween(v, from[v].Seq, forever) {
			return true
		}
	}
	_, left := w.setUp()
	return left || len(w.empty()) > 0
}

// remeasured reports whether every valve was measured since its shim was changed.
func (w *work) remeasured() bool {
	_, from := w.latest()
	return !slices.ContainsFunc(w.moves, func(m Movement) bool { return m.Kind == KindFitted && from[m.Valve].Seq < m.Seq })
}

// carry keeps only what is on order of the job's purchases.
func (b *booking) carry(w *work) error {
	// As they are now: other jobs of the same booking may have handed some over.
	purchases, err := b.Purchases(HoldFilter{Job: w.ID})
	if err != nil {
		return err
	}
	for _, p := range purchases {
		if err := b.PutPurchase(p.carry()); err != nil {
			return err
		}
	}
	return nil
}
