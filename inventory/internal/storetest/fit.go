package storetest

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"shimwright/inventory"
	"shimwright/inventory/sample"
	"shimwright/shim"
)

var fitTests = map[string]func(*testing.T, inventory.Store){
	"valve by valve":         valveByValve,
	"a ring on top":          ringOnTop,
	"the giving valve first": givingValveFirst,
	"a second plan":          secondPlan,
	"another shim instead":   instead,
	"its own shim instead":   keptOwn,
	"not what others hold":   notOthers,
	"what came out differs":  cameOut,
	"swap round":             swapRound,
	"plan again midway":      planAgainMidway,
	"an empty valve":         emptyValve,
	"the very shim is moved": verySame,
	"used before new":        usedBeforeNew,
}

func valveByValve(t *testing.T, s inventory.Store) {
	b := newBench(t, s)
	b.stock(1, "2.35")
	job := b.measured(map[string][2]string{"in1a": {"0.1", "2.425"}, "ex2b": {"0.3", "2.35"}})
	require.NoError(t, b.plan(job, drawn("in1a", "2.35"), moved("ex2b", "2.425", "in1a")))

	// The moved shim first: it has to come out of in1a for that.
	r, err := b.Fit(ctx, job, inventory.Fit{Valves: []shim.Valve{v("ex2b")}, Bin: "bench"})
	require.NoError(t, err)
	require.Len(t, r.Movements, 3)
	f := b.file(job)
	assert.Equal(t, inventory.StateFitting, f.Job.State)
	assert.True(t, f.Seats[0].Empty, "in1a waits for its shim")
	assert.Equal(t, [2]int{2, 1}, b.on("2.35"), "one pulled, one still reserved for in1a")
	require.Len(t, f.Left, 1)

	_, err = b.Read(ctx, job, check(nil), "")
	require.ErrorIs(t, err, inventory.ErrState)
	require.ErrorIs(t, b.Close(ctx, job, true), inventory.ErrState, "the engine is in pieces")
	_, err = b.Fit(ctx, job, inventory.Fit{Valves: []shim.Valve{v("ex2b")}})
	require.ErrorIs(t, err, inventory.ErrInvalid, "done already")
	r = b.fitAll(job)
	assert.Len(t, r.Movements, 1)
	assert.Equal(t, inventory.StateFitted, b.state(job))
	assert.Equal(t, [2]int{1, 0}, b.on("2.35"))
	_, err = b.Fit(ctx, job, inventory.Fit{})
	require.ErrorIs(t, err, inventory.ErrState)
	b.sound()
}

func givingValveFirst(t *testing.T, s inventory.Store) {
	b := newBench(t, s)
	b.stock(1, "2.35")
	job := b.measured(map[string][2]string{"in1a": {"0.1", "2.425"}, "ex2b": {"0.3", "2.3"}})
	require.NoError(t, b.plan(job, drawn("in1a", "2.35"), moved("ex2b", "2.425", "in1a")))
	_, err := b.Fit(ctx, job, inventory.Fit{Valves: []shim.Valve{v("in1a")}})
	require.NoError(t, err)
	assert.Equal(t, [2]int{1, 1}, b.on("2.425"), "the pulled shim is reserved for where it goes")
	r := b.fitAll(job)
	assert.Len(t, r.Movements, 2, "in1a keeps its new shim")
	assert.Equal(t, [][2]int{{}, {}, {1}}, [][2]int{b.on("2.35"), b.on("2.425"), b.on("2.3")})
	b.sound()
}

func secondPlan(t *testing.T, s inventory.Store) {
	b := newBench(t, s)
	b.stock(1, "2.35", "2.325")
	job := b.measured(map[string][2]string{"in1a": {"0.1", "2.425"}})
	require.NoError(t, b.plan(job, drawn("in1a", "2.35")))
	b.fitAll(job)
	_, err := b.Read(ctx, job, []shim.Measurement{{Valve: v("in1a"), Reading: shim.ReadingOf(mm("0.13"))}}, "")
	require.NoError(t, err)
	basis, err := b.Basis(ctx, job)
	require.NoError(t, err)
	assert.Equal(t, mm("2.35"), basis.Readings[0].Stamp, "the shim that sat there when it was read")
	require.NoError(t, b.plan(job, drawn("in1a", "2.325")))
	assert.Equal(t, inventory.StatePlanned, b.state(job), "what the first plan did does not count for the second")
	b.fitAll(job)
	assert.Equal(t, [][2]int{{1}, {}, {1}}, [][2]int{b.on("2.35"), b.on("2.325"), b.on("2.425")})
	b.sound()
}

