package work

import (
	"cmp"
	"context"
	"slices"

	"shimwright/inventory"
	"shimwright/shim"
)

// A DoubtKind says why pieces that come in look like a typing mistake.
type DoubtKind int

// Kinds of doubt.
const (
	NoSuchSize  DoubtKind = iota // in no catalogue of the family, and not in the box
	VeryMany                     // of one size
	ComesTwice                   // a fit booked the size in already, since nobody had
	UsedAsNew                    // booked as new, and the note says used
	NotOrdered                   // on order nowhere, and no job needs it
	NotFromHere                  // on order, if at all, from another supplier
	TooMany                      // more than are on order or needed
)

// A Doubt is what looks like a typing mistake in what is to be booked, and may
// be meant all the same: show it, and ask before it is booked.
type Doubt struct {
	Kind DoubtKind
	shim.Disc
	Count   int                // pieces that come in
	Open    int                // pieces that are on order or needed
	Nearest shim.Length        // the size of the catalogues that comes closest, of NoSuchSize
	Fitted  inventory.Movement // that booked it in, of ComesTwice
}

// many is how many pieces of one size are asked about: shops buy a size by the
// piece or by the ten (common practice).
const many = 100

// A Delivered is a number of pieces that arrived, with what is noted of them.
type Delivered struct {
	inventory.Item
	NotedUsed bool // the note says that they were in an engine
}

// DoubtsOfDelivery lists what looks like a typing mistake in pieces that arrived.
// Sizes were typed in the unit.
func DoubtsOfDelivery(ctx context.Context, shop *inventory.Shop, items []Delivered, u shim.Unit) ([]Doubt, error) {
	ranges, err := Ranges(ctx, shop)
	if err != nil {
		return nil, err
	}
	marks, err := Marks(ctx, shop)
	if err != nil {
		return nil, err
	}
	var list []Doubt
	came := map[shim.Disc]int{} // by the size that is marked
	for _, i := range items {
		size := i.Disc()
		offered := ranges[i.Family]
		known := func(l shim.Length) bool { return Same(i.Stamp, l, u) }
		marked := func(m shim.Marks) bool { return known(m.Stamp) }
		if i.Stamp != 0 && len(offered) > 0 && !slices.ContainsFunc(offered, known) && !slices.ContainsFunc(marks[i.Family], marked) {
			list = append(list, Doubt{Kind: NoSuchSize, Disc: i.Of(i.Stamp), Nearest: nearest(offered, i.Stamp)})
		}
		if i.Count > many {
			list = append(list, Doubt{Kind: VeryMany, Disc: size, Count: i.Count})
		}
		if !i.Used && i.Size() != 0 {
			mark := i.Of(cmp.Or(i.Stamp, i.Mic))
			w, err := shop.Awaited(ctx, mark)
			if err != nil {
				return nil, err
			}
			if came[mark] += i.Count; twice(w, came[mark]) {
				list = append(list, Doubt{Kind: ComesTwice, Disc: mark, Fitted: w.Fitted})
			}
		}
		if !i.Used && i.NotedUsed {
			list = append(list, Doubt{Kind: UsedAsNew, Disc: size})
		}
	}
	return list, nil
}

// Receive books pieces in. Jobs may wait for new ones; used ones are free.
func Receive(ctx context.Context, shop *inventory.Shop, items []inventory.Item) (inventory.Receipt, error) {
	if slices.ContainsFunc(items, func(i inventory.Item) bool { return !i.Used }) {
		return shop.Arrived(ctx, items)
	}
	return shop.Receive(ctx, items)
}

// nearest is the length of the list that comes closest.
func nearest(list []shim.Length, l shim.Length) shim.Length {
	return slices.MinFunc(list, func(x, y shim.Length) int { return cmp.Compare((x - l).Abs(), (y - l).Abs()) })
}

// twice reports whether a fit booked pieces in before anybody else did.
func twice(w inventory.Awaited, came int) bool { return came > w.Open && w.Fitted.Seq != 0 }
