package planjson

import (
	"fmt"

	"shimwright/shim"
)

// What only earlier versions wrote, or left out, is read here.

// A keptRow is the field "kept" that plans of the shop had, with what each valve says
// by itself now.
type keptRow struct {
	Units  string      `json:"units"`
	Margin shim.Length `json:"margin_mm"`
	Gauge  gaugeRow    `json:"gauge"`
	Valves []keptValve `json:"valves"`
}

// A keptValve stands in the place of its valve in the list of valves.
type keptValve struct {
	Kind           shim.ReadingKind `json:"kind"`
	Low            shim.Length      `json:"low_mm"`
	High           shim.Length      `json:"high_mm"`
	InstalledMiked bool             `json:"installed_miked"`
	Miked          bool             `json:"miked"`
	Price          *shim.Price      `json:"price"`
	Trial          *shim.Length     `json:"trial_mm"`
}

// fill adds what was kept of the valve.
func (row *valveRow) fill(kept *keptValve) {
	reading := shim.Reading{Kind: kept.Kind, Low: kept.Low, High: kept.High}.Format(shim.MM)
	row.Reading, row.Miked, row.InstalledMiked, row.Price = &reading, kept.Miked, kept.InstalledMiked, kept.Price
	row.Trial = kept.Trial
}

// findRatios finds the ratio of each side of an engine that the plan does not tell:
// from its largest change of shim, which tells it best. It stays 1 where nothing
// changes.
func (d *decoder) findRatios(e *shim.Engine) error {
	var most, moved [2]shim.Length // by side
	for i := range d.plan.Jobs {
		for k := range d.plan.Jobs[i].Valves {
			v := &d.plan.Jobs[i].Valves[k]
			by, side := v.Installed-v.Size, v.Valve.Side
			if d.plan.Jobs[i].Engine == e && v.Measured && by.Abs() > most[side].Abs() {
				most[side], moved[side] = by, v.Expected-v.Clearance
			}
		}
	}
	for side, train := range []*shim.Train{shim.Intake: &e.Intake, shim.Exhaust: &e.Exhaust} {
		if most[side] != 0 {
			train.Ratio = shim.Ratio{Times: divide(moved[side], most[side])}
		}
	}
	if problems := e.Validate(); len(problems) > 0 {
		return fmt.Errorf("%s: %s", e.Name, problems[0].Message)
	}
	return nil
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
