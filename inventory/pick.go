package inventory

import "context"

// A Pick says where the shim for a placement lies.
type Pick struct {
	Placement
	Lot    // the lot that [Shop.Fit] takes it from; the zero lot where OnHand is false
	OnHand bool
	// ForNow tells that it is the temporary shim for the valve, not its own.
	ForNow bool
}

// Picks tells, for what is left of the job's plan, the lots that the shims will
// be taken from: what to fetch from which bin. Shims that are still in the
// engine, or have not come in, are not on hand. Temporary shims come last.
func (s *Shop) Picks(ctx context.Context, job int64) (list []Pick, err error) {
	err = s.store.View(ctx, func(r Reader) error {
		list = nil
		w, err := load(r, job)
		if err != nil {
			return err
		}
		list, err = w.picks(r)
		return err
	})
	return list, err
}

func (w *work) picks(r Reader) ([]Pick, error) {
	left := w.left()
	holds, err := r.Holds(HoldFilter{Job: w.ID})
	if err != nil {
		return nil, err
	}
	given, err := w.promise(r, w.holdable(left), holds)
	if err != nil {
		return nil, err
	}
	var list []Pick
	for _, p := range left {
		lot, here := given[slot{valve: p.Valve}]
		list = append(list, Pick{Placement: p, Lot: lot, OnHand: here})
	}
	for _, p := range left {
		if lot, here := given[slot{p.Valve, true}]; here {
			list = append(list, Pick{Placement: p, Lot: lot, OnHand: true, ForNow: true})
		}
	}
	return list, nil
}
