package inventory

import (
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

// minStep is the finest step of a range. Common practice: ranges step by 0.02
// to 0.05 mm.
const minStep = 10 * shim.Micrometre

// RangeOf guesses the range from the sizes marked on shims of one diameter:
// from the thinnest to the thickest, in the widest step that has them all. It
// is empty where that is finer than any range's.
func RangeOf(stamps []shim.Length) []shim.Length {
	if len(stamps) == 0 {
		return nil
	}
	first, last := slices.Min(stamps), slices.Max(stamps)
	var step shim.Length
	for _, s := range stamps {
		step = gcd(step, s-first)
	}
	if step < minStep {
		return nil
	}
	var list []shim.Length
	for size := first; size <= last; size += step {
		list = append(list, size)
	}
	return list
}

func gcd(x, y shim.Length) shim.Length {
	for y != 0 {
		x, y = y, x%y
	}
	return x
}
