package inventory

import (
	"fmt"
	"slices"

	"shimwright/shim"
)

// A Strange is a valve that by the job's engine file takes shims of another family
// than the one that an earlier visit of the machine fitted there, as the ledger has it.
type Strange struct {
	Valve  shim.Valve
	Takes  shim.Family
	Fitted shim.Disc
	Job    int64 // that fitted it
}

// strange finds the first such valve of the job, nil where there is none.
func (w *work) strange(r Reader) (*Strange, error) {
	visits, err := w.visits(r)
	if err != nil || len(visits) == 0 {
		return nil, err
	}
	for _, v := range w.engine.Spec.Valves() {
		for _, visit := range visits {
			m, moved := visit.last(v)
			if !moved {
				continue
			}
			if m.Kind == KindFitted && m.Family != w.family(v) {
				return &Strange{Valve: v, Takes: w.family(v), Fitted: m.Disc(), Job: visit.ID}, nil
			}
			break
		}
	}
	return nil, nil
}

// last is the last shim that was booked into the valve or out of it.
func (w *work) last(v shim.Valve) (m Movement, moved bool) {
	for _, m := range slices.Backward(w.moves) {
		if m.Valve == v && (m.Kind == KindFitted || m.Kind == KindPulled) {
			return m, true
		}
	}
	return m, false
}

// booked reports whether the job's own bookings reach the valve.
func (w *work) booked(v shim.Valve) bool {
	_, moved := w.last(v)
	return moved
}

// String says what does not fit together.
func (s *Strange) String() string {
	return fmt.Sprintf("%s takes %s, and job %d fitted one of %s there", s.Valve, s.Takes, s.Job, s.Fitted.Family)
}

// familiesAgree refuses a machine whose visits fitted shims of two families into
// one valve.
func (b *booking) familiesAgree(machine int64) error {
	jobs, err := b.Jobs(JobFilter{Machine: machine})
	if err != nil {
		return err
	}
	for _, j := range jobs {
		w, err := load(b, j.ID)
		if err != nil {
			return err
		}
		switch s, err := w.strange(b); {
		case err != nil:
			return err
		case s != nil && w.booked(s.Valve):
			return shim.Fail(ErrInvalid, "they are two machines, or one of them was worked on with the wrong engine file", "job %d and job %d cannot be of one machine: %s", j.ID, s.Job, s)
		}
	}
	return nil
}

// familiesStand refuses an engine file that makes other shims of those that the
// shop itself fitted into the machine: a family never changes unasked.
func (b *booking) familiesStand(job int64) error {
	w, err := load(b, job)
	if err != nil {
		return err
	}
	s, err := w.strange(b)
	if err != nil || s == nil {
		return err
	}
	return shim.Fail(ErrInvalid, "if the parts are the same, give the file the family and diameter that it was fitted with; if the machine has other parts now, open its job with another --tag",
		"%s: by the engine file %s", w.Name, s)
}
