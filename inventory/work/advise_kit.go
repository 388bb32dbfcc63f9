package work

import (
	"context"

	"shimwright/inventory"
	"shimwright/shim"
	"shimwright/shim/stock"
)

// A KitWorth is what an assortment is worth to the box.
type KitWorth struct {
	*Shelf
	stock.Kit
	Now, With Point // the box as it is, and with the kit
}

// WorthKit finds what a kit is worth to the box.
func WorthKit(ctx context.Context, shop *inventory.Shop, q Advising, kit []stock.Pieces) (*KitWorth, error) {
	s, err := GatherShelf(ctx, shop, q)
	if err != nil {
		return nil, err
	}
	if s.Few() {
		return nil, shim.Fail(inventory.ErrInvalid, "", "the shop has %s with readings: below %d they do not tell what a kit is worth", shim.Count(len(s.Records), "job"), stock.Few)
	}
	w := &KitWorth{Shelf: s}
	r := s.request(q)
	if w.Kit, err = stock.Worth(ctx, r, kit); err != nil {
		return nil, err
	}
	other := s.Drawing
	other.Stream = 1
	unseen := stock.Draw(s.Records, s.Offers, other)
	if w.Now.Replayed, err = stock.Replay(ctx, unseen, s.Period, s.Box); err != nil {
		return nil, err
	}
	w.With.Pieces = stock.Count(kit)
	w.With.Replayed, err = stock.Replay(ctx, unseen, s.Period, stock.Sum(s.Box, kit))
	return w, err
}

// SpreadPrice spreads what a kit cost over its pieces, to the cent where the price is
// one of whole cents: the first pieces cost a cent more than the others if it does not
// come out even. The prices add up to what was paid.
func SpreadPrice(items []inventory.Item, paid shim.Price) []inventory.Item {
	pieces := shim.Price(0)
	for _, i := range items {
		pieces += shim.Price(i.Count)
	}
	if pieces == 0 {
		return items
	}
	unit := shim.Price(100) // a cent
	if paid%unit != 0 {
		unit = 1
	}
	each, more := paid/unit/pieces, int(paid/unit%pieces)
	var list []inventory.Item
	for _, i := range items {
		dear := min(i.Count, more)
		more -= dear
		for _, part := range []struct {
			count int
			price shim.Price
		}{{dear, (each + 1) * unit}, {i.Count - dear, each * unit}} {
			if part.count > 0 {
				of := i
				of.Count, of.Quote = part.count, shim.Quote{Price: part.price, Priced: true}
				list = append(list, of)
			}
		}
	}
	return list
}
