package stock

import (
	"math/bits"
	"slices"

	"shimwright/shim"
)

// Even spreads pieces over the sizes from thin to thick of one family, where too
// little is known for [Advise]: each goes to a size that has fewest, and of these to
// one far from the last. However many are taken from the front of the list, they are
// spread. Of a size the cheapest offer counts.
func Even(offers []shim.Offer, f shim.Family, thin, thick shim.Length, box []Pieces, pieces int) []shim.Offer {
	var sizes []shim.Offer
	for _, o := range offers {
		if o.Family != f || o.Size < thin || o.Size > thick || o.Limited && o.Stock == 0 {
			continue
		}
		at, known := slices.BinarySearchFunc(sizes, o.Disc, func(s shim.Offer, d shim.Disc) int { return s.Disc.Compare(d) })
		switch {
		case !known:
			sizes = slices.Insert(sizes, at, o)
		case cheaper(&o, &sizes[at]) > 0:
			sizes[at] = o
		}
	}
	if len(sizes) == 0 {
		return nil
	}
	has := make([]int, len(sizes))
	for _, p := range box {
		if at, known := slices.BinarySearchFunc(sizes, p.Disc, func(s shim.Offer, d shim.Disc) int { return s.Disc.Compare(d) }); known {
			has[at] += p.Count
		}
	}
	// Halves, quarters, eighths: the van der Corput sequence.
	var order []int
	width := bits.Len(uint(len(sizes)))
	for i := range 1 << width {
		if at := int(bits.Reverse64(uint64(i)) >> (64 - width)); at < len(sizes) {
			order = append(order, at)
		}
	}
	var list []shim.Offer
	for range pieces {
		least := -1
		for _, at := range order {
			if (!sizes[at].Limited || sizes[at].Stock > 0) && (least < 0 || has[at] < has[least]) {
				least = at
			}
		}
		if least < 0 {
			break
		}
		has[least]++
		if sizes[least].Limited {
			sizes[least].Stock--
		}
		list = append(list, sizes[least])
	}
	return list
}

// Range is the thinnest and the thickest size that valves of the family took or would
// take best in recorded jobs. It is false where there are none.
func Range(records []Job, f shim.Family) (thin, thick shim.Length, some bool) {
	for _, job := range records {
		for i := range job {
			n := &job[i]
			if n.Family != f {
				continue
			}
			for _, size := range [2]shim.Length{n.Pulled, n.Ideal} {
				if size == 0 {
					continue
				}
				if !some {
					thin, thick, some = size, size, true
				}
				thin, thick = min(thin, size), max(thick, size)
			}
		}
	}
	return thin, thick, some
}
