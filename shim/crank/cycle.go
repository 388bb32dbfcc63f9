package crank

import (
	"fmt"
	"math"
	"strconv"
	"strings"

	"shimwright/shim"
)

// Ramp is how many degrees of the crank a lobe is taken to need, before the
// opening and after the closing that a manual prints, to leave and to reach
// its base circle. Manuals print timing at some lift. Common practice; no
// published figure.
const Ramp = 15

// DefaultTiming is what is assumed of a side whose timing the engine does not
// give: intake 45 and 85 degrees, exhaust 85 and 45. It is the longest timing
// of common road engines, 30/70/70/30, with [Ramp] at each end: too long
// rather than too short, since a lobe thought too long costs at most a valve
// at some position, one thought too short a wrong clearance.
func DefaultTiming(s shim.Side) shim.Timing {
	if s == shim.Exhaust {
		return shim.Timing{Opens: 70 + Ramp, Closes: 30 + Ramp}
	}
	return shim.Timing{Opens: 30 + Ramp, Closes: 70 + Ramp}
}

// Timing is the side's timing as this package uses it, and whether the engine
// gives it.
func Timing(e *shim.Engine, s shim.Side) (t shim.Timing, given bool) {
	if given := e.Train(s).Timing; given != nil {
		return *given, true
	}
	return DefaultTiming(s), false
}

// A cycle is an engine's 720 degrees in whole units.
type cycle struct {
	unit int   // units in a degree
	full int   // units in the cycle
	tdc  []int // firing TDC by firing order
	who  []int // cylinder by firing order
	arcs []arc
}

// An arc is the part of the cycle that the valves of one side of one cylinder
// spend on their base circle, as its middle and half its length.
type arc struct {
	side      shim.Side
	cylinder  int
	mid, half int
	ramp      int // allowance that the timing still lacks: none where it is the default
}

func newCycle(e *shim.Engine) (*cycle, error) {
	order := e.FiringOrder
	if len(order) == 0 {
		if e.Cylinders > 1 {
			return nil, fmt.Errorf("%s has no firing order, and no crank position can be given without it: add firing_order, the cylinders as they fire, like %s",
				e.Name, exampleOrder(e.Cylinders))
		}
		order = []int{1}
	}
	// Two units in each thousandth of a degree keep the middle of every arc,
	// and of every stretch between two ends of arcs, a whole number.
	c := &cycle{unit: 2000 * e.Cylinders, who: order}
	c.full = 720 * c.unit
	fired := 0.0
	for i := range order {
		if len(e.FiringIntervals) == 0 {
			c.tdc = append(c.tdc, c.full/e.Cylinders*i)
			continue
		}
		c.tdc = append(c.tdc, c.wrap(c.thousandths(fired)))
		fired += e.FiringIntervals[i]
	}
	for i, cylinder := range order {
		for _, side := range shim.Sides {
			if e.Train(side).Valves == 0 {
				continue
			}
			t, given := Timing(e, side)
			// The base circle runs from closing to the next opening.
			closing, opening := 540*c.unit, (720+360)*c.unit
			if side == shim.Exhaust {
				closing, opening = 360*c.unit, (720+180)*c.unit
			}
			closing += c.thousandths(t.Closes)
			opening -= c.thousandths(t.Opens)
			a := arc{side: side, cylinder: cylinder, mid: c.wrap(c.tdc[i] + (closing+opening)/2), half: (opening - closing) / 2}
			if given {
				a.ramp = Ramp * c.unit
			}
			c.arcs = append(c.arcs, a)
		}
	}
	return c, nil
}

// exampleOrder shows how the key is written; it claims nothing of the engine.
func exampleOrder(cylinders int) string {
	switch cylinders {
	case 2:
		return "firing_order = [1, 2]"
	case 3:
		return "firing_order = [1, 2, 3]"
	}
	return "firing_order = [1, 3, 4, 2] for a four"
}

// thousandths is the angle in units, rounded to the thousandth of a degree.
func (c *cycle) thousandths(degrees float64) int {
	return int(math.Round(degrees*1000)) * (c.unit / 1000)
}

// angle is any finite angle in units within the cycle, to the nearest unit.
func (c *cycle) angle(degrees float64) int {
	return c.wrap(int(math.Round(math.Mod(degrees, 720) * float64(c.unit))))
}

func (c *cycle) degrees(units int) float64 { return float64(units) / float64(c.unit) }

func (c *cycle) wrap(units int) int {
	if units %= c.full; units < 0 {
		units += c.full
	}
	return units
}

// apart is the distance between two angles, either way round.
func (c *cycle) apart(a, b int) int {
	d := c.wrap(a - b)
	return min(d, c.full-d)
}

// clear is how far the angle is inside the arc: 0 and less is off the base circle.
func (c *cycle) clear(a arc, at int) int { return a.half - c.apart(at, a.mid) }

// mark says how a person finds the angle.
func (c *cycle) mark(at int) string {
	first, half := c.who[0], c.full/2
	var firing, exchange []int
	last := 0 // in firing order, the last to have fired
	for i, tdc := range c.tdc {
		switch at {
		case tdc:
			firing = append(firing, c.who[i])
		case c.wrap(tdc + half):
			exchange = append(exchange, c.who[i])
		}
		if c.wrap(at-tdc) < c.wrap(at-c.tdc[last]) {
			last = i
		}
	}
	const between = "between its exhaust and intake strokes"
	switch {
	case at == half && len(firing) > 0:
		return fmt.Sprintf("firing TDC of %s, one full turn from that of cylinder %d", cylinders(firing), first)
	case at == half:
		return fmt.Sprintf("TDC of cylinder %d %s, one full turn from its firing TDC", first, between)
	case len(firing) > 0:
		return "firing TDC of " + cylinders(firing)
	case len(exchange) > 0:
		return fmt.Sprintf("TDC of cylinder %d %s", exchange[0], between)
	}
	past := strconv.FormatFloat(math.Round(c.degrees(c.wrap(at-c.tdc[last]))*1000)/1000, 'f', -1, 64)
	return fmt.Sprintf("%s° past the firing TDC of cylinder %d", past, c.who[last])
}

// cylinders is "cylinder 1", or "cylinders 1 and 2" where they fire together.
func cylinders(numbers []int) string {
	names := make([]string, len(numbers))
	for i, n := range numbers {
		names[i] = strconv.Itoa(n)
	}
	if len(names) == 1 {
		return "cylinder " + names[0]
	}
	return "cylinders " + strings.Join(names, " and ")
}
