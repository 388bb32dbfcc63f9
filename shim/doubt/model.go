package doubt

import (
	"math"

	"shimwright/shim"
)

// A Model is what a shop knows of its measuring, and how sure it wants to be.
type Model struct {
	Gauge shim.Gauge
	// Confidence is the probability of lying inside the limits below which a
	// clearance is near one of them, from 0 to below 1.
	Confidence float64
}

// Parts is what an expected clearance c' = c + k (s - x) was worked out from.
// It is comparable: valves and sizes with equal parts have equal spreads.
type Parts struct {
	Reading shim.Reading // c
	With    shim.Gauge   // the leaves that it was read with; the zero gauge is the model's
	Ratio   shim.Ratio   // k
	// Kept is a shim that stays in its valve: its size cancels, and its
	// uncertainty with it.
	Kept      bool
	Installed Source // of s
	Fitted    Source // of x
	// Allowance is the half width of what an allowance that was added to c leaves
	// open, the same probability anywhere.
	Allowance shim.Length
}

// shims adds what the two shims and an allowance bring.
func (s *sum) shims(g shim.Gauge, p Parts) {
	s.rectangle(float64(p.Allowance))
	if p.Kept {
		return
	}
	k := math.Abs(p.Ratio.Float())
	s.rectangle(k * float64(sizeLimit(g, p.Installed)))
	s.rectangle(k * float64(sizeLimit(g, p.Fitted)))
}

// Spread is the distribution of the error of the expected clearance. Its
// variance is u(c)^2 + k^2 (u(s)^2 + u(x)^2) of JCGM 100:2008, 5.1.2. The errors
// count as independent; where one micrometer measured both shims its own
// offset cancels, so that the truth is a little better than said.
func (m Model) Spread(p Parts) Spread {
	var s sum
	if !s.reading(m.Gauge.Leaves(p.With), p.Reading) {
		return Spread{}
	}
	s.shims(m.Gauge, p)
	return Spread{shape: s, method: Convolution, known: true}
}

// Difference is the distribution of the clearance measured after fitting
// minus the one expected from parts, all being well. A second reading without
// a number brings nothing of its own but its leaf. It is made with the model's gauge.
func (m Model) Difference(p Parts, after shim.Reading) Spread {
	var s sum
	if !s.reading(m.Gauge.Leaves(p.With), p.Reading) || after.Kind == shim.Unread {
		return Spread{}
	}
	if !s.reading(m.Gauge, after) {
		s.rectangle(float64(m.Gauge.Leaf))
	}
	s.shims(m.Gauge, p)
	return Spread{shape: s, method: Convolution, known: true}
}

// Inside is the probability that the clearance lies inside the limits, 0 where
// the reading has no number. See [Spread.Inside]; a caller with many sizes for
// one valve keeps the [Spread].
func (m Model) Inside(l shim.Limits, expected shim.Length, p Parts) float64 {
	return m.Spread(p).Inside(l, expected)
}

// Guard is [Spread.Guard] at the model's confidence.
func (m Model) Guard(l shim.Limits, p Parts) (shim.Limits, bool) {
	return m.Spread(p).Guard(l, m.Confidence)
}

// A Forecast is what can be said of a planned clearance.
type Forecast struct {
	Clearance shim.Length // to expect
	Standard  shim.Length // standard uncertainty
	Expanded  shim.Length // expanded uncertainty, about 95 %
	Inside    float64     // probability of lying inside the limits
	Method    Method      // how Expanded and Inside were computed
}

// Forecast says how sure an expected clearance is. It is false where the
// reading has no number.
func (m Model) Forecast(l shim.Limits, expected shim.Length, p Parts) (Forecast, bool) {
	s := m.Spread(p)
	if !s.Known() {
		return Forecast{}, false
	}
	return Forecast{
		Clearance: expected,
		Standard:  s.Standard(),
		Expanded:  s.Expanded(),
		Inside:    s.Inside(l, expected),
		Method:    s.Method(),
	}, true
}
