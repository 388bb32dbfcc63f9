package doubt

import (
	"math"
	"math/rand/v2"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"gonum.org/v1/gonum/integrate/quad"

	"shimwright/shim"
)

// mm is a length from a float, for figures of other trades' examples.
func mm(x float64) shim.Length { return round(x * 1e6) }

func limits(tight, loose float64) shim.Limits {
	return shim.Limits{Tight: mm(tight), Loose: mm(loose)}
}

// JCGM 106:2012, 7.4: 13.6 with u 1.8, limits 12.5 and 16.3. The inputs were seen
// and the figure recomputed; the printed 0.66 is from memory.
func TestConformityExample(t *testing.T) {
	p := Gaussian(1.8e6).Inside(limits(12.5, 16.3), mm(13.6))
	assert.InDelta(t, 0.66263, p, 5e-6)
}

// Specific risks of the open test suite of Sandia's uncertainty calculator:
// limits 9 and 11.
func TestSpecificRisk(t *testing.T) {
	for mean, risk := range map[float64]float64{10: 0.01242, 10.5: 0.10574} {
		assert.InDelta(t, risk, 1-Gaussian(0.4e6).Inside(limits(9, 11), mm(mean)), 5e-6, "mean %g", mean)
	}
}

// JCGM 106:2012, resistor example: tolerance 1499.80 to 1500.20, acceptance 1499.82
// to 1500.18, process u 0.12, measurement u 0.04. The printed 0.01 and 0.07 are
// from memory; the digits beyond are recomputed with a midpoint rule of 200,000
// steps outside this project. The process is integrated here over what the
// package says of one reading.
func TestGlobalRisk(t *testing.T) {
	const process, middle = 0.12, 1500.0
	measure := Gaussian(0.04e6)
	accept := limits(1499.82, 1500.18)
	weight := func(x float64) float64 { return density((x-middle)/process) / process }
	taken := func(x float64) float64 { return measure.Inside(accept, mm(x)) }
	over := func(low, high float64, f func(float64) float64) float64 { return quad.Fixed(f, low, high, 200, nil, 0) }
	wrongly := func(x float64) float64 { return weight(x) * taken(x) }
	consumer := over(1499.2, 1499.8, wrongly) + over(1500.2, 1500.8, wrongly)
	producer := over(1499.8, 1500.2, func(x float64) float64 { return weight(x) * (1 - taken(x)) })
	assert.InDelta(t, 0.0098783, consumer, 1e-6)
	assert.InDelta(t, 0.0690265, producer, 1e-6)
}

// One-sided guard bands: 1.64 u for 5 %, 2.33 u for 1 % (a Eurachem-based text);
// w = U gives under 2.5 % (ILAC-G8:09/2019). The exact factors are recomputed.
func TestGuardFactors(t *testing.T) {
	const u = 10_000 // nm
	for p, z := range map[float64]float64{0.90: 1.281552, 0.95: 1.644854, 0.99: 2.326348} {
		sure, some := Gaussian(u).Guard(limits(0, 100), p)
		require.True(t, some)
		assert.Equal(t, shim.Length(math.Ceil(z*u)), sure.Tight, "p %g", p)
		assert.Equal(t, 100*shim.Millimetre-sure.Tight, sure.Loose)
	}
	assert.Less(t, 1-Gaussian(u).Inside(limits(0, 100), Gaussian(u).Expanded()), 0.025)
}

// A rectangle's own guard band: p of its width inside the limit.
func TestGuardOfARectangle(t *testing.T) {
	s := spreadOf(15_000)
	require.Equal(t, Convolution, s.Method())
	sure, some := s.Guard(limits(0.14, 0.21), 0.95)
	require.True(t, some)
	assert.Equal(t, mm(0.14)+13_500, sure.Tight, "0.95 of 30 µm less the half")
	_, some = s.Guard(limits(0.14, 0.16), 0.95)
	assert.False(t, some, "limits narrower than what the reading leaves open")
	assert.Equal(t, shim.Length(14_250), s.Expanded(), "95 %% of a rectangle")
	assert.Equal(t, shim.Length(8660), s.Standard())
}

func TestGuardHoldsExactlyTheSure(t *testing.T) {
	random := rand.New(rand.NewPCG(7, 8))
	for range 200 {
		var halves []float64
		for range 1 + random.IntN(5) {
			halves = append(halves, 1000+15_000*random.Float64())
		}
		s := spreadOf(halves...)
		l := shim.Limits{Tight: mm(0.1), Loose: mm(0.1) + shim.Length(10_000+random.IntN(90_000))}
		p := 0.5 + 0.499*random.Float64()
		sure, some := s.Guard(l, p)
		if !some {
			require.Less(t, s.Inside(l, l.Tight+(l.Loose-l.Tight)/2), p)
			continue
		}
		for range 50 {
			c := l.Tight - 5000 + shim.Length(random.Int64N(int64(l.Loose-l.Tight)+10_000))
			if edge := min((c - sure.Tight).Abs(), (c - sure.Loose).Abs()); edge > 1 {
				require.Equal(t, sure.Contain(c), s.Inside(l, c) >= p, "%+v at %s in %v, p %g", s, c, l, p)
			}
		}
		require.GreaterOrEqual(t, s.Inside(l, sure.Tight), p)
	}
}

func TestNoSpread(t *testing.T) {
	s := spreadOf()
	l := limits(0.14, 0.21)
	for c, want := range map[float64]float64{0.14: 1, 0.21: 1, 0.2: 1, 0.139999: 0, 0.210001: 0} {
		assert.InDelta(t, want, s.Inside(l, mm(c)), 0, "at %g", c)
	}
	sure, some := s.Guard(l, 0.95)
	assert.True(t, some)
	assert.Equal(t, l, sure)
	assert.Zero(t, s.Expanded())
	assert.Zero(t, Spread{}.Inside(l, mm(0.17)), "an unknown spread is sure of nothing")
}

func TestMethodText(t *testing.T) {
	for _, m := range []Method{Normal, Convolution} {
		text, err := m.MarshalText()
		require.NoError(t, err)
		var back Method
		require.NoError(t, back.UnmarshalText(text))
		assert.Equal(t, m, back)
	}
	assert.Error(t, new(Method).UnmarshalText([]byte("guess")))
}
