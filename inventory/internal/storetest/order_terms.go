package storetest

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"shimwright/inventory"
	"shimwright/shim"
)

func priced(valve, size, supplier string, price shim.Price) inventory.Placement {
	p := bought(valve, size)
	p.Terms = inventory.Terms{Supplier: supplier, Part: supplier + "-" + size, Quote: shim.Quote{Price: price, Priced: true}}
	return p
}

func orderSuppliers(t *testing.T, s inventory.Store) {
	b := newBench(t, s)
	job := b.measured(nil)
	require.NoError(t, b.plan(job, priced("in1a", "2.5", "North", 78000), priced("in1b", "2.5", "South", 90000)))
	list := b.shopping()
	require.Len(t, list, 2)
	assert.Equal(t, "North-2.5", list[0].Part)
	assert.Equal(t, []shim.Price{78000, 90000}, []shim.Price{list[0].Price, list[1].Price})
	placed, err := b.Order(ctx, []inventory.OrderLine{{Disc: shim.Disc{Family: shim.Family{Diameter: mm("8.9")}, Size: mm("2.5")}, Count: 1, Terms: inventory.Terms{Supplier: "south"}}})
	require.NoError(t, err)
	require.Len(t, placed, 1)
	assert.Equal(t, "South", placed[0].Supplier)
	item := fresh("2.5", 1)
	item.Priced, item.Price = false, 0
	item.Supplier = "South"
	r, err := b.Arrived(ctx, []inventory.Item{item})
	require.NoError(t, err)
	assert.Equal(t, shim.Price(90000), r.Movements[0].Price, "at the price of its order")
	f := b.file(job)
	require.Len(t, f.Purchases, 2)
	assert.Equal(t, []int{1, 1}, []int{f.Purchases[0].Missing(), f.Purchases[1].Arrived})
	b.sound()
}

func orderSpellings(t *testing.T, s inventory.Store) {
	b := newBench(t, s)
	job := b.measured(nil)
	require.NoError(t, b.plan(job, priced("in1a", "2.5", "North Road", 78000), priced("in1b", "2.5", "NORTH  road", 90000)))
	for _, d := range b.shopping() {
		assert.Equal(t, b.shopping()[0].Supplier, d.Supplier, "one supplier")
	}
	placed, err := b.Order(ctx, []inventory.OrderLine{{Disc: shim.Disc{Family: shim.Family{Diameter: mm("8.9")}, Size: mm("2.5")}, Count: 2, Terms: inventory.Terms{Supplier: " northroad"}}})
	require.NoError(t, err)
	assert.Len(t, placed, 2)
	b.sound()
}

// orderNoName takes the pieces of no named supplier alone, on trial and in earnest.
func orderNoName(t *testing.T, s inventory.Store) {
	b := newBench(t, s)
	job := b.measured(nil)
	require.NoError(t, b.plan(job, priced("in1a", "2.5", "North", 78000), bought("in1b", "2.5")))
	line := []inventory.OrderLine{{Disc: shim.Disc{Family: shim.Family{Diameter: mm("8.9")}, Size: mm("2.5")}, Count: 1, NoName: true}}
	before := b.shopping()
	placed, err := b.Trial().Order(ctx, line)
	require.NoError(t, err)
	require.Len(t, placed, 1)
	assert.Empty(t, placed[0].Supplier)
	assert.Equal(t, before, b.shopping(), "a trial keeps nothing")
	placed, err = b.Order(ctx, line)
	require.NoError(t, err)
	assert.Empty(t, placed[0].Supplier)
	_, err = b.Order(ctx, line)
	require.ErrorIs(t, err, inventory.ErrInvalid, "North's is not meant")
	_, err = b.Order(ctx, nil)
	require.NoError(t, err)
	item := fresh("2.5", 1)
	item.Priced, item.Price, item.NoName = false, 0, true
	r, err := b.Trial().Arrived(ctx, []inventory.Item{item})
	require.NoError(t, err)
	assert.Len(t, r.Movements, 1)
	rows, err := b.History(ctx, inventory.MovementFilter{})
	require.NoError(t, err)
	assert.Empty(t, rows)
	r, err = b.Arrived(ctx, []inventory.Item{item})
	require.NoError(t, err)
	require.Len(t, r.Came, 1)
	assert.True(t, r.Came[0].NoName)
	for _, d := range b.shopping() {
		assert.Equal(t, "North", d.Supplier)
	}
	b.sound()
}

