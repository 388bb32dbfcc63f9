package crank

import (
	"fmt"
	"math"

	"shimwright/shim"
)

// A Position is one angle of the crank at which valves are measured.
type Position struct {
	// Degrees of the crank after the firing TDC of the first cylinder in the
	// firing order, in the running direction; 0 up to 720.
	Degrees float64
	// Further is the degrees to turn on from the position before, always in
	// the running direction; for the first, from the firing TDC of the first
	// cylinder in the firing order.
	Further float64
	// Mark says how a person finds the position.
	Mark string
	// Valves are to be measured here: over a plan, every valve once, where it
	// stands furthest from its lobe.
	Valves []shim.Valve
	// Also are the other valves on their base circle here.
	Also []shim.Valve
	// Doubtful are those of Valves that stand within [Ramp] of an opening or
	// closing that the engine gives. They are on the base circle only if the
	// figures are where the lobe leaves it, not where the lift reaches 1 mm or so.
	Doubtful []shim.Valve
	// Clear is how many degrees the one of Valves that is closest to its lobe
	// stands away from it.
	Clear float64
}

// Plan gives the fewest positions at which every valve of the engine can be
// measured, in the order in which the crank reaches them.
//
// Among equally few it prefers, in this order: every valve at least [Ramp]
// away from timing that the engine gives; a first position at the firing TDC
// of the first cylinder in the firing order; the firing TDCs of other
// cylinders and the same mark one turn on, their other TDCs, multiples of
// common angles; the largest distance from the lobes.
//
// The error says that the engine has no firing order.
func Plan(e *shim.Engine) ([]Position, error) {
	c, err := newCycle(e)
	if err != nil {
		return nil, err
	}
	count, arcs := c.fewest(c.arcs), c.arcs
	if wary := c.wary(); c.fewest(wary) == count {
		arcs = wary
	}
	angles := c.cover(arcs, count)
	plan := make([]Position, len(angles))
	before := 0
	for i, at := range angles {
		plan[i] = Position{Degrees: c.degrees(at), Further: c.degrees(at - before), Mark: c.mark(at)}
		before = at
	}
	closest := make([]int, len(angles))
	for i := range closest {
		closest[i] = c.full
	}
	byTrain := c.byTrain()
	for _, v := range e.Valves() {
		a := c.arcs[byTrain[train{v.Side, v.Cylinder}]]
		safest := 0
		for i, at := range angles {
			if c.clear(a, at) > c.clear(a, angles[safest]) {
				safest = i
			}
		}
		for i, at := range angles {
			switch clear := c.clear(a, at); {
			case i == safest:
				plan[i].Valves = append(plan[i].Valves, v)
				closest[i] = min(closest[i], clear)
				if clear <= a.ramp {
					plan[i].Doubtful = append(plan[i].Doubtful, v)
				}
			case clear > 0:
				plan[i].Also = append(plan[i].Also, v)
			}
		}
	}
	for i := range plan {
		plan[i].Clear = c.degrees(closest[i])
	}
	return plan, nil
}

// At lists every valve that stands on its base circle at the angle, in the
// order of [shim.Engine.Valves]. The angle is in degrees of the crank after
// the firing TDC of the first cylinder in the firing order, any number, also
// below 0 or above 720. The error says that the engine has no firing order or
// that the angle is not a number.
func At(e *shim.Engine, degrees float64) ([]shim.Valve, error) {
	if math.IsNaN(degrees) || math.IsInf(degrees, 0) {
		return nil, fmt.Errorf("%g is not an angle: give degrees of the crank, like 360", degrees)
	}
	o, err := NewOpenings(e)
	if err != nil {
		return nil, err
	}
	var closed []shim.Valve
	for _, v := range e.Valves() {
		if o.c.clear(o.arc(v), o.c.angle(degrees)) > 0 {
			closed = append(closed, v)
		}
	}
	return closed, nil
}

// wary is the arcs without the ramps that given timing may leave out.
func (c *cycle) wary() []arc {
	arcs := make([]arc, len(c.arcs))
	for i, a := range c.arcs {
		a.half -= a.ramp
		arcs[i] = a
	}
	return arcs
}

// A train is what shares one arc: the valves of one side of one cylinder.
type train struct {
	side     shim.Side
	cylinder int
}

// byTrain is the place in arcs.
func (c *cycle) byTrain() map[train]int {
	places := make(map[train]int, len(c.arcs))
	for i, a := range c.arcs {
		places[train{a.side, a.cylinder}] = i
	}
	return places
}
