package storetest

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"shimwright/inventory"
	"shimwright/shim"
)

var boxTests = map[string]func(*testing.T, inventory.Store){
	"receive and scrap":          receiveAndScrap,
	"a batch is whole or not":    batchWhole,
	"bad rows":                   badRows,
	"correct":                    correct,
	"scrap takes from last plan": scrapTakesFromLastPlan,
}

func receiveAndScrap(t *testing.T, s inventory.Store) {
	b := newBench(t, s)
	in, err := b.Receive(ctx, []inventory.Item{
		{Lot: lot("2.4"), Count: 3, Quote: shim.Quote{Price: 78000, Priced: true}, Note: "tray"},
		{Lot: inventory.Lot{Family: shim.Family{Diameter: mm("8.9")}, Marks: shim.Marks{Stamp: mm("2.45"), Mic: mm("2.4")}, Used: true, Bin: "B2"}, Count: 2},
	})
	require.NoError(t, err)
	assert.EqualValues(t, 1, in.Batch)
	require.Len(t, in.Movements, 2)
	assert.Equal(t, "R. Example", in.Movements[0].Who)
	assert.Equal(t, [2]int{5, 0}, b.on("2.4"), "a shim with a mic reading is used at that size")

	out, err := b.Scrap(ctx, []inventory.Item{{Lot: lot("2.4"), Count: 1, Note: "pitted"}})
	require.NoError(t, err)
	assert.EqualValues(t, 3, out.Batch)
	assert.Equal(t, [2]int{4, 0}, b.on("2.4"))

	history, err := b.History(ctx, inventory.MovementFilter{Newest: true, Limit: 1})
	require.NoError(t, err)
	assert.Equal(t, out.Movements, history)
	b.sound()
}

func batchWhole(t *testing.T, s inventory.Store) {
	b := newBench(t, s)
	b.stock(2, "2.4")
	_, err := b.Scrap(ctx, []inventory.Item{{Lot: lot("2.4"), Count: 1}, {Lot: lot("2.4"), Count: 2}})
	require.ErrorIs(t, err, inventory.ErrShort)
	assert.Equal(t, [2]int{2, 0}, b.on("2.4"))
	_, err = b.Scrap(ctx, []inventory.Item{{Lot: inventory.Lot{Family: shim.Family{Diameter: mm("8.9")}, Marks: shim.Marks{Stamp: mm("2.4")}}, Count: 1}})
	assert.ErrorIs(t, err, inventory.ErrShort, "new pieces are another lot than used ones")
	b.sound()
}

func badRows(t *testing.T, s inventory.Store) {
	b := newBench(t, s)
	good := inventory.Item{Lot: lot("2.4"), Count: 1}
	for name, spoil := range map[string]func(*inventory.Item){
		"no pieces":           func(i *inventory.Item) { i.Count = 0 },
		"fewer than none":     func(i *inventory.Item) { i.Count = -1 },
		"a slipped count":     func(i *inventory.Item) { i.Count = 1 << 40 },
		"no diameter":         func(i *inventory.Item) { i.Diameter = 0 },
		"no size":             func(i *inventory.Item) { i.Stamp = 0 },
		"a slipped point":     func(i *inventory.Item) { i.Stamp = mm("24") },
		"a negative mic":      func(i *inventory.Item) { i.Mic = -mm("2.4") },
		"a bin of wild bytes": func(i *inventory.Item) { i.Bin = "\xff" },
		"a bin with a zero":   func(i *inventory.Item) { i.Bin = "a\x00b" },
		"a negative price":    func(i *inventory.Item) { i.Price = -1 },
	} {
		bad := good
		spoil(&bad)
		_, err := b.Receive(ctx, []inventory.Item{good, bad})
		assert.ErrorIs(t, err, inventory.ErrInvalid, name)
	}
	last, err := b.History(ctx, inventory.MovementFilter{})
	require.NoError(t, err)
	assert.Empty(t, last)
}