func orderPrice(t *testing.T, s inventory.Store) {
	b := newBench(t, s)
	job := b.measured(nil)
	require.NoError(t, b.plan(job, priced("in1a", "2.5", "North", 78000), priced("in1b", "2.5", "North", 78000)))
	_, err := b.Order(ctx, nil)
	require.NoError(t, err)
	item := fresh("2.5", 1)
	item.Price = 82000
	lines := func() (list []inventory.Purchase) {
		f := b.file(job)
		return f.Purchases
	}
	before := lines()
	r, err := b.Arrived(ctx, []inventory.Item{item})
	require.NoError(t, err)
	after := lines()
	require.Len(t, after, 2)
	assert.Equal(t, []shim.Price{78000, 82000}, []shim.Price{after[0].Price, after[1].Price})
	assert.Equal(t, []int{0, 1}, []int{after[0].Arrived, after[1].Arrived})
	assert.Equal(t, []int{1, 1}, []int{after[0].Needed, after[1].Needed})
	back, err := b.Undo(ctx, r.Batch, "")
	require.NoError(t, err)
	assert.Equal(t, before, lines(), "on order at the old price again")
	_, err = b.Undo(ctx, back.Batch, "")
	require.NoError(t, err)
	assert.Equal(t, after, lines())
	b.sound()
}

// toOrder is how many pieces of each supplier are to be ordered.
func (b *bench) toOrder() map[string]int {
	list := map[string]int{}
	for _, d := range b.shopping() {
		if d.Missing > 0 {
			list[d.Supplier] += d.Missing
		}
	}
	return list
}

// orderTerms: what the shop has on order serves the piece that was planned by it,
// and the others are bought as the plan says.
func orderTerms(t *testing.T, s inventory.Store) {
	b := newBench(t, s)
	first, second := b.measured(nil), b.measured(nil)
	require.NoError(t, b.plan(first, priced("in1a", "2.5", "Alder", 50000)))
	_, err := b.Order(ctx, nil)
	require.NoError(t, err)
	_, err = b.Cancel(ctx, first, "")
	require.NoError(t, err)
	require.NoError(t, b.plan(second, priced("in1a", "2.5", "Alder", 50000), priced("in1b", "2.5", "Birch", 60000)))
	assert.Equal(t, map[string]int{"Birch": 1}, b.toOrder())
	_, err = b.Order(ctx, nil)
	require.NoError(t, err)
	_, err = b.Withdraw(ctx, []inventory.OrderLine{{Disc: shim.Disc{Family: shim.Family{Diameter: mm("8.9")}, Size: mm("2.5")}, Count: 1, Terms: inventory.Terms{Supplier: "Birch"}}})
	require.NoError(t, err)
	assert.Equal(t, map[string]int{"Birch": 1}, b.toOrder(), "what was taken off order is to be ordered on the same terms")
	b.sound()
}

// orderTermsPaid: a piece that came at another price is the one that was planned.
func orderTermsPaid(t *testing.T, s inventory.Store) {
	b := newBench(t, s)
	job := b.measured(nil)
	require.NoError(t, b.plan(job, priced("in1a", "2.5", "Alder", 50000), priced("in1b", "2.5", "Birch", 60000)))
	item := fresh("2.5", 1)
	item.Price, item.Supplier = 55000, "Alder"
	_, err := b.Arrived(ctx, []inventory.Item{item})
	require.NoError(t, err)
	assert.Equal(t, map[string]int{"Birch": 1}, b.toOrder())
	b.sound()
}

// orderTermsFitted: a piece may go into another valve than the one that it was
// planned for; what is left to buy stays.
func orderTermsFitted(t *testing.T, s inventory.Store) {
	b := newBench(t, s)
	job := b.measured(nil)
	require.NoError(t, b.plan(job, priced("in1a", "2.5", "Alder", 50000), priced("in1b", "2.5", "Birch", 60000)))
	item := fresh("2.5", 1)
	item.Price, item.Supplier = 50000, "Alder"
	_, err := b.Arrived(ctx, []inventory.Item{item})
	require.NoError(t, err)
	_, err = b.Fit(ctx, job, inventory.Fit{Valves: []shim.Valve{v("in1b")}})
	require.NoError(t, err)
	assert.Equal(t, map[string]int{"Birch": 1}, b.toOrder())
	b.sound()
}

// orderTermsHanded: of jobs planned together one may be planned by what another
// lets go; what it buys beside that stays as it is.
func orderTermsHanded(t *testing.T, s inventory.Store) {
	b := newBench(t, s)
	first, second := b.measured(nil), b.measured(nil)
	require.NoError(t, b.plan(second, priced("in1a", "2.5", "North", 50000)))
	_, err := b.Order(ctx, nil)
	require.NoError(t, err)
	bases, err := b.Bases(ctx, first, second)
	require.NoError(t, err)
	_, err = b.PlanTogether(ctx, []inventory.Proposal{
		{Job: first, Revision: bases[0].Revision, Placements: []inventory.Placement{priced("in1a", "2.5", "Alder", 40000), priced("in1b", "2.5", "North", 50000)}},
		{Job: second, Revision: bases[1].Revision, Placements: []inventory.Placement{priced("in1a", "2.55", "North", 50000)}},
	})
	require.NoError(t, err)
	assert.Equal(t, map[string]int{"Alder": 1, "North": 1}, b.toOrder())
	b.sound()
}
