package crank

import (
	"fmt"
	"math"
	"strconv"
	"strings"

	"shimwright/shim"
)

// Ramp is [shim.Ramp].
const Ramp = shim.Ramp

// A cycle is an engine's 720 degrees in whole units.
type cycle struct {
	unit int   // units in a degree
	full int   // units in the cycle
	tdc  []int // firing TDC by firing order
	who  []int // cylinder by firing order
	arcs []arc
	// press is by arc the part of it in which its valves may be opened.
	press []window
}

// An arc is the part of the cycle that the valves of one side of one cylinder
// spend on their base circle, as its middle and half its length.
type arc struct {
	side      shim.Side
	cylinder  int
	mid, half int
	ramp      int // allowance that the timing still lacks: none where it is the default
}

// A window is the part of an arc in which the valves may be opened. Of its ends
// those of the arc are left out, the others belong to it.
type window struct {
	arc
	first, last bool // whether the end belongs to it
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
			from, to := c.ends(e.BaseCircle(side))
			a := c.arc(side, cylinder, c.tdc[i], from, to)
			if _, given := e.Timing(side); given {
				a.ramp = Ramp * c.unit
			}
			first, last := c.ends(e.Pressing(side))
			c.press = append(c.press, window{c.arc(side, cylinder, c.tdc[i], first, last), first > from, last < to})
			c.arcs = append(c.arcs, a)
		}
	}
	return c, nil
}

// ends are the ends of a stretch in units.
func (c *cycle) ends(s shim.Stretch) (from, to int) {
	return c.thousandths(s.From), c.thousandths(s.To)
}

// arc is the stretch between two ends of the cylinder that fires at the angle.
func (c *cycle) arc(side shim.Side, cylinder, fires, from, to int) arc {
	return arc{side: side, cylinder: cylinder, mid: c.wrap(fires + (from+to)/2), half: (to - from) / 2}
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

// room is clear for a window, 1 at an end that belongs to it.
func (c *cycle) room(w window, at int) int {
	if w.first && at == c.wrap(w.mid-w.half) || w.last && at == c.wrap(w.mid+w.half) {
		return 1
	}
	return c.clear(w.arc, at)
}

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
