package work

import (
	"context"
	"fmt"
	"slices"

	"shimwright/inventory"
	"shimwright/shim"
)

// Same reports whether a typed length means the other one: they read the same in
// the unit, since no decimal of an inch is exactly 2.4 mm. 0 means any. What
// is exact in inches and no whole number of micrometres was typed in inches.
func Same(typed, l shim.Length, u shim.Unit) bool {
	if typed%shim.Micrometre != 0 && typed%(5*shim.Inch/1_000_000) == 0 {
		u = shim.IN
	}
	return typed == 0 || typed == l || u.Format(typed) == u.Format(l)
}

// Families lists the families of the shims in the box and in the models that the
// shop knows.
func Families(ctx context.Context, shop *inventory.Shop) ([]shim.Family, error) {
	list, err := shop.Families(ctx)
	if err != nil {
		return nil, err
	}
	engines, err := shop.Engines(ctx, inventory.Page{})
	if err != nil {
		return nil, err
	}
	for _, e := range engines {
		list = append(list, e.Spec.Families()...)
	}
	slices.SortFunc(list, shim.Family.Compare)
	return slices.Compact(list), nil
}

// Ranges gives, for each family, the sizes that the catalogues of the models
// offer which the shop knows.
func Ranges(ctx context.Context, shop *inventory.Shop) (map[shim.Family][]shim.Length, error) {
	engines, err := shop.Engines(ctx, inventory.Page{})
	if err != nil {
		return nil, err
	}
	ranges := map[shim.Family][]shim.Length{}
	for _, e := range engines {
		for _, o := range e.Spec.Offers() {
			ranges[o.Family] = append(ranges[o.Family], o.Size)
		}
	}
	for f, sizes := range ranges {
		slices.Sort(sizes)
		ranges[f] = slices.Compact(sizes)
	}
	return ranges, nil
}

// Marks gives, for each family, what is marked and measured on the shims in the
// box that have a mark.
func Marks(ctx context.Context, shop *inventory.Shop) (map[shim.Family][]shim.Marks, error) {
	lots, err := shop.Balances(ctx, inventory.StockFilter{})
	if err != nil {
		return nil, err
	}
	marks := map[shim.Family][]shim.Marks{}
	for _, l := range lots {
		if l.Stamp != 0 {
			marks[l.Family] = append(marks[l.Family], l.Marks)
		}
	}
	return marks, nil
}

// MarkBook is what is written on the shims of the models that the shop keeps, by
// the versions of each that are in use.
func MarkBook(ctx context.Context, shop *inventory.Shop) (*shim.MarkBook, error) {
	return markBook(ctx, shop, func(inventory.Engine) bool { return true })
}

// MarksOf is the [MarkBook] of one model.
func MarksOf(ctx context.Context, shop *inventory.Shop, model string) (*shim.MarkBook, error) {
	return markBook(ctx, shop, func(e inventory.Engine) bool { return inventory.SameModel(e.Spec.Name, model) })
}

// markBook is of the newest version of each model, and of older ones by which an
// open job goes or which mark a size that is in the box.
func markBook(ctx context.Context, shop *inventory.Shop, of func(inventory.Engine) bool) (*shim.MarkBook, error) {
	kept, err := shop.Engines(ctx, inventory.Page{})
	if err != nil {
		return nil, err
	}
	if !slices.ContainsFunc(kept, func(e inventory.Engine) bool { return of(e) && e.Spec.Marked() }) {
		return nil, nil
	}
	stocks, err := shop.Stocks(ctx, inventory.StockFilter{})
	if err != nil {
		return nil, err
	}
	jobs, err := shop.Jobs(ctx, inventory.JobFilter{})
	if err != nil {
		return nil, err
	}
	var had []shim.Disc
	for _, s := range stocks {
		had = append(had, s.Disc)
	}
	places := Editions(kept)
	var engines, earlier []*shim.Engine
	for i := range kept {
		e, place := &kept[i], places[kept[i].ID]
		works := func(j inventory.Job) bool { return j.Engine == e.ID && !j.State.Final() }
		held := func(s inventory.Stock) bool { return s.OnHand > 0 && e.Spec.Mark(s.Disc) != "" }
		switch {
		case !of(*e):
		case !place.Older():
			engines = append(engines, &e.Spec)
		case slices.ContainsFunc(jobs, works) || slices.ContainsFunc(stocks, held):
			older := e.Spec
			older.Name += fmt.Sprintf(" (version %d of %d)", place.Number, place.Of)
			earlier = append(earlier, &older)
		}
	}
	book := shim.NewMarkBook(engines, had...)
	for _, e := range earlier {
		book.AddOlder(e)
	}
	return book, nil
}
