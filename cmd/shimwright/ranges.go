package main

import (
	"context"
	"slices"

	"shimwright/inventory"
	"shimwright/shim"
)

// rangesOf gives, for each diameter, the sizes that the catalogues of the
// shop's engines offer.
func rangesOf(ctx context.Context, shop *inventory.Shop) (map[shim.Length][]shim.Length, error) {
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

// stampsOf gives, for each diameter, the sizes marked on the shims in the box.
func stampsOf(ctx context.Context, shop *inventory.Shop) (map[shim.Length][]shim.Length, error) {
	lots, err := shop.Balances(ctx, inventory.StockFilter{})
	if err != nil {
		return nil, err
	}
	stamps := map[shim.Length][]shim.Length{}
	for _, l := range lots {
		if l.Stamp != 0 {
			stamps[l.Diameter] = append(stamps[l.Diameter], l.Stamp)
		}
	}
	return stamps, nil
}