func correct(t *testing.T, s inventory.Store) {
	b := newBench(t, s)
	b.stock(3, "2.4")
	job := b.measured(nil)
	require.NoError(t, b.plan(job, drawn("in1a", "2.4"), drawn("in1b", "2.4"), drawn("in2a", "2.4")))

	binned := lot("2.4")
	binned.Bin = "B2"
	r, err := b.Correct(ctx, lot("2.4"), binned, 3, "sorted")
	require.NoError(t, err)
	assert.Empty(t, r.Released, "a plan keeps pieces that only moved to another bin")
	assert.Equal(t, [2]int{3, 3}, b.on("2.4"))

	measured := binned
	measured.Mic = mm("2.391")
	r, err = b.Correct(ctx, binned, measured, 1, "mic")
	require.NoError(t, err)
	require.Len(t, r.Released, 1, "a piece of another size is no longer what the plan counts on")
	assert.Equal(t, [2]int{2, 2}, b.on("2.4"))
	assert.Equal(t, [2]int{1, 0}, b.on("2.391"))
	_, err = b.Correct(ctx, binned, lot("2.4"), 5, "")
	require.ErrorIs(t, err, inventory.ErrShort)
	_, err = b.Correct(ctx, binned, binned, 1, "")
	require.ErrorIs(t, err, inventory.ErrInvalid)
	b.sound()
}

func scrapTakesFromLastPlan(t *testing.T, s inventory.Store) {
	b := newBench(t, s)
	b.stock(2, "2.45")
	first, second := b.measured(nil), b.measured(nil)
	require.NoError(t, b.plan(first, drawn("in1a", "2.45")))
	b.stock(1, "2.6")
	require.NoError(t, b.plan(second, drawn("in1a", "2.45")))

	r, err := b.Scrap(ctx, []inventory.Item{{Lot: lot("2.45"), Count: 1}})
	require.NoError(t, err)
	require.Len(t, r.Released, 1)
	assert.Equal(t, second, r.Released[0].Job)
	f := b.file(second)
	assert.Equal(t, 1, f.Job.Short)

	_, err = b.Fit(ctx, second, inventory.Fit{})
	require.ErrorIs(t, err, inventory.ErrStale)
	assert.Equal(t, inventory.StatePlanned, b.state(second), "nothing was booked")
	b.fitAll(first)
	require.NoError(t, b.plan(second, drawn("in1a", "2.6")), "planned again on demand")
	b.fitAll(second)
	b.sound()
}

var countTests = map[string]func(*testing.T, inventory.Store){
	"difference, then booked": countDifference,
	"used and new":            countUsedAndNew,
	"bins":                    countBins,
	"new stays new":           countKeepsNew,
}

func countDifference(t *testing.T, s inventory.Store) {
	b := newBench(t, s)
	b.stock(3, "2.4", "2.5", "2.6")
	take := inventory.Stocktake{Whole: true, Rows: []inventory.Counting{
		{Family: shim.Family{Diameter: mm("8.9")}, Marks: shim.Marks{Stamp: mm("2.4")}, Count: 3}, {Family: shim.Family{Diameter: mm("8.9")}, Marks: shim.Marks{Stamp: mm("2.5")}, Count: 1}, {Family: shim.Family{Diameter: mm("8.9")}, Marks: shim.Marks{Stamp: mm("2.55")}, Count: 2},
	}}
	tally, err := b.Tally(ctx, take)
	require.NoError(t, err)
	want := []inventory.Difference{{Lot: lot("2.5"), Was: 3, Is: 1}, {Lot: lot("2.55"), Is: 2}, {Lot: lot("2.6"), Was: 3}}
	assert.Equal(t, want, tally)
	assert.Equal(t, [2]int{3, 0}, b.on("2.5"), "a tally books nothing")

	b.stock(1, "2.5")
	_, err = b.Count(ctx, take, tally)
	require.ErrorIs(t, err, inventory.ErrStale)
	tally, err = b.Tally(ctx, take)
	require.NoError(t, err)
	_, err = b.Count(ctx, take, tally)
	require.NoError(t, err)
	assert.Equal(t, [][2]int{{3}, {1}, {2}, {}}, [][2]int{b.on("2.4"), b.on("2.5"), b.on("2.55"), b.on("2.6")})
	tally, err = b.Tally(ctx, take)
	require.NoError(t, err)
	assert.Empty(t, tally)

	take.Rows = append(take.Rows, take.Rows[0])
	_, err = b.Tally(ctx, take)
	require.ErrorIs(t, err, inventory.ErrInvalid, "a size that is counted twice")
	b.sound()
}

func countUsedAndNew(t *testing.T, s inventory.Store) {
	b := newBench(t, s)
	fresh := inventory.Lot{Family: shim.Family{Diameter: mm("8.9")}, Marks: shim.Marks{Stamp: mm("2.4")}}
	_, err := b.Receive(ctx, []inventory.Item{{Lot: fresh, Count: 2}, {Lot: lot("2.4"), Count: 2}})
	require.NoError(t, err)
	for _, c := range []struct {
		count int
		want  []inventory.Difference
	}{
		{4, nil},
		{3, []inventory.Difference{{Lot: lot("2.4"), Was: 2, Is: 1}}},
		{1, []inventory.Difference{{Lot: fresh, Was: 2, Is: 1}, {Lot: lot("2.4"), Was: 2}}},
		{6, []inventory.Difference{{Lot: lot("2.4"), Was: 2, Is: 4}}},
	} {
		tally, err := b.Tally(ctx, inventory.Stocktake{Rows: []inventory.Counting{{Family: shim.Family{Diameter: mm("8.9")}, Marks: shim.Marks{Stamp: mm("2.4")}, Count: c.count}}})
		require.NoError(t, err)
		assert.Equal(t, c.want, tally, "%d counted", c.count)
	}
}

