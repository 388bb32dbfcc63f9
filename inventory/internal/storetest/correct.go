package storetest

import (
	"reflect"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"shimwright/inventory"
	"shimwright/shim"
)

var correctTests = map[string]func(*testing.T, inventory.Store){
	"exchanged and left so":    exchangedStay,
	"exchanged and put right":  exchangedRight,
	"of another size":          anotherSize,
	"another piece":            anotherPiece,
	"the piece never fitted":   neverFitted,
	"what cannot be":           cannotBe,
	"a plan of nothing":        planOfNothing,
	"a plan not begun":         planNotBegun,
	"nothing more to fit":      nothingMore,
	"nothing but outside":      nothingButOutside,
	"a plan made on a mistake": planOnMistake,
	"undone again":             correctionUndone,
}

// fittedWrong is a job of two valves fitted from the box and measured since.
func fittedWrong(t *testing.T, s inventory.Store) (*bench, int64) {
	b := newBench(t, s)
	b.stock(1, "2.35", "2.3")
	job := b.measured(map[string][2]string{"in1a": {"0.1", "2.425"}, "ex2b": {"0.3", "2.2"}})
	require.NoError(t, b.plan(job, drawn("in1a", "2.35"), drawn("ex2b", "2.3")))
	b.fitAll(job)
	_, err := b.Read(ctx, job, again("0.225", "0.15"), "")
	require.NoError(t, err)
	return b, job
}

// again is what was measured at in1a and ex2b after the fit.
func again(in1a, ex2b string) []shim.Measurement {
	return []shim.Measurement{{Valve: v("in1a"), Reading: shim.ReadingOf(mm(in1a))}, {Valve: v("ex2b"), Reading: shim.ReadingOf(mm(ex2b))}}
}

// holds gives the sizes that sit in in1a and ex2b, and those that the last
// readings after the fit were taken with.
func (b *bench) holds(job int64) (seats, read []shim.Length) {
	f := b.file(job)
	for _, s := range f.Seats {
		if s.Valve == v("in1a") || s.Valve == v("ex2b") {
			seats = append(seats, s.Size())
		}
	}
	for _, m := range f.Since {
		read = append(read, m.Size())
	}
	return seats, read
}

func sizes(um ...shim.Length) []shim.Length {
	for i := range um {
		um[i] *= shim.Micrometre
	}
	return um
}

func exchangedStay(t *testing.T, s inventory.Store) {
	b, job := fittedWrong(t, s)
	_, err := b.CorrectFit(ctx, job, inventory.Correction{Lay: inventory.Exchanged([]shim.Valve{v("in1a"), v("ex2b")})})
	require.NoError(t, err)
	seats, read := b.holds(job)
	assert.Equal(t, sizes(2300, 2350), seats)
	assert.Equal(t, sizes(2300, 2350), read, "the readings count with the shims that lay there")
	assert.Equal(t, inventory.StateRechecked, b.state(job))
	basis, err := b.Basis(ctx, job)
	require.NoError(t, err)
	for _, m := range basis.Readings {
		if m.Valve == v("in1a") {
			assert.Equal(t, 2300*shim.Micrometre, m.Size(), "the next plan is made on what is in")
			assert.Equal(t, 225*shim.Micrometre, m.Reading.Low)
		}
	}
	assert.Equal(t, [][2]int{{}, {}}, [][2]int{b.on("2.35"), b.on("2.3")})
	b.sound()
}