func instead(t *testing.T, s inventory.Store) {
	b := newBench(t, s)
	b.stock(1, "2.35", "2.375")
	job := b.measured(map[string][2]string{"in2a": {"0.1", "2.425"}, "in1a": {"0.1", "2.425"}})
	require.NoError(t, b.plan(job, drawn("in2a", "2.35"), bought("in1a", "2.325")))
	_, err := b.Fit(ctx, job, inventory.Fit{Instead: []inventory.Instead{{Valve: v("in2a"), Size: mm("2.9")}}})
	require.ErrorIs(t, err, inventory.ErrShort, "a shim that was never booked in")
	_, err = b.Fit(ctx, job, inventory.Fit{Valves: []shim.Valve{v("in1a")}, Instead: []inventory.Instead{{Valve: v("in2a"), Size: mm("2.375")}}})
	require.NoError(t, err)
	assert.Equal(t, [][2]int{{1}, {}, {2}}, [][2]int{b.on("2.35"), b.on("2.375"), b.on("2.425")}, "the planned piece is free again")
	assert.Equal(t, inventory.StateFitted, b.state(job))

	// Changed once more after the recheck, without a plan for it.
	_, err = b.Read(ctx, job, check(map[string][2]string{"in2a": {"0.13", "2.375"}}), "")
	require.NoError(t, err)
	_, err = b.Fit(ctx, job, inventory.Fit{Instead: []inventory.Instead{{Valve: v("in2a"), Size: mm("2.35")}}})
	require.NoError(t, err)
	assert.Equal(t, [][2]int{{}, {1}}, [][2]int{b.on("2.35"), b.on("2.375")})
	b.sound()
}

func keptOwn(t *testing.T, s inventory.Store) {
	b := newBench(t, s)
	b.stock(1, "2.35")
	job := b.measured(map[string][2]string{"in1a": {"0.1", "2.425"}, "ex2b": {"0.3", "2.35"}})
	require.NoError(t, b.plan(job, drawn("in1a", "2.35"), moved("ex2b", "2.425", "in1a")))
	_, err := b.Fit(ctx, job, inventory.Fit{Instead: []inventory.Instead{{Valve: v("in1a")}}, Valves: []shim.Valve{}})
	require.ErrorIs(t, err, inventory.ErrStale, "in1a kept the shim that ex2b was to get")
	_, err = b.Fit(ctx, job, inventory.Fit{Instead: []inventory.Instead{{Valve: v("in1a")}, {Valve: v("ex2b"), Size: mm("2.35")}}})
	require.NoError(t, err)
	assert.Equal(t, inventory.StateFitted, b.state(job))
	assert.Equal(t, [][2]int{{1}, {}}, [][2]int{b.on("2.35"), b.on("2.425")})
	b.sound()
}

func notOthers(t *testing.T, s inventory.Store) {
	b := newBench(t, s)
	b.stock(1, "2.35", "2.375")
	job, other := b.measured(nil), b.measured(nil)
	require.NoError(t, b.plan(job, drawn("in1a", "2.35")))
	require.NoError(t, b.plan(other, drawn("in1a", "2.375")))
	_, err := b.Fit(ctx, job, inventory.Fit{Instead: []inventory.Instead{{Valve: v("in1a"), Size: mm("2.375")}}})
	require.ErrorIs(t, err, inventory.ErrShort)
	assert.Contains(t, err.Error(), "job 2")
	assert.Equal(t, [][2]int{{1, 1}, {1, 1}}, [][2]int{b.on("2.35"), b.on("2.375")})
	b.sound()
}

func cameOut(t *testing.T, s inventory.Store) {
	b := newBench(t, s)
	b.stock(3, "2.35")
	job := b.measured(map[string][2]string{"in1a": {"0.1", "2.425"}, "in1b": {"0.1", "0"}})
	require.NoError(t, b.plan(job, drawn("in1a", "2.35"), drawn("in1b", "2.35"), drawn("in2a", "2.35")))
	_, err := b.Fit(ctx, job, inventory.Fit{})
	require.ErrorIs(t, err, inventory.ErrInvalid, "nobody knows what sat in in1b")
	_, err = b.Fit(ctx, job, inventory.Fit{Bin: "wash", Out: []inventory.Out{
		{Valve: v("in1a"), Marks: shim.Marks{Stamp: mm("2.425"), Mic: mm("2.418")}}, {Valve: v("in1b"), Marks: shim.Marks{Mic: mm("2.5")}}, {Valve: v("in2a"), Scrap: true},
	}})
	require.NoError(t, err)
	lots, err := b.Balances(ctx, inventory.StockFilter{})
	require.NoError(t, err)
	assert.Equal(t, []inventory.Balance{
		{Lot: inventory.Lot{Family: shim.Family{Diameter: mm("8.9")}, Marks: shim.Marks{Stamp: mm("2.425"), Mic: mm("2.418")}, Used: true, Bin: "wash"}, Count: 1},
		{Lot: inventory.Lot{Family: shim.Family{Diameter: mm("8.9")}, Marks: shim.Marks{Mic: mm("2.5")}, Used: true, Bin: "wash"}, Count: 1},
	}, lots)
	b.sound()
}

