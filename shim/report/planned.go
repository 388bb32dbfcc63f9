package report

import (
	"fmt"
	"reflect"
	"strings"

	"shimwright/shim"
)

// engineOf is the engine as far as its valves tell what it is, with the valves
// in its order. What the plan does not say is as usual and not asked for.
func engineOf(name string, valves []PlannedValve) (*shim.Engine, []PlannedValve, error) {
	e := &shim.Engine{Name: name, Diameter: 10 * shim.Millimetre}
	for _, side := range shim.Sides {
		train := e.Train(side)
		train.AimAt, train.Ratio = shim.One/2, shim.Ratio{Times: shim.One}
		for _, v := range valves {
			if v.Valve.Side != side {
				continue
			}
			if train.Valves > 0 && train.Limits != v.Limits {
				return nil, nil, fmt.Errorf("%s has other limits than the %s valves before it", v.Valve, side)
			}
			train.Limits = v.Limits
			letters := 1
			if v.Valve.Letter > 0 {
				letters = int(v.Valve.Letter-'a') + 1
			}
			train.Valves = max(train.Valves, letters)
			e.Cylinders = max(e.Cylinders, v.Valve.Cylinder)
		}
		if side == shim.Intake {
			e.Intake = train
		} else {
			e.Exhaust = train
		}
	}
	if problems := e.Validate(); len(problems) > 0 {
		return nil, nil, fmt.Errorf("%s: %s", problems[0].Key, problems[0].Message)
	}
	ordered, err := arrange(e, valves)
	return e, ordered, err
}

// arrange puts the valves into the engine's order; each must be there once.
func arrange(e *shim.Engine, valves []PlannedValve) ([]PlannedValve, error) {
	list := e.Valves()
	ordered, seen := make([]PlannedValve, len(list)), make([]bool, len(list))
	for _, v := range valves {
		at, found := e.Find(v.Valve)
		switch {
		case !found:
			return nil, fmt.Errorf("the engine has no valve %s", v.Valve)
		case seen[at]:
			return nil, fmt.Errorf("%s is there twice", v.Valve)
		}
		ordered[at], seen[at] = v, true
	}
	for at, there := range seen {
		if !there {
			return nil, fmt.Errorf("valve %s is missing", list[at])
		}
	}
	return ordered, nil
}

// engine is the plan's engine of that name, this one where it is the first.
func (p *Planned) engine(e *shim.Engine) (*shim.Engine, error) {
	for _, known := range p.Engines {
		if !sameName(known.Name, e.Name) {
			continue
		}
		// Whether a job opens something, and what, is its own affair.
		e.Access = known.Access
		if !reflect.DeepEqual(known, e) {
			return nil, fmt.Errorf("%s is another engine than in the job before", e.Name)
		}
		return known, nil
	}
	p.Engines = append(p.Engines, e)
	return e, nil
}

// sameName compares names as check files do: without regard to case and space.
func sameName(a, b string) bool {
	return strings.EqualFold(strings.Join(strings.Fields(a), " "), strings.Join(strings.Fields(b), " "))
}

// slack is how far a predicted clearance may be from what the ratio gives that
// was found by division: the sum of what is rounded on the way.
const slack = 10 * shim.Nanometre

// findRatios finds the ratio of each side of each engine: from its largest
// change of shim, which tells it best. It stays 1 where nothing changes.
func (p *Planned) findRatios() error {
	for _, e := range p.Engines {
		for _, train := range []*shim.Train{&e.Intake, &e.Exhaust} {
			side := shim.Intake
			if train == &e.Exhaust {
				side = shim.Exhaust
			}
			var most, moved shim.Length
			for _, v := range p.changes(e, side) {
				if by := v.Installed - v.Size; by.Abs() > most.Abs() {
					most, moved = by, v.Predicted-v.Clearance
				}
			}
			if most == 0 {
				continue
			}
			train.Ratio = shim.Ratio{Times: divide(moved, most)}
		}
		if problems := e.Validate(); len(problems) > 0 {
			return fmt.Errorf("%s: %s", e.Name, problems[0].Message)
		}
		if err := p.follow(e, slack); err != nil {
			return err
		}
	}
	return nil
}

// changes lists the measured valves of one side of an engine, over all jobs.
func (p *Planned) changes(e *shim.Engine, side shim.Side) []PlannedValve {
	var list []PlannedValve
	for _, j := range p.Jobs {
		if j.Engine != e {
			continue
		}
		for _, v := range j.Valves {
			if v.Measured && v.Valve.Side == side {
				list = append(list, v)
			}
		}
	}
	return list
}

// divide is the quotient as a factor, rounded to the nearest.
func divide(a, b shim.Length) shim.Factor {
	if b < 0 {
		a, b = -a, -b
	}
	n, d := int64(a)*int64(shim.One), int64(b)
	if n < 0 {
		return shim.Factor(-((-n + d/2) / d))
	}
	return shim.Factor((n + d/2) / d)
}

// follow checks that every predicted clearance of an engine follows from the
// reading, the shims and the ratio.
func (p *Planned) follow(e *shim.Engine, slack shim.Length) error {
	for _, j := range p.Jobs {
		for _, v := range j.Valves {
			if j.Engine != e {
				break
			}
			want := v.setting(j.Engine).Expect(v.Size)
			if v.Measured && (want-v.Predicted).Abs() > slack {
				return fmt.Errorf("%s: %s: a clearance of %s mm does not follow from the shims, with a ratio of %s",
					j.Engine.Name, v.Valve, v.Predicted, j.Engine.Train(v.Valve.Side).Ratio)
			}
		}
	}
	return nil
}

// setting is the valve before the job.
func (v *PlannedValve) setting(e *shim.Engine) shim.Setting {
	t := e.Train(v.Valve.Side)
	return shim.Setting{Limits: v.Limits, Aim: t.Aim(), Ratio: t.Ratio, Clearance: v.Clearance, Size: v.Installed}
}

// Use puts the engine in the place of what the plan tells of it: the engine
// file knows the units, the ratio, the catalogue and more. The error says that
// it is not the engine that the plan was made for.
func (p *Planned) Use(e *shim.Engine) error {
	for i, known := range p.Engines {
		if !sameName(known.Name, e.Name) {
			continue
		}
		p.Engines[i] = e
		for k := range p.Jobs {
			j := &p.Jobs[k]
			if j.Engine != known {
				continue
			}
			valves, err := arrange(e, j.Valves)
			if err != nil {
				return fmt.Errorf("the plan is of another %s: %w", e.Name, err)
			}
			for _, v := range valves {
				if limits := e.Train(v.Valve.Side).Limits; limits != v.Limits {
					return fmt.Errorf("the plan is of another %s: limits of %s to %s mm at %s, in the engine file %s to %s mm",
						e.Name, v.Tight, v.Loose, v.Valve, limits.Tight, limits.Loose)
				}
			}
			j.Engine, j.Valves = e, valves
		}
		off := shim.Length(0)
		if e.Intake.Ratio.Over != 0 || e.Exhaust.Ratio.Over != 0 {
			off = slack // plans made before ratios were exact have six decimals of it
		}
		if err := p.follow(e, off); err != nil {
			return fmt.Errorf("the plan is of another ratio: %w", err)
		}
		return nil
	}
	names := make([]string, len(p.Engines))
	for i, known := range p.Engines {
		names[i] = known.Name
	}
	return fmt.Errorf("the plan is of %s, not of %s", strings.Join(names, ", "), e.Name)
}
