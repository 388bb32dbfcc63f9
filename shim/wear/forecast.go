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

// beyond is how far the clearance is outside the limits, 0 inside them.
func (l line) beyond(limits shim.Limits) float64 {
	return max(0, um(limits.Tight)-l.clearance, l.clearance-um(limits.Loose))
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
	Lined     bool        // whether what it is to do is known; else nothing is but that it is outside
	Clearance shim.Length // most likely at the last check
	Rate      shim.Length // per unit; positive: the gap closes
	RateError shim.Length // standard deviation of the rate
	First     float64     // the chance that it is the first to leave; of several outside already the one farther out has more of it
	Out       Span
}

// Forecast looks at machines that agree with the readings. A valve that is proven
// outside is so in every one of them.
func (m *Model) Forecast() Forecast {
	f := Forecast{model: m}
	valves := slices.Clone(m.valves)
	for _, v := range m.series.Valves {
		if v.Beyond > 0 && len(v.Readings) == 0 {
			valves = append(valves, v)
		}
	}
	var first []float64
	out := make([][]float64, len(valves))
	sum, squares, gap := make([]float64, len(valves)), make([]float64, len(valves)), make([]float64, len(valves))
	led := make([]float64, len(valves))
	over := make([]float64, len(valves))
	m.draw(draws, func(r *rand.Rand, lines []line) {
		f.draws = append(f.draws, slices.Clone(lines))
		soonest, lead, all := math.Inf(1), -1, 0.0
		for k, v := range valves {
			t := 0.0
			if over[k] = um(v.Beyond); k < len(lines) {
				l := lines[k]
				tight, loose := l.passages(v.Limits)
				if t = min(tight.draw(r), loose.draw(r)); t > 100 {
					t = math.Inf(1)
				}
				if over[k] == 0 {
					over[k] = l.beyond(v.Limits)
				}
				sum[k], squares[k], gap[k] = sum[k]+l.rate, squares[k]+l.rate*l.rate, gap[k]+l.clearance
			}
			if over[k] > 0 {
				t = 0
			}
			out[k] = append(out[k], t)
			if all += over[k]; t < soonest {
				soonest, lead = t, k
			}
		}
		switch first = append(first, soonest); {
		case all > 0:
			for k := range over {
				led[k] += over[k] / all
			}
		case lead >= 0:
			led[lead]++
		}
	})
	f.First = m.span(first)
	n := float64(len(first))
	for k, v := range valves {
		mean := sum[k] / n
		f.Valves = append(f.Valves, ValveForecast{
			Valve: v.Valve, Lined: k < len(m.valves) && v.Beyond == 0, Clearance: length(gap[k] / n), Rate: length(mean), RateError: length(math.Sqrt(max(0, squares[k]/n-mean*mean))),
			First: led[k] / n, Out: m.span(out[k]),
		})
	}
	slices.SortStableFunc(f.Valves, func(a, b ValveForecast) int { return cmp.Compare(b.First, a.First) })
	f.settled = f.settle()
	return f
}

// Inside is the chance that every valve is inside its limits from the last check
// until a meter reading.
func (f Forecast) Inside(until float64) float64 { return f.InsideWith(until, nil) }

// InsideWith is Inside where some valves get other shims at the last check. It is
// that of the other valves where one that is proven outside gets another shim: how
// that leaves it nobody can say.
func (f Forecast) InsideWith(until float64, fitted map[shim.Valve]Disc) float64 {
	for _, v := range f.model.series.Valves {
		if _, other := fitted[v.Valve]; v.Beyond > 0 && !other {
			return 0
		}
	}
	sum := 0.0
	t := f.model.after(until)
	r := rand.New(rand.NewPCG(3, 4))
	for _, valves := range f.draws {
		all := 1.0
		for k, l := range valves {
			v := &f.model.valves[k]
			if v.Beyond > 0 {
				continue
			}
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
// checks with readings, and each side's mean rate known to half of itself, or to a quarter of
// the rate expected.
func (f Forecast) Settled() bool { return f.settled }

func (f Forecast) settle() bool {
	checks := map[int]bool{}
	for _, v := range f.model.valves {
		for _, r := range v.Readings {
			checks[r.Check] = true
		}
	}
	if len(checks) < 3 {
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