func exchangedRight(t *testing.T, s inventory.Store) {
	b, job := fittedWrong(t, s)
	_, err := b.CorrectFit(ctx, job, inventory.Correction{Lay: inventory.Exchanged([]shim.Valve{v("in1a"), v("ex2b")}), PutRight: true})
	require.NoError(t, err)
	seats, read := b.holds(job)
	assert.Equal(t, sizes(2350, 2300), seats)
	assert.Equal(t, sizes(2300, 2350), read)
	f := b.file(job)
	assert.Contains(t, f.Unproven, "in1a is not measured since its shim was changed")
	_, err = b.CorrectFit(ctx, job, inventory.Correction{Lay: inventory.Exchanged([]shim.Valve{v("in1a"), v("ex2b")}), PutRight: true})
	require.ErrorIs(t, err, inventory.ErrState, "it was put right already, and nothing was read since")
	_, err = b.Read(ctx, job, again("0.175", "0.2"), "")
	require.NoError(t, err)
	assert.Equal(t, inventory.StateRechecked, b.state(job))
	_, read = b.holds(job)
	assert.Equal(t, sizes(2350, 2300), read)
	b.sound()
}

func anotherSize(t *testing.T, s inventory.Store) {
	b, job := fittedWrong(t, s)
	_, err := b.CorrectFit(ctx, job, inventory.Correction{Lay: []inventory.Lay{{Valve: v("in1a"), Marks: shim.Marks{Mic: 2300 * shim.Micrometre}}}})
	require.NoError(t, err)
	seats, read := b.holds(job)
	assert.Equal(t, sizes(2300, 2300), seats)
	assert.Equal(t, sizes(2300, 2300), read)
	assert.Equal(t, [][2]int{{}, {}}, [][2]int{b.on("2.35"), b.on("2.3")}, "no piece came or went")
	b.sound()
}

func anotherPiece(t *testing.T, s inventory.Store) {
	b, job := fittedWrong(t, s)
	b.stock(1, "2.4")
	_, err := b.CorrectFit(ctx, job, inventory.Correction{Lay: []inventory.Lay{{Valve: v("in1a"), Marks: shim.Marks{Stamp: 2400 * shim.Micrometre}}}})
	require.NoError(t, err)
	assert.Equal(t, [][2]int{{1}, {}}, [][2]int{b.on("2.35"), b.on("2.4")}, "2.35 never left the box")
	_, err = b.CorrectFit(ctx, job, inventory.Correction{Lay: []inventory.Lay{{Valve: v("in1a"), Marks: shim.Marks{Stamp: 2350 * shim.Micrometre}}}, PutRight: true})
	require.NoError(t, err)
	seats, _ := b.holds(job)
	assert.Equal(t, sizes(2400, 2300), seats)
	b.sound()
}

// neverFitted: a piece that lay in the box all along lies there as it did, new or
// used and in its bin, whatever was read in its valve since; put right, it is
// fitted, and what lay in the valve in fact is used from now on.
func neverFitted(t *testing.T, s inventory.Store) {
	for _, right := range []bool{false, true} {
		b := newBench(t, s)
		neat := func(size, bin string) inventory.Lot {
			return inventory.Lot{Family: shim.Family{Diameter: mm("8.9")}, Marks: shim.Marks{Stamp: mm(size)}, Bin: bin}
		}
		_, err := b.Receive(ctx, []inventory.Item{{Lot: neat("2.35", "N"), Count: 1}, {Lot: neat("2.4", "M"), Count: 1}})
		require.NoError(t, err)
		job := b.measured(map[string][2]string{"in1a": {"0.1", "2.425"}})
		require.NoError(t, b.plan(job, drawn("in1a", "2.35")))
		_, err = b.Fit(ctx, job, inventory.Fit{Bin: "U"})
		require.NoError(t, err)
		_, err = b.Read(ctx, job, []shim.Measurement{{Valve: v("in1a"), Reading: shim.ReadingOf(mm("0.13")), Marks: shim.Marks{Mic: mm("2.398")}}}, "")
		require.NoError(t, err)
		_, err = b.CorrectFit(ctx, job, inventory.Correction{Lay: []inventory.Lay{{Valve: v("in1a"), Marks: shim.Marks{Stamp: mm("2.4")}}}, PutRight: right})
		require.NoError(t, err)
		lots, err := b.Balances(ctx, inventory.StockFilter{})
		require.NoError(t, err)
		pulled := inventory.Lot{Family: shim.Family{Diameter: mm("8.9")}, Marks: shim.Marks{Stamp: mm("2.425")}, Used: true, Bin: "U"}
		there := neat("2.35", "N")
		if right {
			there = neat("2.4", "M")
			there.Used = true
		}
		require.Len(t, lots, 2)
		assert.Equal(t, []inventory.Lot{there, pulled}, []inventory.Lot{lots[0].Lot, lots[1].Lot})
		b.sound()
		_, err = b.Cancel(ctx, job, "")
		require.NoError(t, err)
		lots, err = b.Balances(ctx, inventory.StockFilter{})
		require.NoError(t, err)
		require.Len(t, lots, 2)
		assert.Equal(t, []inventory.Lot{neat("2.35", "N"), neat("2.4", "M")}, []inventory.Lot{lots[0].Lot, lots[1].Lot})
		_, err = b.Scrap(ctx, []inventory.Item{{Lot: lots[0].Lot, Count: 1}, {Lot: lots[1].Lot, Count: 1}})
		require.NoError(t, err)
	}
}

