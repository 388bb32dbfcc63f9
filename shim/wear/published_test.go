package wear

import (
	"cmp"
	"math"
	"math/rand/v2"
	"slices"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"gonum.org/v1/gonum/stat"
	"gonum.org/v1/gonum/stat/distuv"

	"shimwright/shim"
)

// lineOf fits one valve to points, with nothing to hold its rate, no offset and no
// scatter: an ordinary line. It gives value and error of the line at x.
func lineOf(t *testing.T, x, y []float64, sd float64) func(x float64) (value, err float64) {
	t.Helper()
	const scale = 1000 // so that whole nanometres, and a scatter of one, are nothing
	order := make([]int, len(x))
	for i := range order {
		order[i] = i
	}
	slices.SortFunc(order, func(a, b int) int { return cmp.Compare(x[a], x[b]) })
	s := Series{Unit: 1, Valves: []Valve{{
		Valve: shim.Valve{Cylinder: 1}, Prior: Prior{Rate: shim.Millimetre, Spread: 1e9 * shim.Millimetre, Scatter: 1}, Discs: []Disc{{}},
	}}}
	v := &s.Valves[0]
	for _, i := range order {
		if n := len(s.Meters); n == 0 || x[i] > s.Meters[n-1] {
			s.Meters = append(s.Meters, x[i])
		}
		v.Readings = append(v.Readings, Reading{Check: len(s.Meters) - 1, Stack: length(scale * y[i]), Doubt: length(scale * sd)})
	}
	m, err := fit(s, []float64{1e-4})
	require.NoError(t, err)
	p := m.points[len(m.points)-1] // the widest prior
	covariance, err := p.covariance()
	require.NoError(t, err)
	last := s.Meters[len(s.Meters)-1]
	return func(x float64) (float64, float64) {
		d := last - x // y = a + b d
		variance := covariance.At(0, 0) + 2*d*covariance.At(0, 1) + d*d*covariance.At(1, 1)
		return (p.mean.AtVec(0) + d*p.mean.AtVec(1)) / scale, math.Sqrt(variance) / scale
	}
}

// Norris, NIST Statistical Reference Datasets, linear regression, 36 points:
// certified intercept -0.262323073774029 (sd 0.232818234301152), slope
// 1.00211681802045 (sd 0.000429796848199937), residual sd 0.884796396144373.
// https://www.itl.nist.gov/div898/strd/lls/data/Norris.shtml (the points are from
// memory; that they give the certified line shows that they are right).
func TestNorris(t *testing.T) {
	y := []float64{0.1, 338.8, 118.1, 888.0, 9.2, 228.1, 668.5, 998.5, 449.1, 778.9, 559.2, 0.3, 0.1, 778.1, 668.8, 339.3, 448.9, 10.8, 557.7, 228.3, 998.0, 888.8, 119.6, 0.3, 0.6, 557.6, 339.3, 888.0, 998.5, 778.9, 10.2, 117.6, 228.9, 668.4, 449.2, 0.2}
	x := []float64{0.2, 337.4, 118.2, 884.6, 10.1, 226.5, 666.3, 996.3, 448.6, 777.0, 558.2, 0.4, 0.6, 775.5, 666.9, 338.0, 447.5, 11.6, 556.0, 228.1, 995.8, 887.6, 120.2, 0.3, 0.3, 556.8, 339.1, 887.2, 999.0, 779.0, 11.1, 118.3, 229.2, 669.1, 448.9, 0.5}
	require.Len(t, y, 36)
	at := lineOf(t, x, y, 0.884796396144373)
	zero, sd := at(0)
	assert.InDelta(t, -0.262323073774029, zero, 2e-6)
	assert.InDelta(t, 0.232818234301152, sd, 2e-6)
	one, _ := at(1000)
	assert.InDelta(t, 1.00211681802045, (one-zero)/1000, 1e-9)
	// The slope's error is that of the line far away, per unit.
	_, far := at(1e7)
	_, back := at(-1e7)
	far = (far + back) / 2
	assert.InDelta(t, 0.000429796848199937, far/1e7, 5e-9)
}