// Pieces that are missing from one bin and found in another were put there.
func countKeepsNew(t *testing.T, s inventory.Store) {
	b := newBench(t, s)
	in := func(bin string, used bool) inventory.Lot {
		return inventory.Lot{Family: shim.Family{Diameter: mm("8.9")}, Marks: shim.Marks{Stamp: mm("2.4")}, Used: used, Bin: bin}
	}
	_, err := b.Receive(ctx, []inventory.Item{{Lot: in("A", false), Count: 2}, {Lot: in("A", true), Count: 1}, {Lot: in("B", false), Count: 1}})
	require.NoError(t, err)
	row := func(bin string, n int) inventory.Counting {
		return inventory.Counting{Family: shim.Family{Diameter: mm("8.9")}, Marks: shim.Marks{Stamp: mm("2.4")}, Bin: bin, Count: n}
	}
	for name, c := range map[string]struct {
		rows []inventory.Counting
		want []inventory.Difference
	}{
		"all of A is in B":    {[]inventory.Counting{row("A", 0), row("B", 4)}, []inventory.Difference{{Lot: in("A", false), Was: 2}, {Lot: in("B", false), Was: 1, Is: 3}, {Lot: in("A", true), Was: 1}, {Lot: in("B", true), Is: 1}}},
		"one, and one more":   {[]inventory.Counting{row("A", 1), row("B", 3)}, []inventory.Difference{{Lot: in("A", false), Was: 2, Is: 1}, {Lot: in("B", false), Was: 1, Is: 2}, {Lot: in("A", true), Was: 1}, {Lot: in("B", true), Is: 1}}},
		"found, none missing": {[]inventory.Counting{row("C", 1)}, []inventory.Difference{{Lot: in("C", true), Is: 1}}},
		"to an empty bin":     {[]inventory.Counting{row("B", 0), row("C", 1)}, []inventory.Difference{{Lot: in("B", false), Was: 1}, {Lot: in("C", false), Is: 1}}},
	} {
		tally, err := b.Tally(ctx, inventory.Stocktake{Rows: c.rows, ByBin: true})
		require.NoError(t, err, name)
		assert.ElementsMatch(t, c.want, tally, name)
	}
}

func countBins(t *testing.T, s inventory.Store) {
	b := newBench(t, s)
	in := func(bin string) inventory.Lot { l := lot("2.4"); l.Bin = bin; return l }
	_, err := b.Receive(ctx, []inventory.Item{{Lot: in("A"), Count: 2}, {Lot: in("B"), Count: 2}})
	require.NoError(t, err)
	row := func(bin string, n int) inventory.Counting {
		return inventory.Counting{Family: shim.Family{Diameter: mm("8.9")}, Marks: shim.Marks{Stamp: mm("2.4")}, Bin: bin, Count: n}
	}
	for name, c := range map[string]struct {
		take inventory.Stocktake
		want []inventory.Difference
	}{
		"across bins": {inventory.Stocktake{Rows: []inventory.Counting{row("", 1)}, Whole: true}, []inventory.Difference{{Lot: in("A"), Was: 2}, {Lot: in("B"), Was: 2, Is: 1}}},
		"one bin":     {inventory.Stocktake{Rows: []inventory.Counting{row("B", 1)}, ByBin: true, Whole: true}, []inventory.Difference{{Lot: in("B"), Was: 2, Is: 1}}},
		"moved":       {inventory.Stocktake{Rows: []inventory.Counting{row("A", 0), row("B", 4)}, ByBin: true}, []inventory.Difference{{Lot: in("A"), Was: 2}, {Lot: in("B"), Was: 2, Is: 4}}},
	} {
		tally, err := b.Tally(ctx, c.take)
		require.NoError(t, err, name)
		assert.Equal(t, c.want, tally, name)
	}
	_, err = b.Tally(ctx, inventory.Stocktake{Rows: []inventory.Counting{row("A", 1)}})
	require.ErrorIs(t, err, inventory.ErrInvalid)
}
