package work

import (
	"bytes"
	"context"
	"fmt"
	"slices"

	"shimwright/inventory"
	"shimwright/shim"
	"shimwright/shim/crank"
	"shimwright/shim/plan"
	"shimwright/shim/plan/planjson"
	"shimwright/shim/recheck"
)

// PlanOf is a plan of the job, as the shop keeps it.
func PlanOf(f inventory.File, p *inventory.KeptPlan) (*plan.Plan, error) {
	return planjson.Decode(fmt.Sprintf("plan %d of job %d", p.Number, f.Job.ID), bytes.NewReader(p.Document), &f.Engine.Spec)
}

// compare holds the plan that was fitted against what was measured since its fit:
// the list, and earlier rechecks for the valves that it leaves out. A recheck from
// before the plan stands for a valve that was not touched since. Each reading is as
// sure as what it was made with; gauge is what the list was made with where its
// readings do not say, nil where nobody states it. The job must have a fit that stands.
func compare(p *plan.Plan, f inventory.File, list []shim.Measurement, gauge *shim.Gauge) recheck.ComparedJob {
	e := &f.Engine.Spec
	how := recheck.Measuring{Gauge: gauge, CloserFirst: f.CloserFirst, Position: crank.Numbers(e), Earlier: make([]bool, len(f.Seats))}
	if gauge == nil && !p.Jobs[0].GaugeStated {
		how.Gauge = e.Gauge
	}
	for _, s := range f.Otherwise {
		how.CameOut = append(how.CameOut, shim.Measurement{Valve: s.Valve, Marks: s.Marks})
	}
	check := make([]shim.Measurement, len(f.Seats))
	for i, s := range f.Seats {
		check[i] = shim.Measurement{Valve: s.Valve, Marks: s.Marks}
	}
	enter := func(list []shim.Measurement, before bool) {
		for _, m := range list {
			i, found := e.Find(m.Valve)
			if !found {
				continue // entering refuses it
			}
			at := &check[i]
			if m.Reading.Kind != shim.Unread {
				at.Reading, at.Temperature, at.With, how.Earlier[i] = m.Reading, m.Temperature, m.With, before
				if at.With == (shim.Gauge{}) && gauge == nil && e.Gauge != nil {
					at.With = *e.Gauge
				}
			}
			if m.Size() != 0 && (m.Mic != 0 || m.Stamp != at.Stamp) { // else what was read on it stands
				at.Stamp, at.Mic = m.Stamp, m.Mic
			}
		}
	}
	enter(Since(f, 0), true)
	enter(Since(f, f.Fitted.Seq+1), false) // its own movements come after it
	enter(list, false)
	return recheck.Compare(p, 0, check, how)
}

// Recheck enters what was measured after the fit, compared with the plan that was
// fitted as by [compare]. Set is the gauge set that was used, the zero set where nobody
// said. It gives the job as it is then.
func Recheck(ctx context.Context, shop *inventory.Shop, f inventory.File, list []shim.Measurement, gauge *shim.Gauge, note string, set inventory.Gauge) (c recheck.ComparedJob, after inventory.File, err error) {
	p, err := PlanOf(f, f.Fitted)
	if err != nil {
		return c, f, err
	}
	entered, err := shop.ReadWith(ctx, f.Job.ID, list, note, set.ID)
	if err != nil {
		return c, f, err
	}
	list = entered.Readings // with what they make of loaded gaps
	if gauge == nil {
		list = set.Made(list)
	}
	if after, err = shop.Job(ctx, f.Job.ID); err != nil {
		return c, f, err
	}
	f.CloserFirst = after.CloserFirst
	return compare(p, f, list, gauge), after, nil
}

// Since lists what was measured after a fit, from a place in the ledger on, each
// valve after its last change; of several readings the last one counts.
func Since(f inventory.File, from int64) []shim.Measurement {
	changed := map[shim.Valve]int64{}
	for _, m := range f.Standing { // a change that was taken back is none
		changed[m.Valve] = m.Seq
	}
	var list []shim.Measurement
	for _, old := range f.Checks {
		for _, m := range old.Readings {
			if old.Kind == inventory.CheckRecheck && old.Seq >= max(from, changed[m.Valve]) {
				list = append(list, m)
			}
		}
	}
	return list
}

// Diagnose compares the job with what was measured since its fit; nil where
// nothing was, or where no plan stands.
func Diagnose(f inventory.File) *recheck.ComparedJob {
	if f.Job.State != inventory.StateRechecked {
		return nil
	}
	return explain(f, nil)
}

// explain is [Diagnose] in any state of the job. Gauge is nil where nobody states it.
func explain(f inventory.File, gauge *shim.Gauge) *recheck.ComparedJob {
	if f.Fitted == nil || len(f.Since) == 0 {
		return nil
	}
	p, err := PlanOf(f, f.Fitted)
	if err != nil {
		return nil // the plan is older than what recheck reads
	}
	c := compare(p, f, nil, gauge)
	return &c
}

// Jumps lists the valves whose stack moved since the fit: the shims that are
// booked are not those that are in, or a reading is wrong. Where the readings are strong
// on old shims worn hollow, those that came out are what was wrong. Gauge, unless nil, takes
// the place of what the readings were made with.
func Jumps(f inventory.File, gauge *shim.Gauge) []recheck.Deviation {
	used, found, since := f.Engine.Spec.Measures(), f.Found, f.Since
	if gauge != nil {
		used, found, since = *gauge, inventory.Gauge{}.Made(found), inventory.Gauge{}.Made(since)
	}
	jumps := recheck.Jumps(&f.Engine.Spec, found, since, f.Job.Build, used)
	var explained []shim.Valve // of hollow ones: the flat shims that are in leave the true gap
	if c := explain(f, gauge); len(jumps) > 0 && c != nil && c.Sure() {
		for _, fault := range c.Report.Explanations[0].Faults {
			if fault.Kind == recheck.Hollow {
				explained = append(explained, fault.Valves...)
			}
		}
	}
	for _, m := range found { // an opener's gap changes when its closer is let go
		if m.Valve.Closer && f.Engine.Spec.TrainOf(m.Valve).NoPlay(m.Reading) {
			explained = append(explained, m.Valve.Other())
		}
	}
	// A set-up shim is not fitted: seat or tip may have been ground since.
	return slices.DeleteFunc(jumps, func(d recheck.Deviation) bool {
		return slices.Contains(explained, d.Valve) || slices.ContainsFunc(f.Seats, func(s inventory.Seat) bool { return s.Valve == d.Valve && s.SetUp })
	})
}
