package stock

import (
	"slices"

	"shimwright/shim"
)

// A Need is a valve that is open: the sizes of its family that bring it inside its
// limits run from Thin to Thick, both included.
type Need struct {
	shim.Family
	Thin, Thick shim.Length
	Ideal       shim.Length // comes closest to the aim
	Pulled      shim.Length // the shim that came out of it; 0 where there is none to use
}

// takes reports whether the shim pulled from another valve of the same job serves.
func (n *Need) takes(o *Need) bool {
	return o.Pulled != 0 && n.Family == o.Family && n.Thin <= o.Pulled && o.Pulled <= n.Thick
}

// A Job is the open valves of one visit. Their pulled shims are theirs alone.
type Job []Need

// Pieces are equal shims.
type Pieces struct {
	shim.Disc
	Count int
}

// Sum puts pieces in order and adds up equal ones; kinds without any are left out.
func Sum(lists ...[]Pieces) []Pieces {
	all := slices.Concat(lists...)
	slices.SortFunc(all, func(a, b Pieces) int { return a.Disc.Compare(b.Disc) })
	var sum []Pieces
	for _, p := range all {
		if n := len(sum); n > 0 && sum[n-1].Disc == p.Disc {
			sum[n-1].Count += p.Count
			continue
		}
		sum = append(sum, p)
	}
	return slices.DeleteFunc(sum, func(p Pieces) bool { return p.Count == 0 })
}

// Count is the number of pieces.
func Count(box []Pieces) int {
	n := 0
	for _, p := range box {
		n += p.Count
	}
	return n
}