func cannotBe(t *testing.T, s inventory.Store) {
	b, job := fittedWrong(t, s)
	a, z := v("in1a"), v("ex2b")
	for name, c := range map[string]inventory.Correction{
		"nothing":          {},
		"twice":            {Lay: []inventory.Lay{{Valve: a, From: z}, {Valve: a, From: z}}},
		"no such valve":    {Lay: inventory.Exchanged([]shim.Valve{a, v("in9a")})},
		"its own":          {Lay: inventory.Exchanged([]shim.Valve{a})},
		"one side only":    {Lay: []inventory.Lay{{Valve: a, From: z}}},
		"its shim nowhere": {Lay: []inventory.Lay{{Valve: a, From: z}, {Valve: z, Marks: shim.Marks{Mic: 2400 * shim.Micrometre}}}},
		"no size":          {Lay: []inventory.Lay{{Valve: a, Marks: shim.Marks{Stamp: 22_000 * shim.Micrometre}}}},
	} {
		_, err := b.CorrectFit(ctx, job, c)
		assert.ErrorIs(t, err, inventory.ErrInvalid, name)
	}
	seats, _ := b.holds(job)
	assert.Equal(t, sizes(2350, 2300), seats, "nothing was booked")
	fresh := b.measured(map[string][2]string{"in1a": {"0.1", "2.425"}})
	_, err := b.CorrectFit(ctx, fresh, inventory.Correction{Lay: inventory.Exchanged([]shim.Valve{a, z})})
	require.ErrorIs(t, err, inventory.ErrState, "nothing was fitted")
	require.NoError(t, b.Close(ctx, job, true))
	_, err = b.CorrectFit(ctx, job, inventory.Correction{Lay: inventory.Exchanged([]shim.Valve{a, z})})
	require.ErrorIs(t, err, inventory.ErrState, "at its end")
	b.sound()
}

// stands checks that the fit of the bench's first plan stands and is rechecked.
func (b *bench) stands(job int64, state inventory.State) inventory.File {
	f := b.file(job)
	assert.Equal(b.t, state, f.Job.State)
	require.NotNil(b.t, f.Fitted)
	assert.Len(b.t, f.Fitted.Placements, 2, "the plan that was fitted")
	return f
}

// planOfNothing: a plan that changes no shim leaves the fit as it is.
func planOfNothing(t *testing.T, s inventory.Store) {
	b, job := fittedWrong(t, s)
	require.NoError(t, b.plan(job))
	f := b.stands(job, inventory.StateRechecked)
	assert.EqualValues(t, 1, f.Job.Plan, "nothing is kept")
	_, err := b.CorrectFit(ctx, job, inventory.Correction{Lay: inventory.Exchanged([]shim.Valve{v("in1a"), v("ex2b")}), PutRight: true})
	require.NoError(t, err)
	require.NoError(t, b.plan(job))
	b.stands(job, inventory.StateRechecked)
	c, err := b.Read(ctx, job, again("0.225", "0.15")[:1], "")
	require.NoError(t, err)
	assert.Equal(t, inventory.CheckRecheck, c.Kind)
	b.stands(job, inventory.StateRechecked)
	b.sound()
}

