package storetest

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"shimwright/inventory"
	"shimwright/shim"
)

var orderTests = map[string]func(*testing.T, inventory.Store){
	"across jobs":            orderAcrossJobs,
	"surplus is free":        orderSurplus,
	"plan again keeps order": orderCarried,
	"wrong size arrived":     orderWrongSize,
	"arrived before a plan":  orderAnew,
	"order of no job":        orderSpare,
	"order handed over":      orderHandedOver,
	"withdrawn":              orderWithdrawn,
	"two suppliers":          orderSuppliers,
	"spellings of a name":    orderSpellings,
	"no named supplier":      orderNoName,
	"price at arrival":       orderPrice,
	"terms as planned":       orderTerms,
	"terms after a price":    orderTermsPaid,
	"terms after a fit":      orderTermsFitted,
	"terms handed over":      orderTermsHanded,
	"list of a stale plan":   orderStale,
	"came and not used":      orderInstead,
}

func fresh(size string, n int) inventory.Item {
	return inventory.Item{Lot: inventory.Lot{Diameter: mm("8.9"), Marks: shim.Marks{Stamp: mm(size)}}, Count: n, Quote: shim.Quote{Price: 78000, Priced: true}}
}

func orderAcrossJobs(t *testing.T, s inventory.Store) {
	b := newBench(t, s)
	first, second := b.measured(nil), b.measured(nil)
	require.NoError(t, b.plan(first, bought("in1a", "2.5"), bought("in1b", "2.5")))
	require.NoError(t, b.plan(second, bought("in1a", "2.5"), bought("in1b", "2.55")))
	list, err := b.Shopping(ctx)
	require.NoError(t, err)
	require.Len(t, list, 2)
	assert.Equal(t, 3, list[0].Missing)
	assert.Equal(t, []int64{first, second}, list[0].Jobs)

	_, err = b.Order(ctx, []inventory.OrderLine{{Disc: shim.Disc{Family: shim.Family{Diameter: mm("8.9")}, Size: mm("2.5")}, Count: 4}})
	require.ErrorIs(t, err, inventory.ErrInvalid, "more than the jobs need")
	placed, err := b.Order(ctx, nil)
	require.NoError(t, err)
	assert.Len(t, placed, 2)
	placed, err = b.Order(ctx, nil)
	require.NoError(t, err)
	assert.Empty(t, placed, "all is on order")

	_, err = b.Arrived(ctx, []inventory.Item{fresh("2.5", 2)})
	require.NoError(t, err)
	list, err = b.Shopping(ctx)
	require.NoError(t, err)
	assert.Equal(t, []int64{second}, list[0].Jobs, "the oldest job is served first")
	assert.Equal(t, 1, list[0].Coming)
	assert.Equal(t, [2]int{2, 2}, b.on("2.5"))
	_, err = b.Fit(ctx, first, inventory.Fit{})
	require.NoError(t, err)
	// The second job's pieces came without anybody booking them in.
	r, err := b.Fit(ctx, second, inventory.Fit{})
	require.NoError(t, err)
	assert.Len(t, r.Movements, 6)
	list, err = b.Shopping(ctx)
	require.NoError(t, err)
	assert.Empty(t, list)
	b.sound()
}

func orderSurplus(t *testing.T, s inventory.Store) {
	b := newBench(t, s)
	job := b.measured(nil)
	require.NoError(t, b.plan(job, bought("in1a", "2.5")))
	_, err := b.Arrived(ctx, []inventory.Item{fresh("2.5", 3)})
	require.NoError(t, err)
	assert.Equal(t, [2]int{3, 1}, b.on("2.5"))
	_, err = b.Scrap(ctx, []inventory.Item{fresh("2.5", 3)})
	require.NoError(t, err)
	_, err = b.Fit(ctx, job, inventory.Fit{})
	require.ErrorIs(t, err, inventory.ErrStale, "the bought piece came and was thrown away")
	b.sound()
}

