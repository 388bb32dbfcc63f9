package shim

import "fmt"

// A Gauge is what the shop measures with. Every figure but Step is half the
// width of a rectangular distribution: an error limit, plus or minus.
type Gauge struct {
	// Step is the distance between neighbouring leaves of the set. A single
	// figure, the leaf that drags, is open by half a step to either side.
	Step Length
	// Leaf is how far a leaf may be from the thickness that is marked on it.
	Leaf Length
	// Stamp is how far a new shim may be from the size that is marked on it.
	Stamp Length
	// Used is the same of a used shim that nobody measured. 0 is as a new one: a
	// shop that states its Stamp states it for both.
	Used Length `json:",omitzero"`
	// Mic is the error limit of the micrometer.
	Mic Length
}

// UsualGauge is the gauge of a shop that states none.
//
//   - Step 0.03 mm: common practice. Sets run from 0.01 mm to 0.05 mm a step;
//     the shop that brackets a gap or owns a finer set says so.
//   - Leaf 0.005 mm: common practice, no table by thickness was found. One
//     maker's sheet gives 0.00035 in (0.009 mm) for a leaf of 0.010 in.
//   - Stamp 0.005 mm: common practice.
//   - Used 0.015 mm: the least that Lombardini's LDA 422 workshop manual, p. 70,
//     allows a marked thickness.
//   - Mic 0.004 mm: error limit of a 0 to 25 mm micrometer, after a summary
//     sheet of DIN 863.
var UsualGauge = Gauge{
	Step:  30 * Micrometre,
	Leaf:  5 * Micrometre,
	Stamp: 5 * Micrometre,
	Used:  15 * Micrometre,
	Mic:   4 * Micrometre,
}

// UsedStamp is how far a used shim that nobody measured may be from its mark.
func (g Gauge) UsedStamp() Length {
	if g.Used == 0 {
		return g.Stamp
	}
	return g.Used
}

// Leaves is the gauge with the leaves of another set, itself where that is the
// zero gauge: what a reading leaves open goes by the set that it was made with.
func (g Gauge) Leaves(of Gauge) Gauge {
	if of != (Gauge{}) {
		g.Step, g.Leaf = of.Step, of.Leaf
	}
	return g
}

// maxGauge is the largest figure that a gauge may have.
const maxGauge = 500 * Micrometre

// Validate gives everything that is wrong with the gauge, nothing where it is
// sound.
func (g Gauge) Validate() []Problem { return g.ValidateIn(MM.Both()) }

// ValidateIn is [Gauge.Validate] with lengths said in the units.
func (g Gauge) ValidateIn(units UnitPair) []Problem {
	var found []Problem
	for _, f := range []struct {
		name, hint string
		value      Length
		unit       Unit
	}{
		{"step", "the distance between neighbouring leaves of the set", g.Step, units.Clearance},
		{"leaf", "how far a leaf may be from its mark, plus or minus", g.Leaf, units.Clearance},
		{"stamp", "how far a shim may be from its mark, plus or minus", g.Stamp, units.Size},
		{"used", "how far a used shim may be from its mark, plus or minus", g.Used, units.Size},
		{"mic", "the error limit of the micrometer, plus or minus", g.Mic, units.Size},
	} {
		if f.value < 0 || f.value > maxGauge {
			found = append(found, Problem{"gauge." + f.name,
				Hinted{Message: fmt.Sprintf("a gauge's %s of %s %s is not plausible: 0 to %s %[3]s", f.name, f.unit.Format(f.value), f.unit, f.unit.ShowDown(maxGauge, 0, 3)), Hint: f.hint}})
		}
	}
	return found
}
