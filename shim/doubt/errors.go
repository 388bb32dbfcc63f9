package doubt

import "shimwright/shim"

// Errors is the spread of independent rectangular errors, by their half widths
// in nm.
func Errors(halves ...float64) Spread { return spreadOf(halves...) }

// Gap is where a gap lies, about the reading's estimate, against a leaf that has
// an error of its own.
func (m Model) Gap(r shim.Reading) Spread {
	var s sum
	if !s.reading(m.Gauge, r) {
		return Spread{}
	}
	s.rectangle(float64(m.Gauge.Leaf))
	return Spread{shape: s, method: Convolution, known: true}
}

// Quantile is the error that is not exceeded with probability p, from 0 to 1.
func (s Spread) Quantile(p float64) float64 {
	if p < 0.5 {
		return -s.shape.quantile(1 - 2*p)
	}
	return s.shape.quantile(2*p - 1)
}
