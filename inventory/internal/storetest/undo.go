package storetest

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"shimwright/inventory"
	"shimwright/shim"
)

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
	r := b.fitAll(job)
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
	b.fitAll(job)
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

// A piece that arrived stays the job's cost under a new plan. Its arrival taken
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
		f := b.file(first)
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
