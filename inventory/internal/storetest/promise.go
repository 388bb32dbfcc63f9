package storetest

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"shimwright/inventory"
	"shimwright/shim"
)

var promiseTests = map[string]func(*testing.T, inventory.Store){
	"a promise stands":               promiseStands,
	"a promise goes over":            promiseGoesOver,
	"the latest plan loses":          latestLoses,
	"found in another bin":           foundElsewhere,
	"taken from another bin":         takenElsewhere,
	"the very piece goes in":         veryPiece,
	"read as it went in":             readGoingIn,
	"a moved shim is read":           movedRead,
	"a promise comes back":           promiseBack,
	"from the box instead of bought": notBought,
}

// piece is a lot of 8.9 mm.
func piece(size, bin string, used bool) inventory.Lot {
	return inventory.Lot{Family: shim.Family{Diameter: mm("8.9")}, Marks: shim.Marks{Stamp: mm(size)}, Used: used, Bin: bin}
}

func (b *bench) receive(lots ...inventory.Lot) inventory.Receipt {
	b.t.Helper()
	var items []inventory.Item
	for _, l := range lots {
		items = append(items, inventory.Item{Lot: l, Count: 1})
	}
	r, err := b.Receive(ctx, items)
	require.NoError(b.t, err)
	return r
}

// promised is what the job's left valves get, by name.
func (b *bench) promised(job int64) map[string]inventory.Lot {
	b.t.Helper()
	f := b.file(job)
	lots := map[string]inventory.Lot{}
	for _, p := range f.Picks {
		if p.OnHand {
			lots[p.Valve.String()] = p.Lot
		}
	}
	return lots
}

// went is what a fit booked as going in.
func went(r inventory.Receipt) map[string]inventory.Lot {
	lots := map[string]inventory.Lot{}
	for _, m := range r.Movements {
		if m.Kind == inventory.KindFitted && m.Count < 0 {
			lots[m.Valve.String()] = m.Lot
		}
	}
	return lots
}

func promiseStands(t *testing.T, s inventory.Store) {
	b := newBench(t, s)
	fresh, other := piece("2.35", "B6", false), piece("2.35", "U20", true)
	b.receive(fresh)
	job := b.measured(nil)
	require.NoError(t, b.plan(job, drawn("in1a", "2.35")))
	want := map[string]inventory.Lot{"in1a": fresh}
	assert.Equal(t, want, b.promised(job))

	// Used pieces would be taken first, had the plan not been promised another.
	b.receive(other)
	assert.Equal(t, want, b.promised(job), "a delivery")
	second := b.measured(nil)
	require.NoError(t, b.plan(second, drawn("in1a", "2.35")))
	assert.Equal(t, want, b.promised(job), "another plan")
	assert.Equal(t, map[string]inventory.Lot{"in1a": other}, b.promised(second))
	r := b.fitAll(job)
	assert.Equal(t, want, went(r), "what was promised is what is booked")
	assert.Empty(t, r.Shifted)
	b.sound()
}

func promiseGoesOver(t *testing.T, s inventory.Store) {
	b := newBench(t, s)
	first, second, third := piece("2.35", "A1", true), piece("2.35", "A2", true), piece("2.35", "A3", false)
	b.receive(first, second)
	job := b.measured(nil)
	require.NoError(t, b.plan(job, drawn("in1a", "2.35")))
	require.Equal(t, map[string]inventory.Lot{"in1a": first}, b.promised(job))

	r, err := b.Scrap(ctx, []inventory.Item{{Lot: first, Count: 1}})
	require.NoError(t, err)
	assert.Equal(t, []inventory.Shift{{Job: job, From: first, To: second, Count: 1}}, r.Shifted)
	assert.Empty(t, r.Released)
	b.sound()

	r, err = b.Correct(ctx, second, third, 1, "")
	require.NoError(t, err)
	assert.Equal(t, []inventory.Shift{{Job: job, From: second, To: third, Count: 1}}, r.Shifted, "the promise goes with the piece")

	r, err = b.Scrap(ctx, []inventory.Item{{Lot: third, Count: 1}})
	require.NoError(t, err)
	assert.Empty(t, r.Shifted)
	require.Len(t, r.Released, 1)
	assert.Equal(t, third, r.Released[0].Lot)
	f := b.file(job)
	assert.Equal(t, 1, f.Job.Short)
	b.sound()
}

