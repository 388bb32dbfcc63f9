package wear

import (
	"math"
	"math/rand/v2"

	"gonum.org/v1/gonum/stat/distuv"

	"shimwright/shim"
)

// engine is one invented engine as it truly wears, in micrometres and 10,000 km:
// 16 valves, mean rate 7 intake and 12 exhaust times the engine's pace times
// gamma(3, mean 1); one in ten opens instead; in one engine of twenty one valve
// wears four times as fast. Wear is a gamma process.
type engine struct {
	rate, gap, fill [16]float64
	offsetSD        float64
}

func limitsOf(v int) shim.Limits {
	if v < 8 {
		return shim.Limits{Tight: 110 * shim.Micrometre, Loose: 190 * shim.Micrometre}
	}
	return shim.Limits{Tight: 210 * shim.Micrometre, Loose: 300 * shim.Micrometre}
}

func nameOf(v int) shim.Valve {
	side := shim.Intake
	if v >= 8 {
		side = shim.Exhaust
	}
	return shim.Valve{Side: side, Cylinder: 1 + v%8/2, Letter: byte('a' + v%2)}
}

type source struct{ *rand.Rand }

func (s source) gamma(shape, scale float64) float64 {
	return distuv.Gamma{Alpha: shape, Beta: 1 / scale, Src: s.Rand}.Rand()
}

func newEngine(s source) *engine {
	e := &engine{offsetSD: 4}
	pace := math.Exp(0.35*s.NormFloat64() - 0.35*0.35/2)
	for v := range e.rate {
		mean := 7.
		if v >= 8 {
			mean = 12
		}
		e.rate[v] = mean * pace * s.gamma(3, 1./3)
		if s.Float64() < 0.1 {
			e.rate[v] *= -0.25
		}
		limits := limitsOf(v)
		e.gap[v] = um(limits.Tight)/2 + um(limits.Loose)/2 + 25*(s.Float64()-0.5)
		e.fill[v] = 2000 + 25*float64(s.IntN(40))
	}
	if s.Float64() < 0.05 {
		e.rate[s.IntN(16)] *= 4
	}
	return e
}

// run wears the engine for dt units.
func (e *engine) run(s source, dt float64) {
	for v, rate := range e.rate {
		size := math.Abs(rate)
		if size == 0 {
			continue
		}
		worn := s.gamma(dt/0.09, 0.09*size)
		e.gap[v] -= math.Copysign(worn, rate)
	}
}

// out reports whether a valve has left its limits.
func (e *engine) out() bool {
	for v, gap := range e.gap {
		if gap < um(limitsOf(v).Tight) || gap > um(limitsOf(v).Loose) {
			return true
		}
	}
	return false
}

// checked runs an engine through n checks and returns what was written down. What
// lies below tight + 20 or above loose gets the shim nearest to the middle.
func checked(s source, n int, e *engine) Series {
	series := Series{Unit: Kilometres}
	for v := range e.gap {
		series.Valves = append(series.Valves, Valve{Valve: nameOf(v), Limits: limitsOf(v), Prior: Road, Discs: []Disc{{Fill: length(e.fill[v])}}})
	}
	meter := 0.0
	for k := range n {
		dt := 1.2 * (0.85 + 0.3*s.Float64())
		e.run(s, dt)
		meter += dt * Kilometres
		series.Meters = append(series.Meters, meter)
		offset := e.offsetSD * s.NormFloat64()
		for v := range e.gap {
			read := 10 * math.Round((e.gap[v]+offset+5*s.NormFloat64())/10)
			valve := &series.Valves[v]
			valve.Readings = append(valve.Readings, Reading{Check: k, Stack: length(read + e.fill[v]), Doubt: length(math.Sqrt(25 + 100./12)), Shim: len(valve.Discs) - 1})
			limits := limitsOf(v)
			if read >= um(limits.Tight)+20 && read <= um(limits.Loose) {
				continue
			}
			fill := 25 * math.Round((read+e.fill[v]-um(limits.Tight+limits.Loose)/2)/25)
			if fill != e.fill[v] {
				e.gap[v] += e.fill[v] - fill
				e.fill[v] = fill
				valve.Discs = append(valve.Discs, Disc{Fill: length(fill)})
			}
		}
	}
	return series
}

// exit runs the engine until a valve leaves its limits, in units, at most 60.
func (e *engine) exit(s source) float64 {
	const step = 0.02
	for t := 0.0; t < 60; t += step {
		if e.out() {
			return t
		}
		e.run(s, step)
	}
	return math.Inf(1)
}
