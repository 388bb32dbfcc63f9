package doubt

import (
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"shimwright/shim"
)

func bracket(low, high float64) shim.Reading {
	return shim.Reading{Kind: shim.Bracket, Low: mm(low), High: mm(high)}
}

func TestParts(t *testing.T) {
	m := Model{Gauge: shim.Gauge{Step: mm(0.03), Stamp: mm(0.005), Mic: mm(0.004)}}
	root3, half := math.Sqrt(3), 0.015
	u := func(parts ...float64) float64 {
		return math.Hypot(math.Hypot(parts[0], parts[1]), parts[2]) / root3 * 1e6
	}
	for _, c := range []struct {
		name  string
		parts Parts
		want  float64
	}{
		{"kept bracket", Parts{Reading: bracket(0.15, 0.18), Ratio: shim.Ratio{Times: shim.One}, Kept: true}, u(half, 0, 0)},
		{"kept single", Parts{Reading: shim.ReadingOf(mm(0.15)), Ratio: shim.Ratio{Times: shim.One}, Kept: true}, u(half, 0, 0)},
		{"stamps", Parts{Reading: bracket(0.15, 0.18), Ratio: shim.Ratio{Times: shim.One}}, u(half, 0.005, 0.005)},
		{"mic in, stamp out", Parts{Reading: bracket(0.15, 0.18), Ratio: shim.Ratio{Times: shim.One}, Fitted: Miked}, u(half, 0.005, 0.004)},
		{"ratio", Parts{Reading: bracket(0.15, 0.18), Ratio: shim.Ratio{Times: shim.One * 3 / 2}, Installed: Miked, Fitted: Miked}, u(half, 0.006, 0.006)},
		{"closing shim", Parts{Reading: bracket(0.15, 0.18), Ratio: shim.Ratio{Times: shim.One}, Installed: Miked, Fitted: Miked}, u(half, 0.004, 0.004)},
	} {
		assert.InDelta(t, c.want, float64(m.Spread(c.parts).Standard()), 0.51, c.name)
	}
}

// The leaves themselves: two thirds of a leaf's variance reach a gap between two
// leaves, all of it a single figure.
func TestLeafError(t *testing.T) {
	m := Model{Gauge: shim.Gauge{Leaf: mm(0.006)}}
	kept := Parts{Reading: bracket(0.15, 0.15), Ratio: shim.Ratio{Times: shim.One}, Kept: true}
	assert.InDelta(t, 6000*math.Sqrt(2.0/3/3), float64(m.Spread(kept).Standard()), 0.51)
	kept.Reading = shim.ReadingOf(mm(0.15))
	assert.InDelta(t, 6000/math.Sqrt(3), float64(m.Spread(kept).Standard()), 0.51)
}

// A kept valve at its tight limit of 0.15, between two leaves that are not what
// they say: the risk by Monte Carlo, 4 million draws outside this project.
func TestRiskOfABracketAtTheLimit(t *testing.T) {
	for _, c := range []struct {
		low, high, leaf, risk float64
	}{
		{0.15, 0.18, 0.005, 0.038}, {0.15, 0.17, 0.005, 0.054}, {0.155, 0.175, 0.009, 0.017},
	} {
		m := Model{Gauge: shim.Gauge{Leaf: mm(c.leaf)}}
		r := bracket(c.low, c.high)
		estimate, _ := r.Estimate()
		p := m.Inside(limits(0.15, 0.45), estimate, Parts{Reading: r, Ratio: shim.Ratio{Times: shim.One}, Kept: true})
		assert.InDelta(t, c.risk, 1-p, 6e-4, "%+v", c)
	}
}

// Two equal stamps and a step as wide: a Gaussian said 0.8897 where 0.875 is
// true, and so the valve was not near at a confidence of 0.88.
func TestNoGaussianForRectangles(t *testing.T) {
	m := Model{Gauge: shim.Gauge{Stamp: mm(0.010)}, Confidence: 0.88}
	p := Parts{Reading: shim.ReadingOf(mm(0.15)), Ratio: shim.Ratio{Times: shim.One}}
	l := limits(0.14, 0.24)
	assert.InDelta(t, 0.875, m.Inside(l, mm(0.15), p), 1e-12)
	assert.True(t, near(m, l, mm(0.15), p))
}