// The plan that was made last is short, whichever piece is gone; the older one
// gets the piece of the later.
func latestLoses(t *testing.T, s inventory.Store) {
	b := newBench(t, s)
	first, second := piece("2.35", "A1", true), piece("2.35", "A2", true)
	b.receive(first)
	older := b.measured(nil)
	require.NoError(t, b.plan(older, drawn("in1a", "2.35")))
	b.receive(second)
	later := b.measured(nil)
	require.NoError(t, b.plan(later, drawn("in1b", "2.35")))
	r, err := b.Scrap(ctx, []inventory.Item{{Lot: first, Count: 1}})
	require.NoError(t, err)
	require.Len(t, r.Released, 1)
	assert.Equal(t, later, r.Released[0].Job)
	assert.Equal(t, []inventory.Shift{{Job: older, From: first, To: second, Count: 1}}, r.Shifted)
	assert.Equal(t, map[string]inventory.Lot{"in1a": second}, b.promised(older))
	assert.Empty(t, b.promised(later))
	b.sound()
}

func foundElsewhere(t *testing.T, s inventory.Store) {
	b := newBench(t, s)
	here, there := piece("2.35", "A1", false), piece("2.35", "B1", false)
	b.receive(here)
	job := b.measured(nil)
	require.NoError(t, b.plan(job, drawn("in1a", "2.35")))
	count := func(l inventory.Lot, n int) inventory.Counting {
		return inventory.Counting{Family: shim.Family{Diameter: l.Diameter}, Marks: shim.Marks{Stamp: l.Stamp}, Bin: l.Bin, Count: n}
	}
	take := inventory.Stocktake{ByBin: true, Rows: []inventory.Counting{count(here, 0), count(there, 1)}}
	tally, err := b.Tally(ctx, take)
	require.NoError(t, err)
	r, err := b.Count(ctx, take, tally)
	require.NoError(t, err)
	assert.Equal(t, []inventory.Shift{{Job: job, From: here, To: there, Count: 1}}, r.Shifted)
	assert.Empty(t, r.Released)
	assert.Equal(t, map[string]inventory.Lot{"in1a": there}, b.promised(job))
	b.sound()
}

func takenElsewhere(t *testing.T, s inventory.Store) {
	b := newBench(t, s)
	first, second := piece("2.35", "A1", true), piece("2.35", "B2", true)
	b.receive(first)
	job := b.measured(nil)
	require.NoError(t, b.plan(job, drawn("in1a", "2.35")))
	b.receive(second)
	other := b.measured(nil)
	require.NoError(t, b.plan(other, drawn("in1a", "2.35")))

	_, err := b.Fit(ctx, job, inventory.Fit{Taken: []inventory.Taken{{Valve: v("in1a"), Bin: "C3"}}})
	require.ErrorIs(t, err, inventory.ErrShort, "none of that size lies there")
	_, err = b.Fit(ctx, job, inventory.Fit{Valves: []shim.Valve{v("in1a")}, Taken: []inventory.Taken{{Valve: v("in1b"), Bin: "B2"}}})
	require.ErrorIs(t, err, inventory.ErrInvalid, "in1b is not fitted")
	r, err := b.Fit(ctx, job, inventory.Fit{Taken: []inventory.Taken{{Valve: v("in1a"), Bin: "b2"}}})
	require.NoError(t, err)
	assert.Equal(t, map[string]inventory.Lot{"in1a": second}, went(r))
	assert.Equal(t, []inventory.Shift{{Job: other, From: second, To: first, Count: 1}}, r.Shifted, "the other job gets the piece that was left")
	b.sound()
}

