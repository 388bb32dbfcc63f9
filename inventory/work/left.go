package work

import (
	"slices"

	"shimwright/inventory"
	"shimwright/shim"
)

// A Progress is how far a valve of the plan is.
type Progress int

// Stages of a placement.
const (
	ToDo      Progress = iota
	Empty              // its shim was pulled again
	AsPlanned          // the shim of the plan is in, of another size where a micrometer read one
	Otherwise          // another shim is in
)

// A Placed is a placement of the plan with what became of it.
type Placed struct {
	inventory.Placement
	Progress Progress
	In       shim.Length   // the shim that is in the valve now
	Lot      inventory.Lot // the piece that goes in or went in
	Known    bool          // which one that is
}

// Placements are those of the plan that stands, with what became of each.
func Placements(f inventory.File) []Placed {
	left := map[shim.Valve]bool{}
	for _, p := range f.Left {
		left[p.Valve] = true
	}
	seats := map[shim.Valve]inventory.Seat{}
	for _, s := range f.Seats {
		seats[s.Valve] = s
	}
	var list []Placed
	for _, p := range f.Plan.Placements {
		seat := seats[p.Valve]
		one := Placed{Placement: p, In: seat.Size()}
		switch {
		case left[p.Valve]:
			one.Progress = ToDo
		case one.In == 0:
			one.Progress = Empty
		case one.In == p.Size || seat.Stamp == p.Size: // a micrometer may have read another size on it
			one.Progress = AsPlanned
		default:
			one.Progress = Otherwise
		}
		one.Lot, one.Known = PieceOf(f, p.Valve)
		list = append(list, one)
	}
	return list
}

// PieceOf is the piece that a valve of the plan gets or got.
func PieceOf(f inventory.File, v shim.Valve) (inventory.Lot, bool) {
	for _, p := range f.Picks {
		if p.Valve == v {
			return p.Lot, p.OnHand
		}
	}
	for _, m := range slices.Backward(f.Movements) {
		if m.Valve == v && m.Kind == inventory.KindFitted && m.Count < 0 {
			return m.Lot, true
		}
	}
	return inventory.Lot{}, false
}
