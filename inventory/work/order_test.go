package work

import (
	"context"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"shimwright/inventory"
	"shimwright/inventory/memory"
	"shimwright/inventory/sample"
	"shimwright/shim"
)

func demand(t *testing.T, diameter, size, supplier string, missing, coming int) inventory.Demand {
	return inventory.Demand{Disc: shim.Disc{Family: shim.Family{Diameter: mm(t, diameter)}, Size: mm(t, size)}, Terms: inventory.Terms{Supplier: supplier}, Missing: missing, Coming: coming}
}

func inch(t *testing.T, text string) shim.Length {
	t.Helper()
	l, err := shim.IN.Parse(text)
	require.NoError(t, err)
	require.NotEqual(t, mm(t, "2.4"), l, "no decimal of an inch is exactly 2.4 mm")
	return l
}

func TestOrderOfSupplier(t *testing.T) {
	list := []inventory.Demand{demand(t, "8.9", "2.4", "Willow Road", 1, 0), demand(t, "8.9", "2.4", "", 2, 0), demand(t, "8.9", "2.5", "Hill & Sons", 1, 0)}
	own, _ := Order{Step: Place}.Of(list)
	assert.Equal(t, list, own, "nobody is named")
	own, _ = Order{Step: Place, Supplier: "willow  road", Named: true}.Of(list)
	assert.Equal(t, list[:1], own)
	own, _ = Order{Step: Place, Named: true}.Of(list)
	assert.Equal(t, list[1:2], own, "the supplier without a name")
	own, others := Order{Step: Place, Supplier: "Mill Lane", Named: true}.Of(list)
	assert.Empty(t, own)
	assert.Equal(t, []string{"Willow Road", "Hill & Sons"}, others)
}

func TestOrderAll(t *testing.T) {
	list := []inventory.Demand{demand(t, "8.9", "2.4", "Willow Road", 1, 3), demand(t, "8.9", "2.5", "", 2, 0)}
	counts := func(step OrderStep) (n []int) {
		for _, l := range (Order{Step: step}).All(list) {
			n = append(n, l.Count)
		}
		return n
	}
	assert.Equal(t, []int{1, 2}, counts(Place))
	assert.Equal(t, []int{3}, counts(Arrive), "what was not ordered does not come unless it is named")
	assert.Equal(t, []int{3}, counts(Withdraw))
	assert.True(t, Order{Step: Place}.All(list)[1].NoName, "pieces without a supplier are not another's")
}

func TestOrderLine(t *testing.T) {
	list := []inventory.Demand{demand(t, "8.9", "2.4", "", 1, 0), demand(t, "9.5", "2.5", "", 1, 0), demand(t, "8.9", "2.5", "", 1, 0)}
	for _, c := range []struct {
		name           string
		unit           shim.Unit
		typed          shim.Disc
		diameter, size string
		known          bool
	}{
		{"the only diameter of the size", shim.MM, shim.Disc{Size: mm(t, "2.4")}, "8.9", "2.4", true},
		{"of two diameters", shim.MM, shim.Disc{Size: mm(t, "2.5")}, "0", "2.5", false},
		{"of the one that is typed", shim.MM, shim.Disc{Family: shim.Family{Diameter: mm(t, "9.5")}, Size: mm(t, "2.5")}, "9.5", "2.5", true},
		{"not on the list", shim.MM, shim.Disc{Family: shim.Family{Diameter: mm(t, "9.5")}, Size: mm(t, "2.4")}, "9.5", "2.4", false},
		{"what 2.4 mm reads in inches", shim.IN, shim.Disc{Size: inch(t, shim.IN.Format(mm(t, "2.4")))}, "8.9", "2.4", true},
	} {
		line, known := Order{Unit: c.unit}.Line(list, c.typed, 2)
		assert.Equal(t, c.known, known, c.name)
		assert.Equal(t, shim.Disc{Family: shim.Family{Diameter: mm(t, c.diameter)}, Size: mm(t, c.size)}, line.Disc, c.name)
		assert.Equal(t, 2, line.Count, c.name)
	}
}

