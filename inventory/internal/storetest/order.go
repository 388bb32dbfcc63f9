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
	"fitted from elsewhere":  orderElsewhere,
	"one price for two":      orderOnePrice,
}

func fresh(size string, n int) inventory.Item {
	return inventory.Item{Lot: inventory.Lot{Family: shim.Family{Diameter: mm("8.9")}, Marks: shim.Marks{Stamp: mm(size)}}, Count: n, Quote: shim.Quote{Price: 78000, Priced: true}}
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
	b.fitAll(first)
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
	f := b.file(second)
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
	f := b.file(job)
	require.Len(t, f.Purchases, 1)
	assert.Equal(t, []int{1, 1, 1}, []int{f.Purchases[0].Needed, f.Purchases[0].Ordered, f.Purchases[0].Arrived})
	b.sound()
}

// orderStale: a plan is made on what is on order and what others buy, too.
// Two shims that were planned at two prices come at one of them: both are there,
// and so again after an undo that is undone.
func orderOnePrice(t *testing.T, s inventory.Store) {
	b := newBench(t, s)
	job := b.measured(nil)
	require.NoError(t, b.plan(job, priced("in1a", "2.5", "", 70000), priced("in1b", "2.5", "", 78000)))
	_, err := b.Order(ctx, nil)
	require.NoError(t, err)
	came := func(r inventory.Receipt, err error) inventory.Receipt {
		require.NoError(t, err)
		assert.Empty(t, b.shopping())
		assert.Equal(t, [2]int{2, 2}, b.on("2.5"))
		return r
	}
	first := came(b.Arrived(ctx, []inventory.Item{fresh("2.5", 2)}))
	undone, err := b.Undo(ctx, first.Batch, "")
	require.NoError(t, err)
	came(b.Undo(ctx, undone.Batch, ""))
	b.sound()
}

// A bought shim of which another one was fitted out of the box is not the one that
// comes: that goes to the valve which still waits for its like.
func orderElsewhere(t *testing.T, s inventory.Store) {
	other := fresh("2.5", 1)
	other.Bin, other.Used = "A1", true
	for _, early := range []bool{false, true} { // the parcel comes before the fit, or after it
		b := newBench(t, s)
		job := b.measured(nil)
		b.receive(other.Lot)
		require.NoError(t, b.plan(job, bought("in1a", "2.5"), bought("in1b", "2.5")))
		_, err := b.Order(ctx, nil)
		require.NoError(t, err)
		parcel := func() {
			_, err := b.Arrived(ctx, []inventory.Item{fresh("2.5", 1)})
			require.NoError(t, err)
		}
		if early {
			parcel()
		}
		_, err = b.Fit(ctx, job, inventory.Fit{Valves: []shim.Valve{v("in1a")}, Taken: []inventory.Taken{{Valve: v("in1a"), Bin: "A1"}}})
		require.NoError(t, err)
		if !early {
			parcel()
		}
		assert.Equal(t, [2]int{1, 1}, b.on("2.5"), "early: %v", early)
		f, err := b.Job(ctx, job)
		require.NoError(t, err)
		require.Len(t, f.Picks, 1)
		assert.True(t, f.Picks[0].OnHand)
		coming := 0
		for _, d := range b.shopping() {
			assert.Zero(t, d.Missing)
			assert.Equal(t, d.Coming, d.Spare, "the other one is for the box")
			coming += d.Coming
		}
		assert.Equal(t, 1, coming)
		_, err = b.Withdraw(ctx, nil)
		require.NoError(t, err)
		b.fitAll(job)
		b.sound()
	}
}

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
