package doubt

import (
	"fmt"

	"shimwright/shim"
)

// A Gauge is what the shop measures with. Every figure but Step is half the
// width of a rectangular distribution: an error limit, plus or minus.
type Gauge struct {
	// Step is the distance between neighbouring leaves of the set. A single
	// figure, the leaf that drags, is open by half a step to either side.
	Step shim.Length
	// Leaf is how far a leaf may be from the thickness that is marked on it.
	Leaf shim.Length
	// Stamp is how far a shim may be from the size that is marked on it.
	Stamp shim.Length
	// Mic is the error limit of the micrometer.
	Mic shim.Length
}

// Usual is the gauge of a shop that states none.
//
//   - Step 0.03 mm: common practice. Sets run from 0.01 mm to 0.05 mm a step;
//     the shop that brackets a gap or owns a finer set says so.
//   - Leaf 0.005 mm: common practice, no table by thickness was found. One
//     maker's sheet gives 0.00035 in (0.009 mm) for a leaf of 0.010 in.
//   - Stamp 0.005 mm: common practice. Worn shims are worse: measure them.
//   - Mic 0.004 mm: error limit of a 0 to 25 mm micrometer, after a summary
//     sheet of DIN 863.
var Usual = Gauge{
	Step:  30 * shim.Micrometre,
	Leaf:  5 * shim.Micrometre,
	Stamp: 5 * shim.Micrometre,
	Mic:   4 * shim.Micrometre,
}

// Validate is an error where a figure of the gauge cannot be.
func (g Gauge) Validate() error {
	const most = 500 * shim.Micrometre
	for _, f := range []struct {
		name  string
		value shim.Length
	}{{"step", g.Step}, {"leaf", g.Leaf}, {"stamp", g.Stamp}, {"mic", g.Mic}} {
		if f.value < 0 || f.value > most {
			return fmt.Errorf("a gauge's %s of %s mm cannot be: 0 to %s mm", f.name, f.value, most)
		}
	}
	return nil
}

// A Source says how the size of a shim is known.
type Source uint8

// The sources of a size.
const (
	Stamped Source = iota // the mark on the shim
	Miked                 // a micrometer
)

// SourceOf is Miked where there is a mic reading, Stamped where it is 0, as in
// [shim.Measurement] and [shim.BoxRow].
func SourceOf(mic shim.Length) Source {
	if mic != 0 {
		return Miked
	}
	return Stamped
}

// limit is the half width of what the source leaves open.
func (g Gauge) limit(s Source) shim.Length {
	if s == Miked {
		return g.Mic
	}
	return g.Stamp
}

// reading lists the half widths, in nm, of the rectangular errors of a
// reading; nothing for a reading without a number.
func (g Gauge) reading(r shim.Reading) []float64 {
	switch r.Kind {
	case shim.Single:
		return []float64{float64(g.Step) / 2, float64(g.Leaf)}
	case shim.Bracket:
		// The middle of two leaves moves by half of each leaf's error: two
		// equal rectangles, a triangle in all.
		half := float64(g.Leaf) / 2
		return []float64{float64(r.High-r.Low) / 2, half, half}
	}
	return nil
}