func TestOrderUnclear(t *testing.T) {
	list := []inventory.Demand{demand(t, "8.9", "2.4", "Willow Road", 0, 2), demand(t, "8.9", "2.4", "", 1, 1)}
	line := func(n int, supplier string) []inventory.OrderLine {
		return []inventory.OrderLine{{Disc: list[0].Disc, Count: n, Terms: inventory.Terms{Supplier: supplier}}}
	}
	shop := inventory.New(memory.New(), "R. Example", time.Now)
	unclear := func(step OrderStep, lines []inventory.OrderLine) (shim.Length, []string) {
		size, names, err := Order{Step: step}.Unclear(context.Background(), shop, list, lines)
		require.NoError(t, err)
		return size, names
	}
	size, names := unclear(Withdraw, line(2, ""))
	assert.Equal(t, mm(t, "2.4"), size)
	assert.Equal(t, []string{"Willow Road", ""}, names)
	for why, lines := range map[string][]inventory.OrderLine{"all of it": line(3, ""), "one's own": line(2, "Willow Road")} {
		_, names = unclear(Withdraw, lines)
		assert.Empty(t, names, why)
	}
	_, names = unclear(Place, line(1, ""))
	assert.Empty(t, names, "one supplier alone has some to order")
}

func TestOrderDoubts(t *testing.T) {
	ctx := context.Background()
	shop := inventory.New(memory.New(), "R. Example", time.Now)
	on := func(size string, n int) []inventory.OrderLine {
		return []inventory.OrderLine{{Disc: shim.Disc{Family: shim.Family{Diameter: mm(t, "8.9")}, Size: mm(t, size)}, Count: n}}
	}
	kinds := func(o Order, list []inventory.Demand, lines []inventory.OrderLine) (kinds []DoubtKind) {
		found, err := o.Doubts(ctx, shop, list, lines)
		require.NoError(t, err)
		for _, d := range found {
			kinds = append(kinds, d.Kind)
		}
		return kinds
	}
	o := Order{Step: Arrive}
	assert.Equal(t, []DoubtKind{NotOrdered}, kinds(o, nil, on("2.4", 1)))
	o.Supplier, o.Named = "Willow Road", true
	assert.Equal(t, []DoubtKind{NotFromHere}, kinds(o, nil, on("2.4", 1)))
	list := []inventory.Demand{demand(t, "8.9", "2.4", "Willow Road", 1, 1)}
	assert.Empty(t, kinds(o, list, on("2.4", 2)))
	assert.Equal(t, []DoubtKind{TooMany}, kinds(o, list, append(on("2.4", 2), on("2.4", 1)...)), "rows of one size count together")
}

func TestDoubtsOfDelivery(t *testing.T) {
	ctx := context.Background()
	shop := inventory.New(memory.New(), "R. Example", time.Now)
	spec := sample.Sandpiper()
	_, err := shop.OpenJob(ctx, inventory.Opening{Spec: spec, Source: "invented"})
	require.NoError(t, err)
	offered := spec.Catalogue[0].Sizes()
	for _, c := range []struct {
		name  string
		piece Delivered
		kinds []DoubtKind
	}{
		{"as a catalogue has it", Delivered{Item: inventory.Item{Lot: inventory.Lot{Marks: shim.Marks{Stamp: offered[0]}}, Count: 100}}, nil},
		{"very many", Delivered{Item: inventory.Item{Lot: inventory.Lot{Marks: shim.Marks{Stamp: offered[0]}}, Count: 101}}, []DoubtKind{VeryMany}},
		{"in no catalogue", Delivered{Item: inventory.Item{Lot: inventory.Lot{Marks: shim.Marks{Stamp: offered[0] + shim.Micrometre}}, Count: 1}}, []DoubtKind{NoSuchSize}},
		{"no stamp to be read", Delivered{Item: inventory.Item{Lot: inventory.Lot{Marks: shim.Marks{Mic: offered[0] + shim.Micrometre}}, Count: 1}}, nil},
		{"used", Delivered{Item: inventory.Item{Lot: inventory.Lot{Marks: shim.Marks{Stamp: offered[0]}}, Count: 1}, NotedUsed: true}, []DoubtKind{UsedAsNew}},
		{"booked as used", Delivered{Item: inventory.Item{Lot: inventory.Lot{Marks: shim.Marks{Stamp: offered[0]}, Used: true}, Count: 1}, NotedUsed: true}, nil},
	} {
		c.piece.Diameter = spec.Diameter
		found, err := DoubtsOfDelivery(ctx, shop, []Delivered{c.piece}, shim.MM)
		require.NoError(t, err)
		var kinds []DoubtKind
		for _, d := range found {
			kinds = append(kinds, d.Kind)
			if d.Kind == NoSuchSize {
				assert.Equal(t, offered[0], d.Nearest)
			}
		}
		assert.Equal(t, c.kinds, kinds, c.name)
	}
}