func TestReadingWithoutANumber(t *testing.T) {
	m := Model{Gauge: Usual, Confidence: 0.95}
	for _, r := range []shim.Reading{{}, {Kind: shim.Below, High: mm(0.05)}, {Kind: shim.Above, Low: mm(0.6)}} {
		p := Parts{Reading: r, Ratio: shim.Ratio{Times: shim.One}}
		assert.False(t, m.Spread(p).Known())
		assert.Zero(t, m.Inside(limits(0.14, 0.21), mm(0.17), p))
		assert.True(t, near(m, limits(0.14, 0.21), mm(0.17), p))
		_, ok := m.Forecast(limits(0.14, 0.21), mm(0.17), p)
		assert.False(t, ok)
	}
}

// The worked example of docs/how-sure.md.
func TestWorkedExample(t *testing.T) {
	m := Model{Gauge: Usual, Confidence: 0.95}
	reading := bracket(0.09, 0.12)
	l := limits(0.14, 0.21)
	s := shim.Setting{Limits: l, Ratio: shim.Ratio{Times: shim.One}, Clearance: mm(0.105), Size: mm(2.475)}
	p := Parts{Reading: reading, Ratio: shim.Ratio{Times: shim.One}, Installed: Miked, Fitted: Miked}

	f, ok := m.Forecast(l, s.Expect(mm(2.40)), p)
	require.True(t, ok)
	assert.Equal(t, mm(0.18), f.Clearance)
	assert.Equal(t, Convolution, f.Method)
	assert.Equal(t, "0.009551", f.Standard.String())
	assert.Equal(t, "0.01741", f.Expanded.String())
	assert.InDelta(t, 1, f.Inside, 1e-4)

	tight, _ := m.Forecast(l, s.Expect(mm(2.425)), p)
	assert.Equal(t, mm(0.155), tight.Clearance)
	assert.InDelta(t, 0.9445, tight.Inside, 5e-4)
	assert.True(t, near(m, l, tight.Clearance, p))
	assert.False(t, near(m, l, f.Clearance, p))

	loose, _ := m.Forecast(l, s.Expect(mm(2.375)), p)
	assert.InDelta(t, 0.6697, loose.Inside, 5e-4)
	assert.True(t, near(m, l, loose.Clearance, p))

	sure, some := m.Guard(l, p)
	require.True(t, some)
	assert.Equal(t, shim.Limits{Tight: 155_354, Loose: 194_646}, sure)
}

// The spread of a recheck holds both readings, and both shims unless kept.
func TestDifference(t *testing.T) {
	m := Model{Gauge: shim.Gauge{Step: mm(0.02), Stamp: mm(0.005)}}
	p := Parts{Reading: bracket(0.15, 0.18), Ratio: shim.Ratio{Times: shim.One}, Kept: true}
	assert.InDelta(t, math.Hypot(0.015, 0.010)/math.Sqrt(3)*1e6, float64(m.Difference(p, shim.ReadingOf(mm(0.16))).Standard()), 0.51)
	p.Kept = false
	assert.InDelta(t, math.Hypot(math.Hypot(0.015, 0.010), math.Hypot(0.005, 0.005))/math.Sqrt(3)*1e6,
		float64(m.Difference(p, shim.ReadingOf(mm(0.16))).Standard()), 0.51)
	assert.False(t, m.Difference(p, shim.Reading{}).Known())
	assert.True(t, m.Difference(p, shim.Reading{Kind: shim.Below, High: mm(0.05)}).Known())
}

func TestSourceOf(t *testing.T) {
	assert.Equal(t, Stamped, SourceOf(false, false))
	assert.Equal(t, Used, SourceOf(false, true))
	assert.Equal(t, Miked, SourceOf(true, true))
	assert.Equal(t, Used, InPlace(0))
	assert.Equal(t, Miked, InPlace(mm(2.4)))
}

