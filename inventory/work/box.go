package work

import (
	"context"
	"slices"

	"shimwright/inventory"
	"shimwright/shim"
)

// Same reports whether a typed length means the other one: they read the same in
// the unit, since no decimal of an inch is exactly 2.4 mm. 0 means any.
func Same(typed, l shim.Length, u shim.Unit) bool {
	return typed == 0 || typed == l || u.Format(typed) == u.Format(l)
}

// Diameters lists the diameters of the shims in the box and in the models that
// the shop knows.
func Diameters(ctx context.Context, shop *inventory.Shop) ([]shim.Length, error) {
	list, err := shop.Diameters(ctx)
	if err != nil {
		return nil, err
	}
	engines, err := shop.Engines(ctx, inventory.Page{})
	if err != nil {
		return nil, err
	}
	for _, e := range engines {
		list = append(list, e.Spec.Diameter)
	}
	slices.Sort(list)
	return slices.Compact(list), nil
}

// Ranges gives, for each diameter, the sizes that the catalogues of the models
// offer which the shop knows.
func Ranges(ctx context.Context, shop *inventory.Shop) (map[shim.Length][]shim.Length, error) {
	engines, err := shop.Engines(ctx, inventory.Page{})
	if err != nil {
		return nil, err
	}
	ranges := map[shim.Length][]shim.Length{}
	for _, e := range engines {
		for _, r := range e.Spec.Catalogue {
			ranges[e.Spec.Diameter] = append(ranges[e.Spec.Diameter], r.Sizes()...)
		}
	}
	for d, sizes := range ranges {
		slices.Sort(sizes)
		ranges[d] = slices.Compact(sizes)
	}
	return ranges, nil
}

// Marks gives, for each diameter, what is marked and measured on the shims in the
// box that have a mark.
func Marks(ctx context.Context, shop *inventory.Shop) (map[shim.Length][]shim.Marks, error) {
	lots, err := shop.Balances(ctx, inventory.StockFilter{})
	if err != nil {
		return nil, err
	}
	marks := map[shim.Length][]shim.Marks{}
	for _, l := range lots {
		if l.Stamp != 0 {
			marks[l.Diameter] = append(marks[l.Diameter], l.Marks)
		}
	}
	return marks, nil
}
