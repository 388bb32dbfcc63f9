package recheck

import (
	"math"

	"shimwright/shim"
)

// How deep a dish worn into shims is looked for, in nm. 0.001 to 0.002 in is common
// (owners' forums, see the check values); one below the least does not deserve a
// word and is what gauges are like.
const (
	leastDish = 15_000
	mostDish  = 80_000
	dishStep  = 1_000
)

// dishes is how far the depths of two shims of one engine differ, in nm, each way,
// with a half for alike and a quarter for each side. The project's own figure.
const dishes = 8_000

// usedPiece is how often a shim from the box is a used one with a dish of its own.
// The project's own figure.
const usedPiece = 0.5

// hollow is the theory that the old shims are hollow: their followers have worn a
// dish, and the micrometer, whose anvil reads the rim, as the mark, makes them
// thicker than they are where it counts. What came out was thinner than known, so a
// new, flat shim leaves less than expected by about the depth; another old one,
// itself as much thinner, leaves about what was expected, and one that stayed just
// that. It takes two valves with a shim from outside to say so.
func hollow(valves []*valve, a Assumptions) (theory, bool) {
	var flat []int
	for i, v := range valves {
		if v.outside() {
			flat = append(flat, i)
		}
	}
	if len(flat) < 2 || a.Hollow == 0 {
		return theory{}, false
	}
	var lns, depths []float64
	for depth := leastDish; depth <= mostDish; depth += dishStep {
		ln := 0.0
		for _, v := range valves {
			ln += math.Log(v.whole*v.dished(float64(depth)) + v.own())
		}
		lns, depths = append(lns, ln), append(depths, float64(depth))
	}
	sum, mean := lnSum(lns), 0.0
	for i, ln := range lns {
		mean += math.Exp(ln-sum) * depths[i]
	}
	t := theory{ln: math.Log(a.Hollow) + sum - math.Log(float64(len(lns))), shift: make([]float64, len(valves))}
	f := Fault{Kind: Hollow, Shift: -shim.Length(mean)}
	for _, i := range flat {
		v := valves[i]
		if v.Bought || v.fit(-mean) > v.fit(0) {
			t.shift[i] = -mean
			f.Valves = append(f.Valves, v.Valve)
		}
	}
	for i, v := range valves {
		t.gain += v.ln(t.shift[i]) - v.ln(0)
	}
	t.faults = []Fault{f}
	return t, len(f.Valves) > 1
}

// outside reports whether the fitted shim came from outside this engine.
func (v *valve) outside() bool { return v.Out && v.From == shim.Valve{} }

// dished is the likelihood of the reading where the old shims have dishes about as
// deep.
func (v *valve) dished(depth float64) float64 {
	about := func(shift, by float64) float64 {
		return v.fit(shift)/2 + (v.fit(shift-by)+v.fit(shift+by))/4
	}
	switch {
	case v.kept():
		return v.fit(0)
	case !v.outside():
		return about(0, math.Sqrt2*dishes)
	case v.Bought:
		return about(-depth, dishes)
	}
	return (1-usedPiece)*about(-depth, dishes) + usedPiece*about(0, math.Sqrt2*dishes)
}
