package work

import (
	"context"
	"slices"

	"shimwright/inventory"
	"shimwright/shim"
	"shimwright/shim/stock"
)

// KeepLevels keeps the advice as levels of its families.
func KeepLevels(ctx context.Context, shop *inventory.Shop, a *Advice) (inventory.Levels, error) {
	l := inventory.Levels{Seed: a.Drawing.Seed, Period: a.Period, Families: a.Families}
	for _, p := range a.Levels {
		l.Levels = append(l.Levels, inventory.Level{Disc: p.Disc, Count: p.Count})
	}
	return shop.KeepLevels(ctx, l)
}

// DropLevels drops the levels of the families that are meant, and says how many sizes
// had one.
func DropLevels(ctx context.Context, shop *inventory.Shop, wanted func(shim.Family) bool) (sizes int, err error) {
	levels, err := shop.Levels(ctx)
	if err != nil {
		return 0, err
	}
	none := inventory.Levels{Period: 1}
	for _, set := range levels {
		for _, l := range set.Levels {
			if !wanted(l.Family) {
				continue
			}
			sizes++
			if !slices.Contains(none.Families, l.Family) {
				none.Families = append(none.Families, l.Family)
			}
		}
	}
	if sizes == 0 {
		return 0, nil
	}
	_, err = shop.KeepLevels(ctx, none)
	return sizes, err
}

// A Low is a size of which the box holds less than its level.
type Low struct {
	inventory.Level
	Has int // free, and on order for the shop
}

// lowOf lists the sizes below their levels.
func lowOf(set inventory.Levels, box []stock.Pieces) (list []Low) {
	has := map[shim.Disc]int{}
	for _, p := range box {
		has[p.Disc] += p.Count
	}
	for _, l := range set.Levels {
		if has[l.Disc] < l.Count {
			list = append(list, Low{l, has[l.Disc]})
		}
	}
	return list
}

// A Reordering is what the levels ask for.
type Reordering struct {
	Families []shim.Family
	Levels   []inventory.Level
	Low      []Low          // the sizes that are below their levels
	Next     []stock.Pieces // to order
}

// Reorder says which sizes of the wanted families are below their levels, and what to
// order next: as many pieces as are missing, chosen anew for the box as it is now, since
// sizes stand in for one another. Pieces that would save next to nothing are left
// out. It is nil where there are no levels. Offers are as in [Advising].
func Reorder(ctx context.Context, shop *inventory.Shop, offers []shim.Offer, wanted func(shim.Family) bool, progress func(done, of int)) (*Reordering, error) {
	all, err := shop.Levels(ctx)
	if err != nil {
		return nil, err
	}
	r := &Reordering{}
	for _, set := range all {
		set.Families = slices.DeleteFunc(set.Families, func(f shim.Family) bool { return !wanted(f) })
		set.Levels = slices.DeleteFunc(set.Levels, func(l inventory.Level) bool { return !wanted(l.Family) })
		if len(set.Levels) == 0 {
			continue
		}
		r.Families, r.Levels = append(r.Families, set.Families...), append(r.Levels, set.Levels...)
		q := Advising{Rhythm: Rhythm{Jobs: set.Period}, Seed: set.Seed, Offers: offers, Progress: progress,
			Wanted: func(f shim.Family) bool { return slices.Contains(set.Families, f) }}
		low, next, err := reorder(ctx, shop, q, set)
		if err != nil {
			return nil, err
		}
		r.Low, r.Next = append(r.Low, low...), append(r.Next, next...)
	}
	if len(r.Levels) == 0 {
		return nil, nil
	}
	slices.SortFunc(r.Low, func(x, y Low) int { return x.Disc.Compare(y.Disc) })
	slices.SortFunc(r.Families, shim.Family.Compare)
	r.Next = stock.Sum(r.Next)
	return r, nil
}

// reorder is [Reorder] for one set of levels.
func reorder(ctx context.Context, shop *inventory.Shop, q Advising, set inventory.Levels) (low []Low, next []stock.Pieces, err error) {
	s := &Shelf{}
	if err := s.box(ctx, shop, q.Wanted); err != nil {
		return nil, nil, err
	}
	if low = lowOf(set, s.Box); len(low) == 0 {
		return nil, nil, nil
	}
	for _, l := range low {
		q.Pieces += l.Count - l.Has
	}
	if s, err = GatherShelf(ctx, shop, q); err != nil {
		return nil, nil, err
	}
	a := s.spread(q, q.Pieces)
	if !s.Few() {
		r := s.request(q)
		r.Least = leastSaved
		if a, err = stock.Advise(ctx, r); err != nil {
			return nil, nil, err
		}
	}
	return low, a.Added(len(a.Steps)), nil
}

// leastSaved is how many purchases a period a piece has to save to be ordered again.
// In a trial of 24 months that cost one job in a hundred done at once, and a tenth
// fewer pieces.
const leastSaved = 0.05