func orderCarried(t *testing.T, s inventory.Store) {
	b := newBench(t, s)
	job := b.measured(nil)
	require.NoError(t, b.plan(job, bought("in1a", "2.5"), bought("in1b", "2.5")))
	_, err := b.Order(ctx, nil)
	require.NoError(t, err)
	_, err = b.Arrived(ctx, []inventory.Item{fresh("2.5", 1)})
	require.NoError(t, err)
	// One is in the box now and is drawn, the other is still on order.
	require.NoError(t, b.plan(job, drawn("in1a", "2.5"), bought("in1b", "2.5")))
	list, err := b.Shopping(ctx)
	require.NoError(t, err)
	assert.Equal(t, 0, list[0].Missing)
	assert.Equal(t, 1, list[0].Coming)
	_, err = b.Cancel(ctx, job, "")
	require.NoError(t, err)
	list, err = b.Shopping(ctx)
	require.NoError(t, err)
	assert.Equal(t, 1, list[0].Coming, "a cancelled job's order is still on its way")
	_, err = b.Arrived(ctx, []inventory.Item{fresh("2.5", 1)})
	require.NoError(t, err)
	assert.Equal(t, [2]int{2, 0}, b.on("2.5"))
	b.sound()
}

func orderAnew(t *testing.T, s inventory.Store) {
	b := newBench(t, s)
	job := b.measured(nil)
	require.NoError(t, b.plan(job, bought("in1a", "2.5")))
	_, err := b.Arrived(ctx, []inventory.Item{fresh("2.5", 1)})
	require.NoError(t, err)
	require.NoError(t, b.plan(job, drawn("in1a", "2.5"), bought("in1b", "2.5")))
	list, err := b.Shopping(ctx)
	require.NoError(t, err)
	require.Len(t, list, 1, "what came in for the last plan is drawn, and does not stand for what this one buys")
	assert.Equal(t, 1, list[0].Missing)
	b.sound()
}

func priced(valve, size, supplier string, price shim.Price) inventory.Placement {
	p := bought(valve, size)
	p.Terms = inventory.Terms{Supplier: supplier, Part: supplier + "-" + size, Quote: shim.Quote{Price: price, Priced: true}}
	return p
}

func (b *bench) shopping() []inventory.Demand {
	list, err := b.Shopping(ctx)
	require.NoError(b.t, err)
	return list
}

// What is on order when its job goes is the shop's, and the next plan has it.
func orderSpare(t *testing.T, s inventory.Store) {
	b := newBench(t, s)
	first, second := b.measured(nil), b.measured(nil)
	require.NoError(t, b.plan(first, bought("in1a", "2.5"), bought("in1b", "2.5"), bought("in2a", "2.55")))
	_, err := b.Order(ctx, nil)
	require.NoError(t, err)
	_, err = b.Cancel(ctx, first, "")
	require.NoError(t, err)
	list := b.shopping()
	require.Len(t, list, 2)
	assert.Empty(t, list[0].Jobs, "no job waits for it")
	assert.Equal(t, []int{2, 2}, []int{list[0].Coming, list[0].Spare})
	b.sound()

	require.NoError(t, b.plan(second, bought("in1a", "2.5")))
	list = b.shopping()
	assert.Equal(t, 0, list[0].Missing, "the plan has what is on order")
	assert.Equal(t, []int64{second}, list[0].Jobs)
	assert.Equal(t, []int{2, 1}, []int{list[0].Coming, list[0].Spare})
	r, err := b.Arrived(ctx, []inventory.Item{fresh("2.5", 2), fresh("2.55", 1)})
	require.NoError(t, err)
	var jobs []int64
	for _, m := range r.Movements {
		jobs = append(jobs, m.Job)
	}
	assert.Equal(t, []int64{second, 0, 0}, jobs, "one for the job, the others for the box")
	assert.Equal(t, [2]int{2, 1}, b.on("2.5"))
	assert.Empty(t, b.shopping())
	b.sound()

	// A plan that no longer needs it lets it go, and one that does takes it back.
	require.NoError(t, b.plan(second, bought("in1a", "2.6")))
	_, err = b.Order(ctx, nil)
	require.NoError(t, err)
	require.NoError(t, b.plan(second))
	assert.Equal(t, 1, b.shopping()[0].Spare)
	require.NoError(t, b.plan(second, bought("in1a", "2.6")))
	assert.Equal(t, 0, b.shopping()[0].Spare)
	require.NoError(t, b.Close(ctx, second, true))
	assert.Equal(t, 1, b.shopping()[0].Spare, "the job is closed")
	b.sound()
}

