package crank

import (
	"slices"
	"sort"
)

// A spot is an angle that may become a position, with its grade by how easily
// a person finds it.
type spot struct {
	at    int
	grade int
	turn  bool // one full turn from the start
}

// The grades of a spot, best first.
const (
	atStart    = iota // firing TDC of the first cylinder in the firing order
	atFiring          // firing TDC of another cylinder, or one full turn from the start: the same mark
	atExchange        // gas-exchange TDC of another cylinder
	atRight           // so many right angles from the start
	atThirds          // a multiple of 30 or 45 degrees
	atTens            // a multiple of 10 or 15 degrees
	atFives           // a multiple of 5 degrees
	atWhole           // a whole degree
	atAny             // the middle of a stretch that holds none of these
)

func (c *cycle) grade(at int) int {
	multiple := func(degrees int) bool { return at%(degrees*c.unit) == 0 }
	switch half := c.full / 2; {
	case at == 0:
		return atStart
	case at == half, slices.Contains(c.tdc, at):
		return atFiring
	case slices.Contains(c.tdc, c.wrap(at+half)):
		return atExchange
	case multiple(90):
		return atRight
	case multiple(30), multiple(45):
		return atThirds
	case multiple(10), multiple(15):
		return atTens
	case multiple(5):
		return atFives
	case multiple(1):
		return atWhole
	}
	return atAny
}

// spots lists the angles worth a look, in order. Which arcs hold an angle
// changes at the ends of arcs only. So for each end, and each stretch between
// two ends, the angles of the best grade found there are enough.
func (c *cycle) spots(arcs []arc) []spot {
	var ends []int
	for _, a := range arcs {
		ends = append(ends, c.wrap(a.mid-a.half), c.wrap(a.mid+a.half))
	}
	slices.Sort(ends)
	ends = slices.Compact(ends)

	var all []int
	for degree := range 720 {
		all = append(all, degree*c.unit)
	}
	for _, tdc := range c.tdc {
		all = append(all, tdc, c.wrap(tdc+c.full/2))
	}
	for i, end := range ends {
		next := ends[(i+1)%len(ends)]
		if next <= end {
			next += c.full
		}
		all = append(all, c.wrap((end+next)/2))
	}
	slices.Sort(all)
	all = slices.Compact(all)

	// Places 2i+1 are the ends, places 2i the stretches before them; the last
	// stretch goes round into the first.
	place := func(at int) int {
		i := sort.SearchInts(ends, at)
		if i < len(ends) && ends[i] == at {
			return 2*i + 1
		}
		return 2 * (i % len(ends))
	}
	best := make([]int, 2*len(ends))
	for i := range best {
		best[i] = atAny + 1
	}
	found := make([]spot, len(all))
	for i, at := range all {
		found[i] = spot{at: at, grade: c.grade(at), turn: at == c.full/2}
		p := place(at)
		best[p] = min(best[p], found[i].grade)
	}
	return slices.DeleteFunc(found, func(s spot) bool { return s.grade > best[place(s.at)] })
}
