package inventory_test

import (
	"context"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"shimwright/inventory"
	"shimwright/inventory/memory"
	"shimwright/shim"
	"shimwright/shim/files"
)

func offerAt(um shim.Length, cents shim.Price, part string) shim.Offer {
	return shim.Offer{Disc: shim.Family{Diameter: 8900 * shim.Micrometre}.Of(um * shim.Micrometre), Quote: shim.Quote{Price: cents * 100, Priced: cents > 0}, Part: part}
}

// Suppliers and their lists come back as they were kept; lists count by their day.
func TestSuppliers(t *testing.T) {
	ctx := context.Background()
	shop := inventory.New(memory.New(), "R. Example", time.Now)
	aspen := inventory.Supplier{Name: " Aspen Road ", Carriage: shim.Quote{Priced: true}, Least: 250_000, Pack: 5, Form: files.Form{Columns: []files.Named{{There: "Dicke", Here: "size"}}, Decimal: "comma", Units: shim.IN}, Family: shim.Family{Kind: "closer", Diameter: 7_000_000}}
	kept, err := shop.PutSupplier(ctx, aspen)
	require.NoError(t, err)
	aspen.Name, aspen.ID = "Aspen Road", 1
	assert.Equal(t, aspen, kept)
	for _, bad := range []inventory.Supplier{{Name: "aspenroad"}, {Name: " "}, {Name: "B", Pack: -1}, {Name: "B", Least: -1}, {Name: "B", Form: files.Form{Columns: []files.Named{{There: "a", Here: "thick"}}}}} {
		_, err = shop.PutSupplier(ctx, bad)
		require.Error(t, err, bad)
	}
	list, err := shop.Suppliers(ctx)
	require.NoError(t, err)
	assert.Equal(t, []inventory.Supplier{aspen}, list)

	day := func(d int) time.Time { return time.Date(2026, 1, d, 0, 0, 0, 0, time.UTC) }
	for i, d := range []int{10, 5, 10, 20} {
		l, err := shop.KeepPrices(ctx, inventory.PriceList{Supplier: 1, Day: day(d), Source: "list.csv", Offers: []shim.Offer{offerAt(2450, shim.Price(700+i), "A"), offerAt(2425, 0, "")}})
		require.NoError(t, err)
		assert.EqualValues(t, i+1, l.ID)
		assert.Equal(t, 2425*shim.Micrometre, l.Offers[0].Size, "sorted by size")
	}
	for _, bad := range []inventory.PriceList{{Supplier: 1, Day: day(1)}, {Supplier: 2, Day: day(1), Offers: []shim.Offer{offerAt(2450, 1, "")}}, {Supplier: 1, Offers: []shim.Offer{offerAt(2450, 1, "")}}, {Supplier: 1, Day: day(1), Offers: []shim.Offer{offerAt(0, 1, "")}}} {
		_, err = shop.KeepPrices(ctx, bad)
		require.Error(t, err, bad)
	}
	lists, err := shop.PriceLists(ctx, 1)
	require.NoError(t, err)
	ids := func(lists []inventory.PriceList) (list []int64) {
		for _, l := range lists {
			list = append(list, l.ID)
		}
		return list
	}
	assert.Equal(t, []int64{2, 1, 3, 4}, ids(lists))
	assert.Equal(t, []int64{2, 3, 4}, ids(inventory.PricesThatCount(lists)))
	assert.Nil(t, inventory.PricesOn(lists, day(4)))
	assert.EqualValues(t, 2, inventory.PricesOn(lists, day(9)).ID)
	assert.EqualValues(t, 3, inventory.PricesOn(lists, day(19)).ID)
	assert.EqualValues(t, 4, inventory.PricesOn(lists, day(20)).ID)
	found, err := shop.Check(ctx)
	require.NoError(t, err)
	assert.Empty(t, found)
}

func TestPriceChanges(t *testing.T) {
	stock := func(o shim.Offer, n int) shim.Offer { o.Stock, o.Limited = n, true; return o }
	was := []shim.Offer{offerAt(2400, 700, "A"), offerAt(2425, 700, "B"), offerAt(2450, 700, "C"), offerAt(2475, 0, "D"), offerAt(2500, 700, "E"), stock(offerAt(2525, 700, "F"), 3), offerAt(2550, 700, "G"), offerAt(2600, 700, "one"), offerAt(2600, 600, "pack"), offerAt(2650, 700, "H")}
	is := []shim.Offer{offerAt(2400, 800, "A"), offerAt(2425, 600, "B"), offerAt(2450, 700, "C"), offerAt(2475, 700, "D"), offerAt(2500, 0, "E"), stock(offerAt(2525, 700, "F"), 0), offerAt(2550, 700, "G2"), offerAt(2600, 650, "pack"), offerAt(2600, 700, "single"), offerAt(2625, 700, "I")}
	var kinds []string
	for _, c := range inventory.PriceChanges(was, is) {
		kinds = append(kinds, c.Was.Part+">"+c.Is.Part+" "+c.Kind)
	}
	assert.Equal(t, []string{"A>A dearer", "B>B cheaper", "D>D price known", "E>E price not known", "F>F stock", "G>G2 part number", "one> gone", "pack>pack dearer", ">single new", ">I new", "H> gone"}, kinds)
	assert.Empty(t, inventory.PriceChanges(is, is))
}