// planNotBegun: what is measured before a new plan is begun is a recheck of the
// fit that stands; what is on order for that plan stays with the job.
func planNotBegun(t *testing.T, s inventory.Store) {
	b, job := fittedWrong(t, s)
	require.NoError(t, b.plan(job, bought("ex1a", "2.5")))
	_, err := b.Order(ctx, nil)
	require.NoError(t, err)
	assert.EqualValues(t, 1, b.stands(job, inventory.StatePlanned).Fitted.Number)
	_, err = b.Read(ctx, job, again("0.225", "0.15"), "")
	require.NoError(t, err)
	f := b.stands(job, inventory.StateRechecked)
	assert.Equal(t, f.Fitted, f.Plan)
	assert.Empty(t, f.Left)
	require.Len(t, f.Purchases, 1)
	assert.Equal(t, 1, f.Purchases[0].Coming(), "the job keeps its order")
	require.NoError(t, b.plan(job, drawn("in1a", "2.425")))
	b.fitAll(job)
	f = b.file(job)
	require.NotNil(t, f.Fitted)
	assert.Len(t, f.Fitted.Placements, 1, "another shim was changed")
	b.sound()
}

// nothingMore: in the middle of a fit it turns out that the rest need not be done.
func nothingMore(t *testing.T, s inventory.Store) {
	b := newBench(t, s)
	b.stock(1, "2.35", "2.3")
	job := b.measured(map[string][2]string{"in1a": {"0.1", "2.425"}})
	require.NoError(t, b.plan(job, drawn("in1a", "2.35"), drawn("ex2b", "2.3")))
	_, err := b.Fit(ctx, job, inventory.Fit{Valves: []shim.Valve{v("in1a")}})
	require.NoError(t, err)
	f, err := b.Job(ctx, job)
	require.NoError(t, err)
	assert.Nil(t, f.Fitted, "not all of it")
	require.NoError(t, b.plan(job))
	for _, state := range []inventory.State{inventory.StateFitted, inventory.StateRechecked} {
		f = b.file(job)
		assert.Equal(t, state, f.Job.State)
		require.NotNil(t, f.Fitted)
		assert.EqualValues(t, 2, f.Fitted.Number)
		_, err = b.Read(ctx, job, again("0.225", "0.15"), "")
		require.NoError(t, err)
	}
	b.sound()
}

// nothingButOutside: in the middle of a fit a plan finds nothing for a valve that
// is outside. The plan that stands is kept, with what it holds and has on order.
func nothingButOutside(t *testing.T, s inventory.Store) {
	b := newBench(t, s)
	b.stock(1, "2.35", "2.3")
	job := b.measured(map[string][2]string{"in1a": {"0.1", "2.425"}, "in2a": {"0.1", "2.425"}, "ex2b": {"0.3", "2.2"}})
	require.NoError(t, b.plan(job, drawn("in1a", "2.35"), bought("in2a", "2.375"), drawn("ex2b", "2.3")))
	_, err := b.Order(ctx, nil)
	require.NoError(t, err)
	_, err = b.Fit(ctx, job, inventory.Fit{Valves: []shim.Valve{v("in1a")}})
	require.NoError(t, err)
	before := b.file(job)
	require.NoError(t, b.plan(job))
	after := b.file(job)
	assert.Equal(t, inventory.StateFitting, after.Job.State)
	assert.Equal(t, [][]inventory.Placement{before.Left, after.Plan.Placements}, [][]inventory.Placement{after.Left, before.Plan.Placements})
	assert.Equal(t, before.Purchases, after.Purchases)
	assert.Equal(t, before.Holds, after.Holds)
	require.NoError(t, b.plan(job, drawn("in2a", "2.3")), "it can be planned again")
	b.fitAll(job)
	b.sound()
}

