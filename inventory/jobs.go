package inventory

import (
	"context"

	"shimwright/shim"
)

// Jobs lists jobs, newest first.
func (s *Shop) Jobs(ctx context.Context, f JobFilter) (list []Job, err error) {
	err = s.store.View(ctx, func(r Reader) error {
		list, err = r.Jobs(f)
		return err
	})
	return list, err
}

// A File is all that the shop knows of one job.
type File struct {
	Job       Job
	Engine    Engine
	Edits     []Edit
	Checks    []Check
	Plan      *Plan       // the plan that stands, nil where none does
	Fitted    *Plan       // the plan whose whole fit stands and is rechecked, nil where none does
	Left      []Placement // of the plan, not yet fitted
	Picks     []Pick      // for each of Left, where its shim lies
	Seats     []Seat      // what sits in each valve of the engine
	Holds     []Hold
	Purchases []Purchase // pieces that came in for earlier plans are in all three counts
	Movements []Movement // every row of the job, taken-back ones included
	Unproven  []string   // valves that keep the job from being closed, with the reason
	// Found and Since are the last readings of the valves before anything was
	// fitted and after, each with the shim that sat in the valve then.
	Found, Since []shim.Measurement
	// Otherwise are the shims that came out of their valves as the plan was fitted
	// and are others than the readings said that it was made on.
	Otherwise []Seat
	Expected  []Expected // of the valves whose last reading tells
}

// An Expected is what the shim that sits in a valve leaves there by its last reading.
type Expected struct {
	Valve     shim.Valve
	Clearance shim.Length
}

// Job gives one job's file.
func (s *Shop) Job(ctx context.Context, id int64) (f File, err error) {
	err = s.store.View(ctx, func(r Reader) error {
		w, err := load(r, id)
		if err != nil {
			return err
		}
		f = File{Job: w.Job, Engine: w.engine, Checks: w.checks, Left: w.left(), Purchases: w.bought(), Unproven: w.unproven()}
		f.Found, f.Since = w.readAs(Before), w.readAs(Recheck)
		if w.plan.Number > 0 {
			f.Plan, f.Otherwise = &w.plan, w.otherwise()
		}
		if f.Fitted, err = w.fittedPlan(r); err != nil {
			return err
		}
		for _, v := range w.engine.Spec.Valves() {
			seat := w.seated(v)
			f.Seats = append(f.Seats, seat)
			if c, known := w.expect(v, seat.Size()); known {
				f.Expected = append(f.Expected, Expected{v, c})
			}
		}
		if f.Edits, err = r.Edits(id); err != nil {
			return err
		}
		if f.Holds, err = r.Holds(HoldFilter{Job: id}); err != nil {
			return err
		}
		if f.Picks, err = w.picks(r); err != nil {
			return err
		}
		f.Movements, err = r.Movements(MovementFilter{Job: id})
		return err
	})
	return f, err
}