func swapRound(t *testing.T, s inventory.Store) {
	b := newBench(t, s)
	job := b.measured(map[string][2]string{"in1a": {"0.1", "2.425"}, "in1b": {"0.3", "2.35"}, "in2a": {"0.3", "2.3"}})
	require.NoError(t, b.plan(job, moved("in1a", "2.35", "in1b"), moved("in1b", "2.3", "in2a"), moved("in2a", "2.425", "in1a")))
	r := b.fitAll(job)
	assert.Len(t, r.Movements, 6)
	stocks, err := b.Stocks(ctx, inventory.StockFilter{})
	require.NoError(t, err)
	assert.Empty(t, stocks, "three shims changed places and the box got none")
	b.sound()
}

func planAgainMidway(t *testing.T, s inventory.Store) {
	b := newBench(t, s)
	b.stock(1, "2.35", "2.3", "2.325")
	job := b.measured(map[string][2]string{"in1a": {"0.1", "2.425"}, "in1b": {"0.1", "2.4"}, "in2a": {"0.3", "2.3"}})
	require.NoError(t, b.plan(job, drawn("in1a", "2.35"), drawn("in1b", "2.3"), moved("in2a", "2.4", "in1b")))
	_, err := b.Fit(ctx, job, inventory.Fit{Valves: []shim.Valve{v("in1a"), v("in2a")}})
	require.NoError(t, err)
	_, err = b.Scrap(ctx, []inventory.Item{{Lot: lot("2.3"), Count: 2}})
	require.NoError(t, err)
	_, err = b.Fit(ctx, job, inventory.Fit{})
	require.ErrorIs(t, err, inventory.ErrStale)
	require.ErrorIs(t, b.plan(job, drawn("in1b", "2.325"), moved("in2b", "2.4", "in1b")), inventory.ErrInvalid, "in1b is empty")
	require.NoError(t, b.plan(job, drawn("in1b", "2.325")))
	assert.Equal(t, inventory.StateFitting, b.state(job), "the engine is in pieces")
	r := b.fitAll(job)
	assert.Len(t, r.Movements, 1, "in1b was empty")
	assert.Equal(t, inventory.StateFitted, b.state(job))
	b.sound()
}

func emptyValve(t *testing.T, s inventory.Store) {
	b := newBench(t, s)
	b.stock(1, "2.35")
	job := b.measured(map[string][2]string{"in1a": {"0.1", "2.425"}})
	require.NoError(t, b.plan(job, drawn("in1a", "2.35"), moved("in1b", "2.425", "in1a")))
	_, err := b.Fit(ctx, job, inventory.Fit{Valves: []shim.Valve{v("in1b")}})
	require.NoError(t, err)
	last := b.fitAll(job)
	rest := check(nil)[1:] // in1a is not measured again
	_, err = b.Read(ctx, job, rest, "")
	require.NoError(t, err)
	require.NoError(t, b.plan(job, bought("ex1a", "2.5")))
	c, err := b.Read(ctx, job, rest, "the plan goes with a new reading")
	require.NoError(t, err)
	assert.Equal(t, inventory.CheckRecheck, c.Kind)

	// The fit of in1a turns out to have been booked by mistake.
	_, err = b.Undo(ctx, last.Batch, "")
	require.NoError(t, err)
	f := b.file(job)
	assert.Equal(t, inventory.StateFitting, f.Job.State, "the plan that was fitted stands")
	assert.True(t, f.Seats[0].Empty)
	_, err = b.Read(ctx, job, check(nil), "")
	require.ErrorIs(t, err, inventory.ErrState, "in1a cannot be measured")
	require.ErrorIs(t, b.Close(ctx, job, true), inventory.ErrState)
	require.NoError(t, b.plan(job, drawn("in1a", "2.35")))
	r := b.fitAll(job)
	_, err = b.Read(ctx, job, check(nil), "")
	require.NoError(t, err)
	_, err = b.Undo(ctx, r.Batch, "")
	require.ErrorIs(t, err, inventory.ErrInvalid, "in1a was measured since")
	b.sound()
}

