package stock

import (
	"slices"
	"sort"

	"shimwright/shim"
)

// A valve is a need on the line: it takes the sizes from low up to, not including,
// high, best first, and the pulled shims that own names by the valve they came from.
type valve struct {
	low, high, best int32
	own             []int32
}

// A crowd is the valves of jobs on one line of kinds of shim, sorted by family and
// size. Job j has the valves from starts[j] up to starts[j+1].
type crowd struct {
	line   []shim.Disc
	valves []valve
	starts []int
}

// newCrowd puts jobs on the line of all kinds that are in a box or on sale.
func newCrowd(jobs []Job, boxes [][]Pieces, offers []shim.Offer) *crowd {
	c := &crowd{starts: make([]int, 1, len(jobs)+1)}
	for _, box := range boxes {
		for _, p := range box {
			c.line = append(c.line, p.Disc)
		}
	}
	for _, o := range offers {
		c.line = append(c.line, o.Disc)
	}
	slices.SortFunc(c.line, shim.Disc.Compare)
	c.line = slices.Compact(c.line)
	for _, job := range jobs {
		first := int32(len(c.valves))
		for i := range job {
			n := &job[i]
			v := valve{low: c.from(n.Of(n.Thin)), high: c.from(n.Of(n.Thick + 1))}
			v.high = max(v.low, v.high)
			v.best = v.low
			for k := v.low; k < v.high; k++ {
				if (c.line[k].Size - n.Ideal).Abs() < (c.line[v.best].Size - n.Ideal).Abs() {
					v.best = k
				}
			}
			for k := range job {
				if n.takes(&job[k]) {
					v.own = append(v.own, first+int32(k))
				}
			}
			c.valves = append(c.valves, v)
		}
		c.starts = append(c.starts, len(c.valves))
	}
	return c
}

// from is the first kind on the line that is not below d.
func (c *crowd) from(d shim.Disc) int32 {
	return int32(sort.Search(len(c.line), func(i int) bool { return c.line[i].Compare(d) >= 0 }))
}

// counts gives a box's pieces by their place on the line.
func (c *crowd) counts(box []Pieces) []int32 {
	counts := make([]int32, len(c.line))
	for _, p := range box {
		counts[c.from(p.Disc)] += int32(p.Count)
	}
	return counts
}
