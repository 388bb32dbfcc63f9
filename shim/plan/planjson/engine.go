package planjson

import (
	"fmt"
	"reflect"
	"slices"
	"strings"

	"shimwright/shim"
	"shimwright/shim/plan"
)

// An OtherEngineError says that a given engine is not the plan's.
type OtherEngineError struct {
	Engine *shim.Engine
	why    string
}

func (e *OtherEngineError) Error() string { return e.why }

// engine is the job's engine as far as the plan tells what it is; what it does not
// tell is as usual and not asked for.
func (d *decoder) engine(in *jobRow, rows []valveRow) (*shim.Engine, error) {
	e, err := engineOf(in, rows)
	if err != nil {
		return nil, err
	}
	for i := range d.plan.Jobs {
		known := d.plan.Jobs[i].Engine
		if !sameName(known.Name, e.Name) || known.State != e.State {
			continue
		}
		if e.Access == shim.ByValve {
			known.Access = shim.ByValve // a job that opens nothing does not tell
		}
		e.Access = known.Access
		if !reflect.DeepEqual(known, e) {
			return nil, fmt.Errorf("%s is another engine than in the job before", e.Name)
		}
		return known, nil
	}
	return e, nil
}

func engineOf(in *jobRow, rows []valveRow) (*shim.Engine, error) {
	e := &shim.Engine{Name: in.Engine, Kind: in.Family, Diameter: 10 * shim.Millimetre}
	if in.Diameter != nil {
		e.Diameter = *in.Diameter
	}
	if len(in.Window) == 2 || len(in.Corrections) > 0 {
		e.Before = &shim.Before{}
		if len(in.Window) == 2 {
			e.Before.Temperature = &shim.Window{From: in.Window[0], To: in.Window[1]}
		}
		for _, c := range in.Corrections {
			e.Before.Corrections = append(e.Before.Corrections, shim.Correction(c))
		}
	}
	if in.State == shim.Warm.String() {
		e.State = shim.Warm
	}
	e.Turned = in.Own == e.State.Other().String()
	if in.Readings == shim.Tighter.String() {
		e.Readings = shim.Tighter
	}
	for _, name := range in.Lifted {
		if _, err := shim.ParseValve(name); err == nil {
			e.Access = shim.ByValve
		}
	}
	for i := range rows {
		row := &rows[i]
		train := &e.Intake
		if row.Valve.Side == shim.Exhaust {
			train = &e.Exhaust
		}
		limits := shim.Limits{Tight: *row.Tight, Loose: *row.Loose}
		ratio := shim.Ratio{Times: shim.One}
		if row.Ratio != "" {
			var err error
			if ratio, err = shim.ParseRatio(row.Ratio); err != nil {
				return nil, fmt.Errorf("%s: %w", row.Valve, err)
			}
		}
		if row.Valve.Closer {
			if row.Diameter == nil {
				return nil, fmt.Errorf("%s has no diameter_mm of its shims", row.Valve)
			}
			closer := shim.Closer{Limits: limits, AimAt: shim.One / 2, Ratio: ratio, Family: shim.Family{Kind: row.Family, Diameter: *row.Diameter}}
			if train.Closer != nil && !reflect.DeepEqual(train.Closer, &closer) {
				return nil, fmt.Errorf("%s has other limits, another ratio or other shims than the %s closers before it", row.Valve, row.Valve.Side)
			}
			train.Closer = &closer
			continue
		}
		switch {
		case train.Valves > 0 && train.Limits != limits:
			return nil, fmt.Errorf("%s has other limits than the %s valves before it", row.Valve, row.Valve.Side)
		case train.Valves > 0 && train.Ratio != ratio:
			return nil, fmt.Errorf("%s has another ratio than the %s valves before it", row.Valve, row.Valve.Side)
		}
		train.Limits, train.Ratio, train.AimAt = limits, ratio, shim.One/2
		letters := 1
		if row.Valve.Letter > 0 {
			letters = int(row.Valve.Letter-'a') + 1
		}
		train.Valves = max(train.Valves, letters)
		e.Cylinders = max(e.Cylinders, row.Valve.Cylinder)
	}
	if problems := e.Validate(); len(problems) > 0 {
		return nil, fmt.Errorf("%s: %s", problems[0].Key, problems[0].Message)
	}
	return e, nil
}