// The workshop manual of the Lombardini LDA 422, p. 70, allows a marked thickness
// 0.015 mm at the least; a new shim's 0.005 is common practice. Standard
// uncertainties by hand: the root of the sum of squares, each half width over the
// root of 3 (JCGM 100:2008, 4.3.7).
func TestUsedShims(t *testing.T) {
	m := Model{Gauge: shim.Gauge{Stamp: mm(0.005), Used: mm(0.015), Mic: mm(0.004)}}
	stated := Model{Gauge: shim.Gauge{Stamp: mm(0.005), Mic: mm(0.004)}}
	for name, c := range map[string]struct {
		out, in     Source
		kept        bool
		is, stateds float64 // um
	}{
		"pulled, new":        {Used, Stamped, false, 9.129, 4.082},
		"pulled, pulled":     {Used, Used, false, 12.247, 4.082},
		"measured, pulled":   {Miked, Used, false, 8.963, 3.697},
		"stays":              {Used, Used, true, 0, 0},
		"none, new":          {None, Stamped, false, 2.887, 2.887},
		"measured, measured": {Miked, Miked, false, 3.266, 3.266},
	} {
		p := Parts{Reading: shim.ReadingOf(mm(0.16)), Ratio: shim.Ratio{Times: shim.One}, Kept: c.kept, Installed: c.out, Fitted: c.in}
		assert.InDelta(t, c.is*1e3, float64(m.Spread(p).Standard()), 1, name)
		assert.InDelta(t, c.stateds*1e3, float64(stated.Spread(p).Standard()), 1, name+", stated")
	}
}

func BenchmarkForecast(b *testing.B) {
	m := Model{Gauge: Usual, Confidence: 0.95}
	p := Parts{Reading: bracket(0.09, 0.12), Ratio: shim.Ratio{Times: shim.One}}
	for b.Loop() {
		m.Inside(limits(0.14, 0.21), mm(0.18), p)
	}
}

func BenchmarkGuard(b *testing.B) {
	m := Model{Gauge: Usual, Confidence: 0.95}
	p := Parts{Reading: bracket(0.09, 0.12), Ratio: shim.Ratio{Times: shim.One}}
	for b.Loop() {
		m.Guard(limits(0.14, 0.21), p)
	}
}

// near reports whether an expected clearance is inside the limits, yet outside
// the guard band.
func near(m Model, l shim.Limits, expected shim.Length, p Parts) bool {
	sure, some := m.Guard(l, p)
	return l.Contain(expected) && !(some && sure.Contain(expected))
}

// A reading is as sure as the leaves that it was made with, shims as the model's
// gauge: 0.05/2 and 0.004 for 0.03/2 and 0.005, the marks stay.
func TestReadWithOtherLeaves(t *testing.T) {
	m := Model{Gauge: Usual}
	p := Parts{Reading: shim.ReadingOf(mm(0.15)), Ratio: shim.Ratio{Times: shim.One}, Installed: Stamped, Fitted: Miked}
	q := p
	q.With = shim.Gauge{Step: mm(0.05), Leaf: mm(0.004), Stamp: mm(0.1), Mic: mm(0.1)}
	standard := func(halves ...float64) float64 {
		sum := 0.0
		for _, a := range halves {
			sum += a * a / 3
		}
		return math.Sqrt(sum) * 1e6
	}
	assert.InDelta(t, standard(0.015, 0.005, 0.005, 0.004), float64(m.Spread(p).Standard()), 1)
	assert.InDelta(t, standard(0.025, 0.004, 0.005, 0.004), float64(m.Spread(q).Standard()), 1)
	after := shim.ReadingOf(mm(0.2)) // with the model's
	assert.InDelta(t, standard(0.025, 0.004, 0.005, 0.004, 0.015, 0.005), float64(m.Difference(q, after).Standard()), 1)
}