func verySame(t *testing.T, s inventory.Store) {
	b := newBench(t, s)
	b.stock(1, "2.35", "2.425")
	job := b.measured(map[string][2]string{"in1a": {"0.1", "2.425"}})
	require.NoError(t, b.plan(job, drawn("in1a", "2.35"), moved("in1b", "2.425", "in1a")))
	_, err := b.Fit(ctx, job, inventory.Fit{Bin: "bench"})
	require.NoError(t, err)
	lots, err := b.Balances(ctx, inventory.StockFilter{Disc: shim.Disc{Size: mm("2.425")}})
	require.NoError(t, err)
	assert.Equal(t, []inventory.Balance{{Lot: lot("2.425"), Count: 1}}, lots, "the piece in the box stays there")
	b.sound()
}

func usedBeforeNew(t *testing.T, s inventory.Store) {
	b := newBench(t, s)
	fresh := inventory.Lot{Family: shim.Family{Diameter: mm("8.9")}, Marks: shim.Marks{Stamp: mm("2.35")}}
	_, err := b.Receive(ctx, []inventory.Item{{Lot: fresh, Count: 1}, {Lot: lot("2.35"), Count: 1}})
	require.NoError(t, err)
	job := b.measured(nil)
	require.NoError(t, b.plan(job, drawn("in1a", "2.35"), drawn("in1b", "2.35"), moved("ex1a", "2.4", "in1a"), bought("ex1b", "2.5")))
	f := b.file(job)
	assert.Equal(t, []inventory.Pick{
		{Placement: drawn("in1a", "2.35"), Lot: lot("2.35"), OnHand: true},
		{Placement: drawn("in1b", "2.35"), Lot: fresh, OnHand: true},
		{Placement: moved("ex1a", "2.4", "in1a")},
		{Placement: bought("ex1b", "2.5")},
	}, f.Picks)
	_, err = b.Fit(ctx, job, inventory.Fit{Valves: []shim.Valve{v("in1a")}})
	require.NoError(t, err)
	lots, err := b.Balances(ctx, inventory.StockFilter{Disc: shim.Disc{Size: mm("2.35")}})
	require.NoError(t, err)
	assert.Equal(t, []inventory.Balance{{Lot: fresh, Count: 1}}, lots)
	f = b.file(job)
	assert.Equal(t, inventory.Pick{Placement: moved("ex1a", "2.4", "in1a"), Lot: lot("2.4"), OnHand: true}, f.Picks[1])
}

// ringOnTop: where shims are changed one by one no valve is booked as empty but
// one that the plan lends a piece.
func ringOnTop(t *testing.T, s inventory.Store) {
	b := newBench(t, s)
	b.stock(1, "2.425")
	spec := sample.Sandpiper()
	spec.Access = shim.ByValve
	j, err := b.OpenJob(ctx, inventory.Opening{Spec: spec, Source: "on top"})
	require.NoError(t, err)
	_, err = b.Read(ctx, j.ID, check(map[string][2]string{"in1a": {"0.1", "2.425"}, "in1b": {"0.3", "2.35"}, "in2a": {"0.1", "2.5"}}), "")
	require.NoError(t, err)
	lent := moved("in1a", "2.35", "in1b")
	lent.Temporary = mm("2.425")
	require.NoError(t, b.plan(j.ID, lent, moved("in1b", "2.5", "in2a"), moved("in2a", "2.425", "in1a")))
	for _, valves := range [][]shim.Valve{{v("in1a")}, {v("in1b")}, {v("in1a"), v("in1b")}} {
		_, err = b.Fit(ctx, j.ID, inventory.Fit{Valves: valves})
		require.ErrorIs(t, err, inventory.ErrRing, "%v", valves)
		f, err := b.Job(ctx, j.ID)
		require.NoError(t, err)
		assert.Empty(t, f.Movements, "nothing is booked")
	}
	_, err = b.Fit(ctx, j.ID, inventory.Fit{Valves: []shim.Valve{v("in2a")}})
	require.NoError(t, err, "what sits in in1a is lent to it")
	_, err = b.Fit(ctx, j.ID, inventory.Fit{Valves: []shim.Valve{v("in1b")}})
	require.NoError(t, err, "the shim of in2a is out")
	b.fitAll(j.ID)
	b.sound()
}
