package work

import (
	"context"
	"math"
	"strings"

	"shimwright/inventory"
	"shimwright/shim"
	"shimwright/shim/plan"
	"shimwright/shim/wear"
)

// Interval stands for the maker's interval in [Planner.Until].
const Interval = "interval"

// An ahead looks ahead to a meter reading by what the machine's visits make
// likely.
type ahead struct {
	trend    *Trend
	until    float64
	meter    shim.Meter
	outlooks map[shim.Valve]wear.Outlook
	engine   *shim.Engine
}

// lookAhead reads how far a plan is to look: a meter reading, or the maker's
// interval.
func lookAhead(ctx context.Context, shop *inventory.Shop, job inventory.Job, until string) (*ahead, error) {
	no := func(hint, format string, args ...any) (*ahead, error) {
		return nil, shim.Fail(inventory.ErrInvalid, hint, "job %d cannot be planned ahead: "+format, append([]any{job.ID}, args...)...)
	}
	if job.Machine == 0 {
		return no("give it one: shimwright job edit --tag", "it has no tag, so no machine")
	}
	s, err := See(ctx, shop, job.Machine)
	if err != nil {
		return nil, err
	}
	t := s.Trend
	switch {
	case len(t.Used) == 0 || t.Visits[t.Used[len(t.Used)-1]].Job.ID != job.ID:
		return no("enter the meter with its unit: shimwright job edit --meter", "this visit is no part of the machine's trend")
	case len(t.Series.Meters) < 3:
		return no("leave --until out", "%s with a meter reading, and three are needed to tell how it wears", shim.Count(len(t.Series.Meters), "check"))
	case !t.Told():
		return no("leave --until out", "its readings do not agree on how fast it wears")
	}
	a := &ahead{trend: t, engine: s.Engine()}
	if strings.EqualFold(until, Interval) {
		if a.until = t.Next(); a.until == 0 {
			return no("give a meter reading, or interval in the engine file", "the engine file states no interval")
		}
	} else {
		m, known := shim.ParseMeter(until)
		if m.Kind == "" {
			m.Kind = t.Kind
		}
		at, same := m.In(t.Kind)
		if !known || !same {
			return no("write it like \"60,400 km\", or interval", "%q is not what a meter in %s reads", until, t.Kind)
		}
		a.until = at
	}
	if a.until <= t.Last() {
		return no("give a later one", "%s is not after this visit", until)
	}
	a.meter = shim.MeterOf(a.until, t.Kind)
	a.outlooks, err = t.Model.Outlooks(a.until)
	return a, err
}

// risk is the plan's criterion.
func (a *ahead) risk(g shim.Gauge) func(plan.Fit) int64 {
	return func(f plan.Fit) int64 {
		o, known := a.outlooks[f.Valve]
		if !known {
			return 0
		}
		d := a.disc(f, g)
		return o.Risk(d.Fill, d.Doubt)
	}
}

func (a *ahead) disc(f plan.Fit, g shim.Gauge) wear.Disc {
	train := a.engine.TrainOf(f.Valve)
	d := wear.Disc{Fill: train.Ratio.Of(f.Size)}
	if f.Own {
		return d
	}
	// The stack is known with the shim that is in now: its doubt stays when it goes.
	d.Doubt = standard(train, f.Known.Limit(g))
	for _, v := range a.trend.Series.Valves {
		if v.Valve == f.Valve && len(v.Discs) > 0 {
			out := v.Discs[len(v.Discs)-1].Doubt
			d.Doubt = shim.Length(math.Hypot(float64(d.Doubt), float64(out)))
		}
	}
	return d
}

// inside is how likely all valves stay inside their limits until then with the
// shims of a plan.
func (a *ahead) inside(j *plan.JobPlan) float64 {
	fitted := map[shim.Valve]wear.Disc{}
	for k := range j.Valves {
		if v := &j.Valves[k]; v.Changed() {
			fitted[v.Valve] = a.disc(plan.Fit{Valve: v.Valve, Size: v.Size, Known: v.Fitted()}, j.Gauge)
		}
	}
	return a.trend.Forecast.InsideWith(a.until, fitted)
}
