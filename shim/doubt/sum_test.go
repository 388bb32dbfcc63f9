package doubt

import (
	"math"
	"math/big"
	"math/rand/v2"
	"sort"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"shimwright/testdata/effort"
)

// The distribution of a sum of n equal rectangles at whole numbers: Irwin 1927
// and Hall 1927, F(k) = 1/n! sum (-1)^j C(n,j) (k-j)^n; values recomputed in
// whole numbers.
func TestEqualRectangles(t *testing.T) {
	for _, c := range []struct {
		n     int
		x     float64 // of n rectangles on 0 to 1
		exact float64
	}{
		{1, 0.25, 0.25}, {2, 0.5, 1.0 / 8}, {2, 1, 0.5}, {2, 1.5, 7.0 / 8},
		{3, 1, 1.0 / 6}, {3, 1.5, 0.5}, {3, 2, 5.0 / 6},
		{4, 1, 1.0 / 24}, {4, 2, 0.5}, {5, 1, 1.0 / 120}, {5, 2, 27.0 / 120},
	} {
		halves := make([]float64, c.n)
		for i := range halves {
			halves[i] = 0.5
		}
		s := add(halves...)
		assert.InDelta(t, c.exact, s.cdf(c.x-float64(c.n)/2), 1e-14, "%+v", c)
	}
}

// Without a Gaussian the functions have corners; a fine midpoint rule copes.
func TestRectanglesAgainstMidpoints(t *testing.T) {
	for _, halves := range [][]float64{{15, 4}, {15, 2.5, 2.5}, {15, 5, 5, 2}, {15, 5, 4, 2.5, 2.5}} {
		s, rest := add(halves...), add(halves[1:]...)
		const n = 20_000
		for _, x := range []float64{-29, -20, -14, -6, 0, 3, 11, 17, 25} {
			total := 0.0
			for i := range n {
				total += rest.cdf(x - halves[0]*(2*(float64(i)+0.5)/n-1))
			}
			assert.InDelta(t, total/n, s.cdf(x), 1e-7, "%v at %g", halves, x)
		}
	}
}

func TestAgainstMonteCarlo(t *testing.T) {
	random := rand.New(rand.NewPCG(1, 2))
	draws := effort.Share(100_000)
	for _, c := range []struct {
		halves []float64
	}{
		{[]float64{15}}, {[]float64{15, 5}}, {[]float64{15, 5, 5}}, {[]float64{15, 5, 4}},
		{[]float64{15, 5, 5, 2.5, 2.5}}, {[]float64{15, 15, 5, 5, 2.5, 2.5, 2.5, 2.5}}, {[]float64{20, 0.1, 0.1}},
	} {
		sample := make([]float64, draws)
		for i := range sample {
			for _, a := range c.halves {
				sample[i] += a * (2*random.Float64() - 1)
			}
		}
		sort.Float64s(sample)
		s := add(c.halves...)
		// Kolmogorov-Smirnov: 1.95/sqrt(n) is exceeded once in a thousand.
		worst := 0.0
		for i, x := range sample {
			worst = max(worst, math.Abs(s.cdf(x)-(float64(i)+0.5)/float64(draws)))
		}
		assert.Less(t, worst, 1.95/math.Sqrt(float64(draws)), "%+v", c)
	}
}

func TestSumIsADistribution(t *testing.T) {
	random := rand.New(rand.NewPCG(3, 4))
	for range effort.Share(100) {
		// Widths over four decades.
		var halves []float64
		for range random.IntN(7) {
			halves = append(halves, math.Pow(10, 1+4*random.Float64()))
		}
		s := add(halves...)
		if s.variance() == 0 {
			continue
		}
		last, step := 0.0, s.reach()/50
		for x := -1.1 * s.reach(); x <= 1.1*s.reach(); x += step {
			p := s.cdf(x)
			require.GreaterOrEqual(t, p, last-1e-10, "%+v falls at %g", s, x)
			require.InDelta(t, 1, p+s.cdf(-x), 1e-10, "%+v at %g", s, x)
			last = p
			if s.n == 1 {
				continue // the density jumps, or nearly, at the corners
			}
			slope := (s.cdf(x+step*1e-3) - s.cdf(x-step*1e-3)) / (step * 2e-3)
			require.InDelta(t, slope, s.pdf(x), 0.02/math.Sqrt(s.variance()), "%+v at %g", s, x)
		}
		require.InDelta(t, 1, s.cdf(s.reach()), 1e-10)
		for _, p := range []float64{0.5, 0.95, 0.999} {
			q := s.quantile(p)
			require.InDelta(t, p, s.cdf(q)-s.cdf(-q), 1e-9, "%+v", s)
		}
	}
}

// JCGM 100:2008 4.3.7 and 4.3.9: divisors sqrt 3 and sqrt 6. The combined figure
// is a published example: 0.00033, 0.00029 and 0.00025 give 0.000505.
func TestDivisors(t *testing.T) {
	assert.InDelta(t, 1/math.Sqrt(3), math.Sqrt(add(1).variance()), 1e-15)
	assert.InDelta(t, 1/math.Sqrt(6), math.Sqrt(add(0.5, 0.5).variance()), 1e-15)
	r3 := math.Sqrt(3)
	assert.InDelta(t, 0.000505, math.Sqrt(add(0.00033*r3, 0.00029*r3, 0.00025*r3).variance()), 5e-7)
}

