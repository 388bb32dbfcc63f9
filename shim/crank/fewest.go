package crank

import (
	"cmp"
	"slices"
)

// fewest is the least number of angles such that each arc holds one of them.
//
// An angle of a cover may be moved on, out of no arc that holds it, until it
// stands at the very end of one of them. With that angle fixed the circle is
// cut open there, and on a line the rule "stand at the end of the arc that ends
// first, drop all arcs that hold the angle, go on" is optimal. So trying each
// arc's end once gives the exact minimum.
func (c *cycle) fewest(arcs []arc) int {
	least := len(arcs)
	left := make([]arc, 0, len(arcs))
	for _, start := range arcs {
		// Ends are even numbers of units: one less is inside every arc that
		// reaches there.
		cut := start.mid + start.half - 1
		count := 0
		left = append(left[:0], arcs...)
		for at := cut; ; count++ {
			left = slices.DeleteFunc(left, func(a arc) bool { return c.clear(a, at) > 0 })
			if len(left) == 0 {
				count++
				break
			}
			first := slices.MinFunc(left, func(a, b arc) int {
				return cmp.Compare(c.wrap(a.mid+a.half-cut), c.wrap(b.mid+b.half-cut))
			})
			at = first.mid + first.half - 1
		}
		least = min(least, count)
	}
	return least
}
