package crank

import (
	"cmp"
	"slices"

	"shimwright/shim"
)

// Openings tells where valves of an engine may be opened: measured, or their
// shims on top changed. See [NewOpenings].
type Openings struct {
	c       *cycle
	byTrain map[train]arc
	spots   []spot
}

// NewOpenings looks at the engine once, for many questions. The error says that
// the engine has no firing order.
func NewOpenings(e *shim.Engine) (*Openings, error) {
	c, err := newCycle(e)
	if err != nil {
		return nil, err
	}
	return &Openings{c: c, byTrain: c.byTrain()}, nil
}

// angles lists the angles worth a look. It is worked out at the first question
// that needs it, so that an Openings is for one goroutine at a time.
func (o *Openings) angles() []spot {
	if o.spots == nil {
		o.spots = o.c.spots(slices.Concat(o.c.arcs, o.c.wary()))
	}
	return o.spots
}

// mayOpen reports whether a valve may be opened at the angle: while it stands on
// its base circle, both ends of that left out. Everything that asks where a
// valve may be opened comes here.
func (c *cycle) mayOpen(a arc, at int) bool { return c.clear(a, at) > 0 }

// Open reports whether the valve may be opened at the angle, in degrees of the
// crank as in [At].
func (o *Openings) Open(v shim.Valve, degrees float64) bool {
	return o.c.mayOpen(o.arc(v), o.c.angle(degrees))
}

func (o *Openings) arc(v shim.Valve) arc { return o.byTrain[train{v.Side, v.Cylinder}] }

// Together lists which of the valves may be open at one angle, by their places
// in the list: every set that no other one contains, in the order in which the
// crank reaches them.
func (o *Openings) Together(valves []shim.Valve) [][]int {
	var sets [][]int
	for _, s := range o.angles() {
		var set []int
		for i, v := range valves {
			if o.c.mayOpen(o.arc(v), s.at) {
				set = append(set, i)
			}
		}
		if !slices.ContainsFunc(sets, func(other []int) bool { return contains(other, set) }) {
			sets = slices.DeleteFunc(sets, func(other []int) bool { return contains(set, other) })
			sets = append(sets, set)
		}
	}
	return sets
}

// contains reports whether all of the part, in order, is in the whole, in order.
func contains(whole, part []int) bool {
	i := 0
	for _, p := range part {
		for i < len(whole) && whole[i] < p {
			i++
		}
		if i == len(whole) || whole[i] != p {
			return false
		}
	}
	return true
}

// Position is the best angle at which all of the valves may be open: at least
// [Ramp] away from timing that the engine gives, if that can be; then where a
// person finds it most easily; then as far from the lobes as can be. It is
// false where no angle has all of them on their base circles.
func (o *Openings) Position(valves []shim.Valve) (Position, bool) {
	type choice struct {
		spot
		wary  bool
		clear int
	}
	var best *choice
	for _, s := range o.angles() {
		c := choice{spot: s, wary: true, clear: o.c.full}
		for _, v := range valves {
			a := o.arc(v)
			if !o.c.mayOpen(a, s.at) {
				c.clear = 0
				break
			}
			c.clear = min(c.clear, o.c.clear(a, s.at))
			c.wary = c.wary && o.c.clear(a, s.at) > a.ramp
		}
		if c.clear > 0 && (best == nil || cmp.Or(trueFirst(c.wary, best.wary), cmp.Compare(c.grade, best.grade), cmp.Compare(best.clear, c.clear)) < 0) {
			best = &c
		}
	}
	if best == nil {
		return Position{}, false
	}
	p := o.At(o.c.degrees(best.at), valves)
	p.Clear = o.c.degrees(best.clear)
	return p, true
}

// At describes an angle at which the valves are opened. The position has
// neither Further nor Also.
func (o *Openings) At(degrees float64, valves []shim.Valve) Position {
	at := o.c.angle(degrees)
	p := Position{Degrees: o.c.degrees(at), Mark: o.c.mark(at), Valves: valves}
	for _, v := range valves {
		if a := o.arc(v); o.c.clear(a, at) <= a.ramp {
			p.Doubtful = append(p.Doubtful, v)
		}
	}
	return p
}

// trueFirst orders truth values.
func trueFirst(a, b bool) int {
	switch {
	case a == b:
		return 0
	case a:
		return -1
	}
	return 1
}
