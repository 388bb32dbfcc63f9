package wear

import (
	"cmp"
	"math"
	"math/rand/v2"
	"slices"

	"gonum.org/v1/gonum/blas"
	"gonum.org/v1/gonum/blas/blas64"

	"shimwright/shim"
)

// draws is how many machines that agree with the readings are looked at.
const draws = 2000

// line is one valve of one drawn machine: its clearance at the last check, its
// rate and scatter, in micrometres per unit.
type line struct{ clearance, rate, scatter float64 }

// passages are the two ways out of the limits: too tight, too loose.
func (l line) passages(limits shim.Limits) (tight, loose passage) {
	return passage{l.clearance - um(limits.Tight), l.rate, l.scatter}, passage{um(limits.Loose) - l.clearance, -l.rate, l.scatter}
}

// inside is the chance that the valve is inside its limits until a time. It takes
// the two ways out as exclusive: the limits are many scatters apart.
func (l line) inside(limits shim.Limits, t float64) float64 {
	tight, loose := l.passages(limits)
	return max(0, 1-tight.before(t)-loose.before(t))
}

// draw calls see with each of n drawn machines, valve by valve in the model's
// order. It draws the same ones every time.
func (m *Model) draw(n int, see func(r *rand.Rand, valves []line)) {
	r := rand.New(rand.NewPCG(1, 2))
	z, valves := make([]float64, m.size()), make([]line, len(m.valves))
	done, share := 0, 0.0
	for _, p := range m.points {
		share += p.weight
		for ; done < int(math.Round(share*float64(n))); done++ {
			for i := range z {
				z[i] = r.NormFloat64()
			}
			// precision = U'U, so U^-1 z has its inverse as covariance.
			blas64.Trsv(blas.NoTrans, p.upper, blas64.Vector{N: len(z), Data: z, Inc: 1})
			for k, v := range m.valves {
				valves[k] = line{p.mean.AtVec(k) + z[k] - um(v.Discs[len(v.Discs)-1].Fill), p.mean.AtVec(m.rate(k)) + z[m.rate(k)], um(v.Prior.Scatter)}
			}
			see(r, valves)
		}
	}
}

// Forecast says when the first valve is likely to leave its limits. Its times are
// meter readings; one that lies beyond a hundred units from the last check is
// +Inf: not to be foreseen.
type Forecast struct {
	First  Span
	Valves []ValveForecast // the one most likely to be first out, first
	draws  [][]line
	model  *Model

	settled bool
}

// Span is where a time lies: 1 in 20, 1 in 10, as often before as after, 19 in 20.
type Span struct{ P5, P10, P50, P95 float64 }

// ValveForecast is what is known of one valve.
type ValveForecast struct {
	Valve     shim.Valve
	Clearance shim.Length // most likely at the last check
	Rate      shim.Length // per unit; positive: the gap closes
	RateError shim.Length // standard deviation of the rate
	First     float64     // the chance that it is the first to leave
	Out       Span
}

// Forecast looks at machines that agree with the readings.
func (m *Model) Forecast() Forecast {
	f := Forecast{model: m, Valves: make([]ValveForecast, len(m.valves))}
	var first []float64
	out := make([][]float64, len(m.valves))
	sum, squares, gap := make([]float64, len(m.valves)), make([]float64, len(m.valves)), make([]float64, len(m.valves))
	led := make([]int, len(m.valves))
	m.draw(draws, func(r *rand.Rand, valves []line) {
		f.draws = append(f.draws, slices.Clone(valves))
		soonest, lead := math.Inf(1), -1
		for k, l := range valves {
			tight, loose := l.passages(m.valves[k].Limits)
			t := min(tight.draw(r), loose.draw(r))
			if t > 100 {
				t = math.Inf(1)
			}
			out[k] = append(out[k], t)
			if t < soonest {
				soonest, lead = t, k
			}
			sum[k], squares[k], gap[k] = sum[k]+l.rate, squares[k]+l.rate*l.rate, gap[k]+l.clearance
		}
		if first = append(first, soonest); lead >= 0 {
			led[lead]++
		}
	})
	f.First = m.span(first)
	n := float64(len(first))
	for k, v := range m.valves {
		mean := sum[k] / n
		f.Valves[k] = ValveForecast{
			Valve: v.Valve, Clearance: length(gap[k] / n), Rate: length(mean), RateError: length(math.Sqrt(max(0, squares[k]/n-mean*mean))),
			First: float64(led[k]) / n, Out: m.span(out[k]),
		}
	}
	slices.SortStableFunc(f.Valves, func(a, b ValveForecast) int { return cmp.Compare(b.First, a.First) })
	f.settled = f.settle()
	return f
}

// Inside is the chance that every valve is inside its limits from the last check
// until a meter reading.
func (f Forecast) Inside(until float64) float64 { return f.InsideWith(until, nil) }

// InsideWith is Inside where some valves get other shims at the last check.
func (f Forecast) InsideWith(until float64, fitted map[shim.Valve]Disc) float64 {
	sum := 0.0
	t := f.model.after(until)
	r := rand.New(rand.NewPCG(3, 4))
	for _, valves := range f.draws {
		all := 1.0
		for k, l := range valves {
			v := &f.model.valves[k]
			if d, other := fitted[v.Valve]; other {
				l.clearance += um(v.Discs[len(v.Discs)-1].Fill-d.Fill) + um(d.Doubt)*r.NormFloat64()
			}
			all *= l.inside(v.Limits, t)
		}
		sum += all
	}
	return sum / float64(len(f.draws))
}

func length(um float64) shim.Length { return shim.Length(math.Round(um * float64(shim.Micrometre))) }

// after is a meter reading in units from the last check.
func (m *Model) after(meter float64) float64 {
	return (meter - m.series.Meters[len(m.series.Meters)-1]) / m.series.Unit
}

func (m *Model) span(times []float64) Span {
	slices.Sort(times)
	at := func(share float64) float64 {
		return m.series.Meters[len(m.series.Meters)-1] + m.series.Unit*times[min(len(times)-1, int(share*float64(len(times))))]
	}
	return Span{at(0.05), at(0.1), at(0.5), at(0.95)}
}

// Settled reports whether the rates are known well enough to be told: three
// checks, and each side's mean rate known to half of itself, or to a quarter of
// the rate expected.
func (f Forecast) Settled() bool { return f.settled }

func (f Forecast) settle() bool {
	if len(f.model.series.Meters) < 3 {
		return false
	}
	for s := range f.model.sides {
		var members []int
		for k := range f.model.valves {
			if f.model.side[k] == s {
				members = append(members, k)
			}
		}
		sum, squares := 0.0, 0.0
		for _, valves := range f.draws {
			mean := 0.0
			for _, k := range members {
				mean += valves[k].rate
			}
			mean /= float64(len(members))
			sum, squares = sum+mean, squares+mean*mean
		}
		n := float64(len(f.draws))
		mean := sum / n
		if math.Sqrt(max(0, squares/n-mean*mean)) > max(math.Abs(mean)/2, math.Abs(um(f.model.valves[members[0]].Prior.Rate))/4) {
			return false
		}
	}
	return true
}
