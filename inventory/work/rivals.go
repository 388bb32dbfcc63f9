package work

import (
	"context"
	"slices"

	"shimwright/inventory"
	"shimwright/shim"
)

// A Rival is another piece than the one booked in a valve, that a micrometer's figure
// fits at least twice as well: it may be the one that lies there.
type Rival struct {
	Valve shim.Valve
	Mic   shim.Length
	Own   inventory.Lot // booked in the valve
	Lot   inventory.Lot // the other piece, of the box or booked in From
	From  shim.Valve    // zero where it is in the box
	Old   bool          // whether it has the size of the shim that came out of the valve
}

// Rivals lists the pieces that may lie in the valves in truth, where a micrometer's
// figure was given for the shim that is booked there: the nearest of the box and each
// of the engine. A figure that comes with the booked mark is of the booked piece.
// Reserved pieces count: they can be taken by mistake like any other.
func Rivals(ctx context.Context, shop *inventory.Shop, f inventory.File, lay []inventory.Lay) ([]Rival, error) {
	var list []Rival
	e := &f.Engine.Spec
	for _, l := range lay {
		at, known := e.Find(l.Valve)
		if !known || l.Mic == 0 || l.From != (shim.Valve{}) {
			continue
		}
		seat := f.Seats[at]
		if seat.SetUp || seat.Size() == 0 || seat.Stamp != 0 && l.Stamp == seat.Stamp {
			continue
		}
		r := Rival{Valve: seat.Valve, Mic: l.Mic, Own: inventory.Lot{Family: e.FamilyOf(seat.Valve), Marks: seat.Marks}}
		most := (l.Mic - seat.Size()).Abs()
		if seat.Stamp != 0 {
			most = min(most, (l.Mic - seat.Stamp).Abs())
		}
		fits := func(m shim.Marks) bool { return m.Size() != 0 && (l.Mic-m.Size()).Abs() < most/2 }
		box, err := shop.Balances(ctx, inventory.StockFilter{Disc: r.Own.Family.Of(0)})
		if err != nil {
			return nil, err
		}
		best := -1
		for i, lot := range box {
			if lot.Count > 0 && lot.Family == r.Own.Family && fits(lot.Marks) && (best < 0 || (l.Mic-lot.Size()).Abs() < (l.Mic-box[best].Size()).Abs()) {
				best = i
			}
		}
		if best >= 0 {
			r.Lot, r.Old = box[best].Lot, OldShim(f, seat.Valve).Size() == box[best].Size()
			list = append(list, r)
		}
		for _, s := range f.Seats {
			if s.Valve != seat.Valve && e.FamilyOf(s.Valve) == r.Own.Family && !s.Empty && !s.SetUp && fits(s.Marks) {
				r.Lot, r.From, r.Old = inventory.Lot{Family: r.Own.Family, Marks: s.Marks}, s.Valve, false
				list = append(list, r)
			}
		}
	}
	return list, nil
}

// OldShim is what came out of a valve by the record as another shim went in; zero
// where it kept its own.
func OldShim(f inventory.File, v shim.Valve) shim.Marks {
	for _, m := range f.Standing {
		if m.Valve == v && m.Kind == inventory.KindPulled {
			for _, s := range f.Seats {
				if s.Valve == v && s.Size() == m.Size() {
					return shim.Marks{}
				}
			}
			return m.Marks
		}
	}
	return shim.Marks{}
}

// NotRead lists the valves that a shim went into and that were not measured since.
func NotRead(f inventory.File) []shim.Valve {
	read := map[shim.Valve]bool{}
	for _, m := range Since(f, 0) {
		read[m.Valve] = read[m.Valve] || m.Reading.Kind != shim.Unread
	}
	var list []shim.Valve
	for _, s := range f.Seats {
		if !read[s.Valve] && WasFitted(f, s.Valve) {
			list = append(list, s.Valve)
		}
	}
	return list
}

// WasFitted reports whether a shim went into the valve in this job.
func WasFitted(f inventory.File, v shim.Valve) bool {
	return slices.ContainsFunc(f.Standing, func(m inventory.Movement) bool { return m.Valve == v && m.Kind == inventory.KindFitted })
}