// Another job that waits to buy the size gets it at once.
func orderHandedOver(t *testing.T, s inventory.Store) {
	b := newBench(t, s)
	first, second := b.measured(nil), b.measured(nil)
	require.NoError(t, b.plan(first, priced("in1a", "2.5", "North", 78000)))
	_, err := b.Order(ctx, nil)
	require.NoError(t, err)
	require.NoError(t, b.plan(second, priced("in1a", "2.5", "South", 90000), priced("in1b", "2.5", "South", 90000)))
	_, err = b.Cancel(ctx, first, "")
	require.NoError(t, err)
	list := b.shopping()
	require.Len(t, list, 2)
	assert.Equal(t, inventory.Demand{Disc: shim.Disc{Family: shim.Family{Diameter: mm("8.9")}, Size: mm("2.5")}, Terms: priced("in1a", "2.5", "North", 78000).Terms, Coming: 1, Jobs: []int64{second}}, list[0])
	assert.Equal(t, inventory.Demand{Disc: shim.Disc{Family: shim.Family{Diameter: mm("8.9")}, Size: mm("2.5")}, Terms: priced("in1a", "2.5", "South", 90000).Terms, Missing: 1, Jobs: []int64{second}}, list[1])
	b.sound()
}

func orderWithdrawn(t *testing.T, s inventory.Store) {
	b := newBench(t, s)
	first, second := b.measured(nil), b.measured(nil)
	require.NoError(t, b.plan(first, bought("in1a", "2.5")))
	require.NoError(t, b.plan(second, bought("in1a", "2.5")))
	line := func(n int) []inventory.OrderLine {
		return []inventory.OrderLine{{Disc: shim.Disc{Family: shim.Family{Diameter: mm("8.9")}, Size: mm("2.5")}, Count: n}}
	}
	_, err := b.Withdraw(ctx, line(1))
	require.ErrorIs(t, err, inventory.ErrInvalid, "nothing is on order")
	_, err = b.Order(ctx, nil)
	require.NoError(t, err)
	_, err = b.Withdraw(ctx, line(3))
	require.ErrorIs(t, err, inventory.ErrInvalid, "more than are on order")
	done, err := b.Withdraw(ctx, line(1))
	require.NoError(t, err)
	assert.Equal(t, 1, done[0].Count)
	f, err := b.Job(ctx, second)
	require.NoError(t, err)
	assert.Equal(t, 1, f.Purchases[0].Missing(), "the newest job has to order again")
	_, err = b.Cancel(ctx, first, "")
	require.NoError(t, err)
	assert.Equal(t, []int{0, 1}, []int{b.shopping()[0].Missing, b.shopping()[0].Coming}, "what the first had on order is the second's now")
	done, err = b.Withdraw(ctx, nil)
	require.NoError(t, err)
	assert.Len(t, done, 1)
	assert.Equal(t, []int{1, 0}, []int{b.shopping()[0].Missing, b.shopping()[0].Coming})
	_, err = b.Order(ctx, nil)
	require.NoError(t, err)
	_, err = b.Cancel(ctx, second, "")
	require.NoError(t, err)
	_, err = b.Withdraw(ctx, nil)
	require.NoError(t, err)
	assert.Empty(t, b.shopping(), "the shop's own order is gone when it is taken back")
	b.sound()
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
	f, err := b.Job(ctx, job)
	require.NoError(t, err)
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
		f, err := b.Job(ctx, job)
		require.NoError(t, err)
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

// orderInstead: a piece that came stays in the job's cost where another shim
// went in.
func orderInstead(t *testing.T, s inventory.Store) {
	b := newBench(t, s)
	b.stock(1, "2.45")
	job := b.measured(nil)
	require.NoError(t, b.plan(job, priced("in1a", "2.5", "North", 70000)))
	item := fresh("2.5", 1)
	item.Price = 70000
	_, err := b.Arrived(ctx, []inventory.Item{item})
	require.NoError(t, err)
	_, err = b.Fit(ctx, job, inventory.Fit{Instead: []inventory.Instead{{Valve: v("in1a"), Size: mm("2.45")}}})
	require.NoError(t, err)
	f, err := b.Job(ctx, job)
	require.NoError(t, err)
	require.Len(t, f.Purchases, 1)
	assert.Equal(t, []int{1, 1, 1}, []int{f.Purchases[0].Needed, f.Purchases[0].Ordered, f.Purchases[0].Arrived})
	b.sound()
}

// orderStale: a plan is made on what is on order and what others buy, too.
func orderStale(t *testing.T, s inventory.Store) {
	b := newBench(t, s)
	first, second := b.measured(nil), b.measured(nil)
	buy := []inventory.Placement{bought("in1a", "2.5")}
	change := func(what string, do func() error) {
		basis, err := b.Basis(ctx, second)
		require.NoError(t, err)
		require.NoError(t, do(), what)
		_, err = b.PlanTogether(ctx, []inventory.Proposal{{Job: second, Revision: basis.Revision, Placements: buy}})
		require.ErrorIs(t, err, inventory.ErrStale, what)
	}
	change("another plan", func() error { return b.plan(first, buy...) })
	change("ordered", func() error { _, err := b.Order(ctx, nil); return err })
	change("taken off order", func() error { _, err := b.Withdraw(ctx, nil); return err })
	change("cancelled", func() error { _, err := b.Cancel(ctx, first, ""); return err })
	b.sound()
}

func orderWrongSize(t *testing.T, s inventory.Store) {
	b := newBench(t, s)
	job := b.measured(nil)
	require.NoError(t, b.plan(job, bought("in1a", "2.5")))
	item := fresh("2.5", 1)
	item.Mic = mm("2.48")
	_, err := b.Arrived(ctx, []inventory.Item{item})
	require.NoError(t, err)
	list, err := b.Shopping(ctx)
	require.NoError(t, err)
	assert.Equal(t, 1, list[0].Missing)
	assert.Equal(t, [2]int{1, 0}, b.on("2.48"))
}

var undoTests = map[string]func(*testing.T, inventory.Store){
	"box":           undoBox,
	"fit":           undoFit,
	"arrival":       undoArrival,
	"never ordered": undoUnordered,
	"planned again": undoPlannedAgain,
	"breaks a plan": undoBreaksPlan,
}

func undoBox(t *testing.T, s inventory.Store) {
	b := newBench(t, s)
	r, err := b.Receive(ctx, []inventory.Item{fresh("2.5", 3), fresh("2.55", 1)})
	require.NoError(t, err)
	back, err := b.Undo(ctx, r.Batch, "wrong box")
	require.NoError(t, err)
	require.Len(t, back.Movements, 2)
	assert.EqualValues(t, 2, back.Movements[0].Reverses)
	assert.Equal(t, [2]int{}, b.on("2.5"))
	_, err = b.Undo(ctx, r.Batch, "")
	require.ErrorIs(t, err, inventory.ErrInvalid, "undone already")
	_, err = b.Undo(ctx, back.Batch, "it was right")
	require.NoError(t, err)
	assert.Equal(t, [2]int{3, 0}, b.on("2.5"))
	_, err = b.Undo(ctx, 2, "")
	require.ErrorIs(t, err, inventory.ErrUnknown, "2 is a row within a batch")
	_, err = b.Undo(ctx, 99, "")
	require.ErrorIs(t, err, inventory.ErrUnknown)
	_, err = b.Scrap(ctx, []inventory.Item{fresh("2.5", 1)})
	require.NoError(t, err)
	history, err := b.History(ctx, inventory.MovementFilter{})
	require.NoError(t, err)
	assert.Len(t, history, 7, "nothing is ever deleted")
	b.sound()
}

func undoFit(t *testing.T, s inventory.Store) {
	b := newBench(t, s)
	b.stock(2, "2.35")
	job := b.measured(map[string][2]string{"in1a": {"0.1", "2.425"}})
	require.NoError(t, b.plan(job, drawn("in1a", "2.35"), moved("in1b", "2.425", "in1a"), bought("in2a", "2.5")))
	r, err := b.Fit(ctx, job, inventory.Fit{})
	require.NoError(t, err)
	later, err := b.Fit(ctx, job, inventory.Fit{Instead: []inventory.Instead{{Valve: v("in1a"), Size: mm("2.35")}}})
	require.NoError(t, err)
	_, err = b.Undo(ctx, r.Batch, "")
	require.ErrorIs(t, err, inventory.ErrInvalid, "in1a was worked on since")
	_, err = b.Undo(ctx, later.Batch, "")
	require.NoError(t, err)
	back, err := b.Undo(ctx, r.Batch, "")
	require.NoError(t, err)
	assert.Equal(t, inventory.StatePlanned, b.state(job))
	assert.Equal(t, [][2]int{{2, 1}, {}, {}, {}}, [][2]int{b.on("2.35"), b.on("2.4"), b.on("2.425"), b.on("2.5")})
	_, err = b.Undo(ctx, back.Batch, "")
	require.ErrorIs(t, err, inventory.ErrInvalid, "a fit is booked again, not undone twice")
	_, err = b.Fit(ctx, job, inventory.Fit{})
	require.NoError(t, err)
	assert.Equal(t, inventory.StateFitted, b.state(job))
	_, err = b.Read(ctx, job, check(nil), "")
	require.NoError(t, err)
	require.NoError(t, b.Close(ctx, job, true))
	history, err := b.History(ctx, inventory.MovementFilter{Job: job, Newest: true, Limit: 1})
	require.NoError(t, err)
	_, err = b.Undo(ctx, history[0].Batch, "")
	require.ErrorIs(t, err, inventory.ErrState, "a closed job stands")
	b.sound()
}

func undoArrival(t *testing.T, s inventory.Store) {
	b := newBench(t, s)
	job := b.measured(nil)
	require.NoError(t, b.plan(job, bought("in1a", "2.5")))
	_, err := b.Order(ctx, nil)
	require.NoError(t, err)
	r, err := b.Arrived(ctx, []inventory.Item{fresh("2.5", 1)})
	require.NoError(t, err)
	back, err := b.Undo(ctx, r.Batch, "")
	require.NoError(t, err)
	list, err := b.Shopping(ctx)
	require.NoError(t, err)
	assert.Equal(t, 1, list[0].Coming)
	_, err = b.Undo(ctx, back.Batch, "")
	require.NoError(t, err)
	list, err = b.Shopping(ctx)
	require.NoError(t, err)
	assert.Empty(t, list)
	assert.Equal(t, [2]int{1, 1}, b.on("2.5"))
	b.sound()
}

// undoUnordered: a piece that nobody had ordered is to be ordered again once it
// is taken back, and one that was on order is on order, whoever booked it in.
func undoUnordered(t *testing.T, s inventory.Store) {
	for name, bookIn := range map[string]func(*bench, int64) (inventory.Receipt, error){
		"arrived": func(b *bench, _ int64) (inventory.Receipt, error) {
			return b.Arrived(ctx, []inventory.Item{fresh("2.5", 1)})
		},
		"by a fit": func(b *bench, job int64) (inventory.Receipt, error) {
			return b.Fit(ctx, job, inventory.Fit{})
		},
	} {
		b := newBench(t, s)
		job, other := b.measured(nil), b.measured(nil)
		require.NoError(t, b.plan(job, priced("in1a", "2.5", "North", 70000)), name)
		// Another's order on the same terms is none of its business.
		require.NoError(t, b.plan(other, priced("in1a", "2.55", "North", 70000)), name)
		_, err := b.Order(ctx, []inventory.OrderLine{{Disc: shim.Disc{Family: shim.Family{Diameter: mm("8.9")}, Size: mm("2.55")}, Count: 1}})
		require.NoError(t, err)
		require.NoError(t, b.plan(other, priced("in1a", "2.55", "North", 70000), priced("in1b", "2.5", "North", 70000)), name)
		before := b.shopping()
		r, err := bookIn(b, job)
		require.NoError(t, err, name)
		after := b.shopping()
		require.NotEqual(t, before, after, name)
		back, err := b.Undo(ctx, r.Batch, "")
		require.NoError(t, err, name)
		assert.Equal(t, before, b.shopping(), name)
		if name == "arrived" {
			again, err := b.Undo(ctx, back.Batch, "")
			require.NoError(t, err)
			assert.Equal(t, after, b.shopping())
			_, err = b.Undo(ctx, again.Batch, "")
			require.NoError(t, err)
			assert.Equal(t, before, b.shopping())
		}
		_, err = b.Order(ctx, nil)
		require.NoError(t, err)
		before = b.shopping()
		r, err = bookIn(b, job)
		require.NoError(t, err, name)
		_, err = b.Undo(ctx, r.Batch, "")
		require.NoError(t, err, name)
		assert.Equal(t, before, b.shopping(), "%s: on order", name)
		b.sound()
		for _, id := range []int64{job, other} {
			_, err = b.Cancel(ctx, id, "")
			require.NoError(t, err)
		}
		_, err = b.Withdraw(ctx, nil)
		require.NoError(t, err)
	}
}

// A piece that came in stays the job's cost under a new plan. Its arrival taken
// back, it is on order as it was; another job may have it then. It came after
// all: nobody waits for it any more.
func undoPlannedAgain(t *testing.T, s inventory.Store) {
	b := newBench(t, s)
	first, second := b.measured(nil), b.measured(nil)
	north := priced("in1a", "2.5", "North", 78000)
	require.NoError(t, b.plan(first, north))
	_, err := b.Order(ctx, nil)
	require.NoError(t, err)
	item := fresh("2.5", 1)
	item.Price = 40000
	r, err := b.Arrived(ctx, []inventory.Item{item})
	require.NoError(t, err)
	came := func() []inventory.Purchase {
		f, err := b.Job(ctx, first)
		require.NoError(t, err)
		return f.Purchases
	}
	paid := north.Terms
	paid.Price = 40000
	want := []inventory.Purchase{{Job: first, Disc: shim.Disc{Family: shim.Family{Diameter: mm("8.9")}, Size: mm("2.5")}, Terms: paid, Needed: 1, Ordered: 1, Arrived: 1}}
	require.Equal(t, want, came())
	require.NoError(t, b.plan(first))
	require.Equal(t, want, came())
	require.NoError(t, b.plan(second, priced("in1a", "2.5", "South", 90000)))

	back, err := b.Undo(ctx, r.Batch, "")
	require.NoError(t, err)
	assert.Empty(t, came())
	line := inventory.Demand{Disc: shim.Disc{Family: shim.Family{Diameter: mm("8.9")}, Size: mm("2.5")}, Terms: north.Terms, Coming: 1, Jobs: []int64{second}}
	assert.Equal(t, []inventory.Demand{line}, b.shopping())
	b.sound()

	_, err = b.Undo(ctx, back.Batch, "")
	require.NoError(t, err)
	assert.Equal(t, want, came())
	list := b.shopping()
	require.Len(t, list, 1)
	assert.Equal(t, []int{1, 0}, []int{list[0].Missing, list[0].Coming}, "the second has to buy its own")
	b.sound()
}

func undoBreaksPlan(t *testing.T, s inventory.Store) {
	b := newBench(t, s)
	r, err := b.Receive(ctx, []inventory.Item{fresh("2.5", 1)})
	require.NoError(t, err)
	job := b.measured(nil)
	require.NoError(t, b.plan(job, drawn("in1a", "2.5")))
	back, err := b.Undo(ctx, r.Batch, "")
	require.NoError(t, err)
	require.Len(t, back.Released, 1)
	_, err = b.Fit(ctx, job, inventory.Fit{})
	require.ErrorIs(t, err, inventory.ErrStale)
	_, err = b.Undo(ctx, back.Batch, "it was there after all")
	require.NoError(t, err)
	_, err = b.Fit(ctx, job, inventory.Fit{})
	require.NoError(t, err, "the piece is there again and free")
	b.sound()
}