func veryPiece(t *testing.T, s inventory.Store) {
	b := newBench(t, s)
	b.receive(piece("2.425", "A1", true), piece("2.35", "", true))
	job := b.measured(map[string][2]string{"in1a": {"0.1", "2.425"}, "ex2b": {"0.3", "2.3"}})
	require.NoError(t, b.plan(job, drawn("in1a", "2.35"), moved("ex2b", "2.425", "in1a")))
	// A micrometer reads another size on the shim of in1a than its stamp.
	pulled := inventory.Lot{Family: shim.Family{Diameter: mm("8.9")}, Marks: shim.Marks{Stamp: mm("2.425"), Mic: mm("2.418")}, Used: true, Bin: "tray"}
	taken, err := b.Fit(ctx, job, inventory.Fit{Valves: []shim.Valve{v("ex2b")}, Taken: []inventory.Taken{{Valve: v("ex2b"), Bin: "A1"}}})
	require.NoError(t, err)
	assert.Len(t, taken.Movements, 2, "another piece was taken: the shim of in1a stays in")
	_, err = b.Undo(ctx, taken.Batch, "")
	require.NoError(t, err)
	_, err = b.Fit(ctx, job, inventory.Fit{Out: []inventory.Out{{Valve: v("in1a"), Scrap: true}}})
	require.ErrorIs(t, err, inventory.ErrInvalid, "thrown away, and the piece in bin A1 is not the one that was planned")
	_, err = b.Fit(ctx, job, inventory.Fit{Valves: []shim.Valve{v("in1a")}, Bin: "tray", Out: []inventory.Out{{Valve: v("in1a"), Marks: shim.Marks{Stamp: mm("2.425"), Mic: mm("2.418")}}}})
	require.NoError(t, err)
	b.sound()
	assert.Equal(t, map[string]inventory.Lot{"ex2b": pulled}, b.promised(job))
	r := b.fitAll(job)
	assert.Equal(t, map[string]inventory.Lot{"ex2b": pulled}, went(r), "the piece in bin A1 stays there")
	f := b.file(job)
	assert.Equal(t, mm("2.418"), f.Seats[7].Size())
	b.sound()
}

func readGoingIn(t *testing.T, s inventory.Store) {
	b := newBench(t, s)
	lot := piece("2.35", "A1", true)
	b.receive(lot, lot)
	job := b.measured(nil)
	require.NoError(t, b.plan(job, drawn("in1a", "2.35"), bought("in1b", "2.4")))
	in := func(valve, stamp, mic string) inventory.Fit {
		return inventory.Fit{In: []inventory.In{{Valve: v(valve), Marks: shim.Marks{Stamp: mm(stamp), Mic: mm(mic)}}}}
	}
	_, err := b.Fit(ctx, job, in("in1a", "2.375", "2.352"))
	require.ErrorIs(t, err, inventory.ErrInvalid, "a shim of another stamp is another shim")
	_, err = b.Fit(ctx, job, in("in2a", "2.35", "2.352"))
	require.ErrorIs(t, err, inventory.ErrInvalid, "in2a gets none")
	f := in("in1a", "2.35", "2.352")
	f.In = append(f.In, inventory.In{Valve: v("in1b"), Marks: shim.Marks{Mic: mm("2.405")}})
	r, err := b.Fit(ctx, job, f)
	require.NoError(t, err)
	read := lot
	read.Mic = mm("2.352")
	assert.Equal(t, read, went(r)["in1a"])
	assert.Equal(t, 1, b.on("2.35")[0], "one of the two went in")
	file := b.file(job)
	assert.Equal(t, inventory.StateFitted, file.Job.State)
	assert.Equal(t, mm("2.352"), file.Seats[0].Size(), "what is expected of the valve goes by it")
	assert.Equal(t, mm("2.405"), file.Seats[1].Size())
	list, err := b.Shopping(ctx)
	require.NoError(t, err)
	assert.Empty(t, list, "the bought shim is in, whatever it measures")
	b.sound()

	// Taken back, the box is as it was; given up, what was read stays known.
	_, err = b.Undo(ctx, r.Batch, "")
	require.NoError(t, err)
	assert.Equal(t, 2, b.on("2.35")[0])
	assert.Equal(t, map[string]inventory.Lot{"in1a": lot}, b.promised(job))
	_, err = b.Fit(ctx, job, in("in1a", "2.35", "2.352"))
	require.NoError(t, err)
	_, err = b.Cancel(ctx, job, "")
	require.NoError(t, err)
	assert.Equal(t, [][2]int{{1}, {1}}, [][2]int{b.on("2.35"), b.on("2.352")})
	b.sound()
}

