package doubt

import "shimwright/shim"

// Usual is [shim.UsualGauge], the gauge of a shop that states none.
var Usual = shim.UsualGauge

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

// sizeLimit is the half width of what the source leaves open.
func sizeLimit(g shim.Gauge, s Source) shim.Length {
	if s == Miked {
		return g.Mic
	}
	return g.Stamp
}

// readingLimits lists the half widths, in nm, of the rectangular errors of a
// reading; nothing for a reading without a number.
func readingLimits(g shim.Gauge, r shim.Reading) []float64 {
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
