package inventory

import (
	"cmp"
	"maps"
	"slices"

	"shimwright/shim"
)

// A Gap is a run of neighbouring sizes that a box of this range would have and
// that this one has no piece of.
type Gap struct {
	Diameter, From, To shim.Length
	Sizes              int // how many, both ends included
}

// Gaps lists the sizes of the range that are missing among the stocks of one
// diameter, neighbours together. A size on hand parts a gap even where it is
// none of the range. Both lists run from the thinnest to the thickest.
func Gaps(stocks []Stock, of []shim.Length) []Gap {
	var list []Gap
	at, parted := 0, true
	for _, size := range of {
		for at < len(stocks) && stocks[at].Size < size {
			at, parted = at+1, true
		}
		if at < len(stocks) && stocks[at].Size == size {
			continue
		}
		if parted {
			gap := Gap{From: size}
			if len(stocks) > 0 {
				gap.Diameter = stocks[0].Diameter
			}
			list, parted = append(list, gap), false
		}
		last := &list[len(list)-1]
		last.To, last.Sizes = size, last.Sizes+1
	}
	return list
}

// minStep is the finest step of a range of sizes; nearer ones are readings of
// a micrometer. Common practice: ranges step by 0.02 to 0.05 mm.
const minStep = 10 * shim.Micrometre

// Sizes guesses the range from the stocks of one diameter: from the thinnest to the
// thickest on hand, in the step that is most often found between neighbours,
// on the grid that at least half of them lie on. It is empty where there is none
// to see.
func Sizes(stocks []Stock) []shim.Length {
	steps := map[shim.Length]int{}
	for i := 1; i < len(stocks); i++ {
		if step := stocks[i].Size - stocks[i-1].Size; step >= minStep {
			steps[step]++
		}
	}
	step := most(steps)
	if steps[step] < 2 {
		return nil // one distance is no step yet
	}
	offsets := map[shim.Length]int{}
	for _, s := range stocks {
		offsets[s.Size%step]++
	}
	offset := most(offsets)
	if 2*offsets[offset] < len(stocks) {
		return nil
	}
	first, last := stocks[0].Size, stocks[len(stocks)-1].Size
	first += (offset - first%step + step) % step
	var list []shim.Length
	for size := first; size <= last; size += step {
		list = append(list, size)
	}
	return list
}

// most is the length that was met most often, the shortest of those.
func most(times map[shim.Length]int) shim.Length {
	found := slices.SortedFunc(maps.Keys(times), func(x, y shim.Length) int {
		return cmp.Or(cmp.Compare(times[y], times[x]), cmp.Compare(x, y))
	})
	if len(found) == 0 {
		return 0
	}
	return found[0]
}
