package inventory

import (
	"context"
	"time"
)

// A Known is the last that the shop knows of the shim in a valve.
type Known struct {
	Seat
	Job    int64     // the visit that it is known from; 0 where nobody knows
	Time   time.Time // when it was seen or fitted
	Fitted bool      // the shop put it in; otherwise it was found there
}

// Known gives, for each valve of the job's engine, its last known shim: from
// the job itself where own is set, and from the earlier visits of the same
// machine: those with the same tag and an engine of the same name and valves.
func (s *Shop) Known(ctx context.Context, job int64, own bool) (list []Known, err error) {
	err = s.store.View(ctx, func(r Reader) error {
		w, err := load(r, job)
		if err != nil {
			return err
		}
		visits, err := w.visits(r)
		if err != nil {
			return err
		}
		if own {
			visits = append([]*work{w}, visits...)
		}
		list = nil
		for _, v := range w.engine.Spec.Valves() {
			k := Known{Seat: Seat{Valve: v}}
			for _, visit := range visits {
				if seat := visit.seat(v, forever); seat.Size() != 0 {
					k = visit.known(seat)
					break
				}
			}
			list = append(list, k)
		}
		return nil
	})
	return list, err
}

// visits are the earlier visits of the machine, newest first.
func (w *work) visits(r Reader) ([]*work, error) {
	if TagKey(w.Tag) == "" {
		return nil, nil
	}
	jobs, err := r.Jobs(JobFilter{Tag: w.Tag})
	if err != nil {
		return nil, err
	}
	var list []*work
	for _, j := range jobs {
		if j.ID >= w.ID || !SameModel(j.Name, w.Name) {
			continue
		}
		visit, err := load(r, j.ID)
		if err != nil {
			return nil, err
		}
		if sameValves(&visit.engine.Spec, &w.engine.Spec) {
			list = append(list, visit)
		}
	}
	return list, nil
}

// known tells when and how the job came to know the shim that sits in a valve.
func (w *work) known(seat Seat) Known {
	k := Known{Seat: seat, Job: w.ID}
	seq := int64(-1)
	for _, c := range w.checks {
		for _, m := range c.Readings {
			if m.Valve == seat.Valve && m.Size() != 0 {
				seq, k.Time = c.Seq, c.Time
			}
		}
	}
	for _, m := range w.moves {
		if m.Valve == seat.Valve && m.Kind == Fitted && m.Seq > seq {
			k.Time, k.Fitted = m.Time, true
		}
	}
	return k
}
