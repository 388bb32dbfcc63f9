package crank

import (
	"cmp"
	"slices"

	"shimwright/shim"
)

// Openings tells where valves of an engine may be opened: their shims on top
// changed. See [NewOpenings].
type Openings struct {
	c       *cycle
	byTrain map[train]int // in the cycle's arcs
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
		arcs := slices.Concat(o.c.arcs, o.c.wary())
		for _, w := range o.c.press {
			arcs = append(arcs, w.arc)
		}
		o.spots = o.c.spots(arcs)
	}
	return o.spots
}

// room is how far the angle is inside the stretch in which the valve may be
// opened: while it stands on its base circle, and where the maker says how far
// to turn before a tappet is pressed, at least so far from where its piston could
// be met (see [shim.Engine.Pressing]). At 0 and less it may not be opened.
// Everything that asks where a valve may be opened comes here.
func (o *Openings) room(v shim.Valve, at int) int {
	return o.c.room(o.c.press[o.byTrain[train{v.Side, v.Cylinder}]], at)
}

// Open reports whether the valve may be opened at the angle, in degrees of the
// crank as in [At].
func (o *Openings) Open(v shim.Valve, degrees float64) bool {
	return o.room(v, o.c.angle(degrees)) > 0
}

// arc is where the valve stands on its base circle.
func (o *Openings) arc(v shim.Valve) arc { return o.c.arcs[o.byTrain[train{v.Side, v.Cylinder}]] }

// Window is from where to where the valve may be opened, in degrees of the crank
// as in [At], 0 up to 720 each; from is above to where the firing TDC of the first
// cylinder lies between.
func (o *Openings) Window(v shim.Valve) (from, to float64) {
	w := o.c.press[o.byTrain[train{v.Side, v.Cylinder}]]
	return o.c.degrees(o.c.wrap(w.mid - w.half)), o.c.degrees(o.c.wrap(w.mid + w.half))
}

// Piston is how far from the nearest TDC the piston under the valve stands:
// degrees of the crank past it, or before it below 0; -180 up to 180.
func (o *Openings) Piston(v shim.Valve, degrees float64) float64 {
	i := slices.Index(o.c.who, v.Cylinder)
	past := o.c.wrap(o.c.angle(degrees)-o.c.tdc[i]) % (o.c.full / 2)
	if past > o.c.full/4 {
		past -= o.c.full / 2
	}
	return o.c.degrees(past)
}

// Together lists which of the valves may be open at one angle, by their places
// in the list: every set that no other one contains, in the order in which the
// crank reaches them.
func (o *Openings) Together(valves []shim.Valve) [][]int {
	var sets [][]int
	for _, s := range o.angles() {
		var set []int
		for i, v := range valves {
			if o.room(v, s.at) > 0 {
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
// person finds it most easily; then as far from what keeps them shut, lobe or
// piston, as can be. It is false where no angle opens all of them.
func (o *Openings) Position(valves []shim.Valve) (Position, bool) {
	type choice struct {
		spot
		wary        bool
		room, clear int
	}
	var best *choice
	for _, s := range o.angles() {
		c := choice{spot: s, wary: true, room: o.c.full, clear: o.c.full}
		for _, v := range valves {
			a := o.arc(v)
			c.room = min(c.room, o.room(v, s.at))
			c.clear = min(c.clear, o.c.clear(a, s.at))
			c.wary = c.wary && o.c.clear(a, s.at) > a.ramp
		}
		if c.room > 0 && (best == nil || cmp.Or(trueFirst(c.wary, best.wary), cmp.Compare(c.grade, best.grade), cmp.Compare(best.room, c.room)) < 0) {
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