// planOnMistake: what a correction books does not count for the plan that was
// made on the wrong shims, whatever valves that plan has.
func planOnMistake(t *testing.T, s inventory.Store) {
	b, job := fittedWrong(t, s)
	require.NoError(t, b.plan(job, drawn("in1a", "2.425")))
	_, err := b.CorrectFit(ctx, job, inventory.Correction{Lay: inventory.Exchanged([]shim.Valve{v("in1a"), v("ex2b")})})
	require.NoError(t, err)
	b.stands(job, inventory.StateRechecked)
	require.NoError(t, b.plan(job, drawn("in1b", "2.425")))
	b.stands(job, inventory.StatePlanned)
	_, err = b.Read(ctx, job, again("0.225", "0.15"), "")
	require.NoError(t, err)
	b.stands(job, inventory.StateRechecked)
	b.sound()
}

// correctionUndone: an undone correction leaves all as it was before, readings
// too, whether or not another one came between. It stands once its valve was
// measured again.
func correctionUndone(t *testing.T, s inventory.Store) {
	b, job := fittedWrong(t, s)
	b.stock(2, "2.375")
	swap := inventory.Exchanged([]shim.Valve{v("in1a"), v("ex2b")})
	one := func(marks shim.Marks) []inventory.Lay { return []inventory.Lay{{Valve: v("in1a"), Marks: marks}} }
	type facts struct {
		seats    []inventory.Seat
		since    []shim.Measurement
		expected []inventory.Expected
		state    inventory.State
		unproven []string
		box      [3][2]int
	}
	now := func() facts {
		f, err := b.Job(ctx, job)
		require.NoError(t, err)
		return facts{f.Seats, f.Since, f.Expected, f.Job.State, f.Unproven, [3][2]int{b.on("2.3"), b.on("2.35"), b.on("2.375")}}
	}
	var done []inventory.Receipt
	correct := func(c inventory.Correction) {
		r, err := b.CorrectFit(ctx, job, c)
		require.NoError(t, err)
		done = append(done, r)
	}
	undo := func() {
		_, err := b.Undo(ctx, done[len(done)-1].Batch, "")
		require.NoError(t, err)
		done = done[:len(done)-1]
	}
	kinds := []inventory.Correction{
		{Lay: swap}, {Lay: swap, PutRight: true},
		{Lay: one(shim.Marks{Mic: mm("2.345")})}, {Lay: one(shim.Marks{Stamp: mm("2.375")})}, {Lay: one(shim.Marks{Stamp: mm("2.375")}), PutRight: true},
	}
	before := now()
	for _, first := range kinds {
		correct(first)
		between := now()
		require.NotEqual(t, before, between)
		for _, second := range kinds {
			if first.PutRight && second.PutRight {
				continue // measure first
			}
			if !first.PutRight && reflect.DeepEqual(first.Lay, second.Lay) && first.Lay[0].From == (shim.Valve{}) {
				_, err := b.CorrectFit(ctx, job, second)
				require.ErrorIs(t, err, inventory.ErrInvalid, "the record has it already")
			} else {
				correct(second)
				undo()
			}
			require.Equal(t, between, now(), "%+v, then %+v undone", first, second)
		}
		undo()
		require.Equal(t, before, now(), "%+v undone", first)
	}
	correct(inventory.Correction{Lay: one(shim.Marks{Mic: mm("2.345")})})
	_, err := b.Read(ctx, job, again("0.23", "0.15"), "")
	require.NoError(t, err)
	_, err = b.Undo(ctx, done[0].Batch, "")
	require.ErrorIs(t, err, inventory.ErrInvalid)
	require.Contains(t, shim.HintOf(err), "correct")
	b.sound()
}