// R data set cars (speed and stopping distance, 50 points; data of 1920, Ezekiel
// 1930): 95 % confidence at speed 12: 24.40 to 34.82, at 19: 51.83 to 62.44;
// prediction -1.75 to 60.97 and 25.76 to 88.51 (confidence seen, prediction
// recomputed; the points are from memory, and give the line).
func TestCars(t *testing.T) {
	speed := []float64{4, 4, 7, 7, 8, 9, 10, 10, 10, 11, 11, 12, 12, 12, 12, 13, 13, 13, 13, 14, 14, 14, 14, 15, 15, 15, 16, 16, 17, 17, 17, 18, 18, 18, 18, 19, 19, 19, 20, 20, 20, 20, 20, 22, 23, 24, 24, 24, 24, 25}
	dist := []float64{2, 10, 4, 22, 16, 10, 18, 26, 34, 17, 28, 14, 20, 24, 28, 26, 34, 34, 46, 26, 36, 60, 80, 20, 26, 54, 32, 40, 32, 40, 50, 42, 56, 76, 84, 36, 46, 68, 32, 48, 52, 56, 64, 66, 54, 70, 92, 93, 120, 85}
	require.Len(t, dist, 50)
	a, b := stat.LinearRegression(speed, dist, nil, false)
	rest := 0.0
	for i := range speed {
		r := dist[i] - a - b*speed[i]
		rest += r * r
	}
	sd := math.Sqrt(rest / 48)
	at := lineOf(t, speed, dist, sd)
	wide := distuv.StudentsT{Mu: 0, Sigma: 1, Nu: 48}.Quantile(0.975)
	for _, c := range []struct{ speed, low, high, lowest, highest float64 }{{12, 24.40, 34.82, -1.75, 60.97}, {19, 51.83, 62.44, 25.76, 88.51}} {
		value, err := at(c.speed)
		assert.InDelta(t, c.low, value-wide*err, 0.006)
		assert.InDelta(t, c.high, value+wide*err, 0.006)
		all := math.Hypot(err, sd)
		assert.InDelta(t, c.lowest, value-wide*all, 0.006)
		assert.InDelta(t, c.highest, value+wide*all, 0.006)
	}
}

// The first passage of a gap of 45 that closes by 20 a unit with scatter 3 has the
// inverse normal distribution (Chhikara and Folks 1989): F(2) = 0.129215, F(2.5) =
// 0.865480. Drawn times follow it; one that opens is passed with the chance
// exp(-2 a v / k²) (Karlin and Taylor, A First Course in Stochastic Processes, 7.5;
// from memory).
func TestPassage(t *testing.T) {
	p := passage{gap: 45, rate: 20, scatter: 3}
	assert.InDelta(t, 0.129215, p.before(2), 5e-7)
	assert.InDelta(t, 0.865480, p.before(2.5), 5e-7)
	assert.Equal(t, 0., p.before(0))
	assert.Equal(t, 1., passage{gap: -1, rate: 1, scatter: 1}.before(0))
	for _, p := range []passage{p, {gap: 3, rate: -1, scatter: 3}, {gap: 3, rate: 0, scatter: 3}, {gap: 60, rate: 1e-3, scatter: 3}} {
		r := rand.New(rand.NewPCG(5, 6))
		const n = 40_000
		var times []float64
		for range n {
			times = append(times, p.draw(r))
		}
		for _, at := range []float64{0.5, 2, 2.25, 2.5, 10, 300} {
			count := 0
			for _, x := range times {
				if x <= at {
					count++
				}
			}
			want := p.before(at)
			sd := math.Sqrt(want * (1 - want) / n)
			assert.InDelta(t, want, float64(count)/n, 5*sd+1e-9, "%+v at %g", p, at)
		}
	}
	never := passage{gap: 3, rate: -1, scatter: 3}
	assert.InDelta(t, math.Exp(-2*3/9.), never.before(1e9), 1e-9)
}
