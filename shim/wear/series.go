package wear

import (
	"cmp"
	"errors"
	"math"
	"slices"

	"shimwright/shim"
)

// Reading is one reading of a valve's stack.
type Reading struct {
	Check int         // counts the checks from 0, in the order of the meter
	Stack shim.Length // clearance + ratio x shim
	Doubt shim.Length // standard deviation of the clearance as read, above 0
	Shim  int         // counts the shims that the valve has had; the highest is in it now
}

// Disc is a shim that a valve has had.
type Disc struct {
	Fill  shim.Length // ratio x size
	Doubt shim.Length // standard deviation of that figure, 0 where it is exact
}

// Valve is one valve's readings since the series began.
type Valve struct {
	Valve    shim.Valve
	Limits   shim.Limits
	Prior    Prior
	Discs    []Disc // by the number in Reading.Shim; the last one is in the valve now
	Readings []Reading
	// Beyond is by how much, at least, the valve is outside its limits at the last
	// check where a reading proves that which is none of Readings: one without a
	// figure, or of no check. 0 where none does.
	Beyond shim.Length
}

// Prior is what is expected of the valves of a side before anything was read,
// per unit of the meter. A rate is positive where the gap closes.
type Prior struct {
	Rate    shim.Length // the side's mean rate
	Spread  shim.Length // standard deviation of that mean
	Scatter shim.Length // standard deviation of wear over one unit about its rate
}

// Kilometres is the unit of a road machine's series, 10,000 km.
const Kilometres = 10_000

// Road is the prior of a road machine, per 10,000 km.
var Road = Prior{Rate: 8 * shim.Micrometre, Spread: 12 * shim.Micrometre, Scatter: 3 * shim.Micrometre}

// PerInterval is the prior where the unit is the interval between two checks, as
// for hours: the rate goes with the width of the limits.
func PerInterval(limits shim.Limits) Prior {
	width := limits.Loose - limits.Tight
	rate := width * 11 / 100
	return Prior{Rate: rate, Spread: width * 17 / 100, Scatter: rate * 3 / 8}
}

// Opening is the prior of a closer, which recession of the seat opens.
func (p Prior) Opening() Prior { p.Rate = -p.Rate; return p }

// Series is what one machine's checks say since it was last taken apart.
type Series struct {
	Meters []float64 // of each check, rising
	Unit   float64   // of the meter, that the priors count by: 10,000 km, or the interval between checks
	Valves []Valve
}

// side is the group whose rates are drawn together: valves of one kind, closers apart.
type side struct {
	kind   shim.Side
	closer bool
}

func (v Valve) side() side { return side{v.Valve.Side, v.Valve.Closer} }

// Errors of Fit.
var (
	ErrFew   = errors.New("fewer than two checks with a meter reading")
	ErrMeter = errors.New("the meter does not rise from check to check")
	ErrUnit  = errors.New("the meter has no unit to count by")

	errSingular = errors.New("the readings determine nothing")
)

// valid reports the first thing that is wrong with a series.
func (s Series) valid() error {
	switch {
	case len(s.Meters) < 2:
		return ErrFew
	case !(s.Unit > 0) || math.IsInf(s.Unit, 0):
		return ErrUnit
	}
	for i, m := range s.Meters {
		if math.IsNaN(m) || math.IsInf(m, 0) || i > 0 && m <= s.Meters[i-1] {
			return ErrMeter
		}
	}
	for _, v := range s.Valves {
		if v.Prior.Rate == 0 || v.Prior.Spread <= 0 || v.Prior.Scatter <= 0 {
			return errors.New(v.Valve.String() + ": no prior")
		}
		for _, r := range v.Readings {
			if r.Check < 0 || r.Check >= len(s.Meters) || r.Shim < 0 || r.Shim >= len(v.Discs) || r.Doubt <= 0 {
				return errors.New(v.Valve.String() + ": a reading of no check, no shim or no doubt")
			}
		}
	}
	return nil
}

// sides lists the sides that have a valve with a reading, in their usual order.
func (s Series) sides() []side {
	var list []side
	for _, v := range s.Valves {
		if len(v.Readings) > 0 && !slices.Contains(list, v.side()) {
			list = append(list, v.side())
		}
	}
	slices.SortFunc(list, func(a, b side) int {
		return cmp.Or(cmp.Compare(a.kind, b.kind), map[bool]int{true: 1}[a.closer]-map[bool]int{true: 1}[b.closer])
	})
	return list
}