// bigCDF is the distribution function of a sum of rectangles by the closed form
// in whole numbers: independent of rounding.
func bigCDF(x int64, halves []int64) float64 {
	n := len(halves)
	total := new(big.Int)
	for corner := range 1 << n {
		at, sign := x, int64(1)
		for i, a := range halves {
			if corner>>i&1 == 0 {
				at += a
			} else {
				at, sign = at-a, -sign
			}
		}
		if at > 0 {
			term := new(big.Int).Exp(big.NewInt(at), big.NewInt(int64(n)), nil)
			total.Add(total, term.Mul(term, big.NewInt(sign)))
		}
	}
	scale := big.NewInt(1)
	for i, a := range halves {
		scale.Mul(scale, big.NewInt(2*a*int64(i+1)))
	}
	p, _ := new(big.Rat).SetFrac(total, scale).Float64()
	return p
}

// Up to six rectangles, from a micrometre's hundredth to three hundredths of a
// millimetre wide, against the exact sum: 1e-9.
func TestAgainstTheExactSum(t *testing.T) {
	random := rand.New(rand.NewPCG(9, 26))
	worst := 0.0
	for range effort.Share(2000) {
		var halves []int64
		var floats []float64
		for range 1 + random.IntN(6) {
			a := int64(math.Pow(10, 1+3.5*random.Float64()))
			halves, floats = append(halves, a), append(floats, float64(a))
		}
		s := add(floats...)
		reach := int64(s.reach())
		for range 5 {
			x := random.Int64N(2*reach+1) - reach
			worst = max(worst, math.Abs(s.cdf(float64(x))-bigCDF(x, halves)))
		}
	}
	t.Logf("worst difference from the exact sum: %.1e, bound 1e-9", worst)
	require.Less(t, worst, 1e-9)
}

// A gap between two leaves: integrated here over U and one leaf by a fine
// midpoint rule, the other leaf and a shim by the closed form.
func TestWedgeAgainstMidpoints(t *testing.T) {
	effort.Long(t)
	for _, c := range []struct {
		w    wedge
		rest []float64
	}{
		{wedge{30, 5}, nil}, {wedge{30, 5}, []float64{5}}, {wedge{20, 9}, []float64{5, 4}}, {wedge{0, 6}, nil}, {wedge{30, 0.1}, []float64{2}},
	} {
		s := add(c.rest...)
		s.between(c.w)
		const n = 1500
		for _, x := range []float64{-19, -14, -8.5, -3, 0, 1.7, 6, 12, 20} {
			total := 0.0
			for i := range n {
				u := (float64(i) + 0.5) / n
				rest := add(append([]float64{c.w.leaf * u}, c.rest...)...)
				for k := range n {
					e := c.w.leaf * (2*(float64(k)+0.5)/n - 1)
					total += rest.cdf(x - c.w.width*(u-0.5) - e*(1-u))
				}
			}
			assert.InDelta(t, total/n/n, s.cdf(x), 2e-5, "%+v at %g", c, x)
		}
	}
}

// Everything at once, by drawing: three times the standard error, and 1e-7 for
// what two wedges leave.
func TestWedgesAgainstMonteCarlo(t *testing.T) {
	random := rand.New(rand.NewPCG(9, 27))
	const draws = 200_000
	for _, c := range []struct {
		wedges []wedge
		rest   []float64
	}{
		{[]wedge{{30, 3}}, []float64{5, 5}}, {[]wedge{{30, 3}, {30, 3}}, []float64{5, 2}}, {[]wedge{{20, 9}, {30, 9}}, nil},
	} {
		s := add(c.rest...)
		for _, w := range c.wedges {
			s.between(w)
		}
		even := func(a float64) float64 { return a * (2*random.Float64() - 1) }
		at := []float64{-25, -15, -5, 0, 8, 18}
		hits := make([]int, len(at))
		for range draws {
			x := 0.0
			for _, a := range c.rest {
				x += even(a)
			}
			for _, w := range c.wedges {
				u := random.Float64()
				x += w.width*(u-0.5) + (1-u)*even(w.leaf) + u*even(w.leaf)
			}
			for i, bound := range at {
				if x <= bound {
					hits[i]++
				}
			}
		}
		for i, bound := range at {
			p := s.cdf(bound)
			require.InDelta(t, float64(hits[i])/draws, p, 3.5*math.Sqrt(p*(1-p)/draws)+1e-7, "%+v at %g", c, bound)
		}
		require.InDelta(t, 1, s.cdf(3)+s.cdf(-3), 1e-12)
		slope := (s.cdf(-4.99) - s.cdf(-5.01)) / 0.02
		require.InDelta(t, slope, s.pdf(-5), 1e-4)
	}
}

func BenchmarkWedge(b *testing.B) {
	s := add(5000, 5000)
	s.between(wedge{30_000, 3000})
	for b.Loop() {
		s.cdf(-12345)
	}
}

func BenchmarkSum(b *testing.B) {
	s := add(15000, 5000, 5000, 2500, 2500)
	for b.Loop() {
		s.cdf(-12345)
	}
}