// A shim that moved between valves and was read on the way: the job can be given
// up, and the shim is back where it was, not in the box.
func movedRead(t *testing.T, s inventory.Store) {
	b := newBench(t, s)
	b.receive(piece("2.35", "A1", true))
	job := b.measured(map[string][2]string{"in1a": {"0.1", "2.425"}, "ex2b": {"0.3", "2.3"}})
	require.NoError(t, b.plan(job, drawn("in1a", "2.35"), moved("ex2b", "2.425", "in1a")))
	r, err := b.Fit(ctx, job, inventory.Fit{In: []inventory.In{{Valve: v("ex2b"), Marks: shim.Marks{Mic: mm("2.42")}}}})
	require.NoError(t, err)
	assert.Equal(t, mm("2.42"), went(r)["ex2b"].Mic)
	b.sound()
	_, err = b.Cancel(ctx, job, "")
	require.NoError(t, err)
	lots, err := b.Balances(ctx, inventory.StockFilter{})
	require.NoError(t, err)
	assert.Equal(t, []inventory.Balance{{Lot: piece("2.35", "A1", true), Count: 1}}, lots)
	b.sound()
}

func promiseBack(t *testing.T, s inventory.Store) {
	b := newBench(t, s)
	first, second := piece("2.35", "A1", true), piece("2.35", "A2", true)
	b.receive(first, second)
	job := b.measured(nil)
	require.NoError(t, b.plan(job, drawn("in1a", "2.35"), drawn("in1b", "2.35")))
	r, err := b.Fit(ctx, job, inventory.Fit{Valves: []shim.Valve{v("in1a")}})
	require.NoError(t, err)
	assert.Equal(t, map[string]inventory.Lot{"in1a": first}, went(r))
	assert.Equal(t, map[string]inventory.Lot{"in1b": second}, b.promised(job), "what is left keeps its piece")
	third := piece("2.35", "A0", true)
	b.receive(third)
	_, err = b.Undo(ctx, r.Batch, "")
	require.NoError(t, err)
	promised := b.promised(job)
	assert.ElementsMatch(t, []inventory.Lot{first, second}, []inventory.Lot{promised["in1a"], promised["in1b"]}, "not the piece that came in since")
	b.sound()
}

// A shim that was to be bought was taken from the box: it is not bought any more.
func notBought(t *testing.T, s inventory.Store) {
	b := newBench(t, s)
	job := b.measured(nil)
	require.NoError(t, b.plan(job, bought("in1a", "2.35")))
	b.receive(piece("2.35", "A1", true))
	r, err := b.Fit(ctx, job, inventory.Fit{Taken: []inventory.Taken{{Valve: v("in1a"), Bin: "A1"}}})
	require.NoError(t, err)
	for _, m := range r.Movements {
		assert.NotEqual(t, inventory.KindReceived, m.Kind)
	}
	list, err := b.Shopping(ctx)
	require.NoError(t, err)
	assert.Empty(t, list)
	b.sound()
}