// match puts the given engines in the place of what the plan tells of them, finds
// the ratios that it does not tell, and checks that every expected clearance
// follows.
func (d *decoder) match() error {
	matched := map[*shim.Engine]bool{}
	for _, e := range d.given {
		if err := d.use(e); err != nil {
			return &OtherEngineError{e, err.Error()}
		}
		for i := range d.plan.Jobs {
			if j := &d.plan.Jobs[i]; sameName(j.Engine.Name, e.Name) {
				matched[j.Engine] = true
			}
		}
	}
	for i := range d.plan.Jobs {
		e := d.plan.Jobs[i].Engine
		if matched[e] {
			continue
		}
		matched[e] = true
		if d.valves[i][0].Ratio == "" {
			if err := d.findRatios(e); err != nil {
				return err
			}
		}
		if err := d.follow(e); err != nil {
			return err
		}
	}
	return nil
}

func (d *decoder) use(e *shim.Engine) error {
	var names []string
	found := false
	given := map[shim.State]*shim.Engine{}
	for i := range d.plan.Jobs {
		j := &d.plan.Jobs[i]
		names = append(names, j.Engine.Name)
		if !sameName(j.Engine.Name, e.Name) {
			continue
		}
		found = true
		state := j.Engine.State
		if given[state] == nil {
			in, err := e.In(state)
			if err != nil {
				return err
			}
			given[state] = in
		}
		e := given[state]
		if err := d.useFor(i, e); err != nil {
			return fmt.Errorf("the plan is of another %s: %w", e.Name, err)
		}
		for _, row := range d.valves[i] {
			if ratio := e.TrainOf(*row.Valve).Ratio.String(); row.Ratio != "" && row.Ratio != ratio {
				return fmt.Errorf("the plan is of another ratio: %s at %s, in the engine file %s", row.Ratio, row.Valve, ratio)
			}
		}
	}
	if !found {
		return fmt.Errorf("the plan is of %s, not of %s", strings.Join(slices.Compact(names), ", "), e.Name)
	}
	for _, in := range given {
		if err := d.follow(in); err != nil {
			return fmt.Errorf("the plan is of another ratio: %w", err)
		}
	}
	return nil
}

// useFor gives the job with that place its engine.
func (d *decoder) useFor(job int, e *shim.Engine) error {
	order, err := arrange(e, d.valves[job])
	if err != nil {
		return err
	}
	d.arrange(job, order)
	for _, v := range d.plan.Jobs[job].Valves {
		if limits := e.TrainOf(v.Valve).Limits; limits != v.Limits {
			return fmt.Errorf("limits of %s to %s mm at %s, in the engine file %s to %s mm",
				v.Limits.Tight, v.Limits.Loose, v.Valve, limits.Tight, limits.Loose)
		}
	}
	d.plan.Jobs[job].Engine = e
	return nil
}

// arrange puts a job's valves in that order.
func (d *decoder) arrange(job int, order []int) {
	rows, valves := make([]valveRow, len(order)), make([]plan.ValvePlan, len(order))
	for at, i := range order {
		rows[at], valves[at] = d.valves[job][i], d.plan.Jobs[job].Valves[i]
	}
	d.valves[job], d.plan.Jobs[job].Valves = rows, valves
}

// slack is how far an expected clearance may be from what the ratio gives: one that
// was found by division brings the sum of what is rounded on the way.
const slack = 10 * shim.Nanometre

// follow checks that every expected clearance of an engine follows from the
// reading, the shims and the ratio.
func (d *decoder) follow(e *shim.Engine) error {
	for i := range d.plan.Jobs {
		j := &d.plan.Jobs[i]
		for k := range j.Valves {
			v := &j.Valves[k]
			if j.Engine == e && v.Measured && (!v.SetUp || v.Changed()) && (v.Expect(e, v.Size)-v.Expected).Abs() > slack {
				return fmt.Errorf("%s: %s: a clearance of %s mm does not follow from the shims, with a ratio of %s",
					e.Name, v.Valve, v.Expected, e.TrainOf(v.Valve).Ratio)
			}
		}
	}
	return nil
}

// arrange gives the places of the rows in the engine's order; each valve must be there once.
func arrange(e *shim.Engine, rows []valveRow) ([]int, error) {
	list := e.Valves()
	order := make([]int, len(list))
	for i := range rows {
		at, found := e.Find(*rows[i].Valve)
		switch {
		case !found:
			return nil, fmt.Errorf("the engine has no valve %s", rows[i].Valve)
		case order[at] != 0:
			return nil, fmt.Errorf("%s is there twice", rows[i].Valve)
		}
		order[at] = i + 1
	}
	for at := range order {
		if order[at]--; order[at] < 0 {
			return nil, fmt.Errorf("valve %s is missing", list[at])
		}
	}
	return order, nil
}

// sameName compares names as check files do: without regard to case and space.
func sameName(a, b string) bool {
	return strings.EqualFold(strings.Join(strings.Fields(a), " "), strings.Join(strings.Fields(b), " "))
}
