package work

import (
	"context"
	"errors"
	"slices"

	"shimwright/inventory"
	"shimwright/shim"
)

// Kinds of error of [Ready.Recall], told apart with [errors.Is].
var (
	// ErrAllSeen: the job has all its shims.
	ErrAllSeen = errors.New("all shims are known")
	// ErrOtherModel: the earlier job is of another model.
	ErrOtherModel = errors.New("a different model")
)

// Draft reads a job and makes it ready to be planned, as by [Prepare]. It is
// [ErrNotRead] where it has no readings.
func Draft(ctx context.Context, shop *inventory.Shop, job int64) (*Ready, error) {
	basis, err := shop.Basis(ctx, job)
	if err != nil {
		return nil, err
	}
	return ready(basis)
}

func ready(basis inventory.Basis) (*Ready, error) {
	if id := basis.Job.ID; basis.Job.State == inventory.StateOpen {
		return nil, shim.Fail(errors.Join(inventory.ErrState, ErrNotRead), "", "job %d has no readings yet", id)
	}
	return Prepare(basis)
}

// Of is the job that is made ready.
func (r *Ready) Of() inventory.Job { return r.basis.Job }

// Engine is the job's engine.
func (r *Ready) Engine() *shim.Engine { return &r.basis.Engine.Spec }

// InPlace reports whether the shim that the valve is planned with is its temporary
// one, which sits there.
func (r *Ready) InPlace(s inventory.Seat) bool {
	return slices.ContainsFunc(r.basis.Seats, func(in inventory.Seat) bool {
		return in.Valve == s.Valve && in.Temporary != 0 && in.Temporary == s.Size()
	})
}

// An Earlier is a job whose shims may stand in for those that nobody has seen.
type Earlier struct {
	Job          inventory.Job
	OtherMachine bool             // its tag is another: ask whether it is meant
	Since        *inventory.Visit // to another shop, after it: other shims may be in
	Known        []inventory.Known
	record       []shim.Measurement
}

// Earlier finds what an earlier job left in each valve. It is [ErrAllSeen] or
// [ErrOtherModel] where that is no help.
func (r *Ready) Earlier(ctx context.Context, shop *inventory.Shop, id int64) (*Earlier, error) {
	if !r.Unseen {
		return nil, shim.Fail(ErrAllSeen, "", "job %d has all its shims: it needs none of job %d", r.basis.Job.ID, id)
	}
	old, err := shop.Job(ctx, id)
	if err != nil {
		return nil, err
	}
	if len(old.Seats) != len(r.Check) {
		return nil, shim.Fail(ErrOtherModel, "", "job %d is for a different model: %s", id, old.Job.Name)
	}
	e := &Earlier{Job: old.Job, OtherMachine: old.Job.Machine != r.basis.Job.Machine && inventory.TagKey(old.Job.Tag) != inventory.TagKey(r.basis.Job.Tag)}
	if e.Known, err = shop.Known(ctx, id, true); err != nil {
		return nil, err
	}
	if e.Since, err = shop.Elsewhere(ctx, r.basis.Job.ID); err != nil {
		return nil, err
	}
	if e.Since != nil && e.Since.Job.Opened.Before(old.Job.Opened) {
		e.Since = nil
	}
	e.record = Record(old, &r.basis.Engine.Spec, e.Known)
	return e, nil
}

// Recall lets the shims of the earlier job stand in for those that nobody has
// seen. The job stays Unseen.
func (r *Ready) Recall(e *Earlier) { Recall(r.Check, e.record) }

// Recall lets the shims of a last record stand in for those that a check does not
// have. It reports whether any are missing in the check. Without a record they stay
// unknown.
func Recall(check, last []shim.Measurement) (missing bool) {
	for i := range check {
		m := &check[i]
		if m.Size() != 0 {
			continue
		}
		missing = true
		if last != nil {
			m.Stamp, m.Mic = last[i].Stamp, last[i].Mic
		}
	}
	return missing
}

// Record is the last record of an engine as a job left it: the shim in each
// valve, one that is known from elsewhere where it is, and the last reading.
func Record(f inventory.File, e *shim.Engine, known []inventory.Known) []shim.Measurement {
	last := make([]shim.Measurement, len(e.Valves()))
	for i, v := range e.Valves() {
		m := &last[i]
		m.Valve = v
		for _, s := range f.Seats {
			if s.Valve == v && !s.SetUp {
				m.Marks = s.Marks
			}
		}
		for _, c := range f.Checks {
			for _, read := range c.Readings {
				if read.Valve == v && read.Reading.Kind != shim.Unread {
					m.Reading, m.Temperature = read.Reading, read.Temperature
				}
			}
		}
		for _, k := range known {
			if k.Valve == v && k.Size() != 0 {
				m.Marks = k.Marks
			}
		}
	}
	return last
}
