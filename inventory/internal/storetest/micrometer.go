package storetest

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"shimwright/inventory"
	"shimwright/shim"
)

var micrometerTests = map[string]func(*testing.T, inventory.Store){
	"as it went in":                 givenUp("2.355", func(b *bench, job int64) { b.readIn(job, "in1a", "2.355") }),
	"its like was pulled later":     givenUp("2.355", likePulled),
	"planned and fitted again":      givenUp("2.355", fittedAgain),
	"as it came out":                givenUp("2.346", func(b *bench, job int64) { b.replaced(job, mm("2.35"), mm("2.346")) }),
	"read in, then stamped":         givenUp("2.355", stampedAgain),
	"at the recheck":                givenUp("2.352", func(b *bench, job int64) { b.fit(job, inventory.Fit{}); b.readAgain(job, "2.35", "2.352") }),
	"as the fit was corrected":      givenUp("2.348", corrected),
	"as it was kept":                givenUp("2.347", keptAndRead),
	"another shim came out":         givenUp("2.341", func(b *bench, job int64) { b.replaced(job, mm("2.325"), mm("2.341")) }),
	"the fit was undone":            givenUp("0", undone),
	"only read on a moved shim":     givenUp("0", movedAmongLikes),
	"moved a fit later":             givenUp("0", movedLater),
	"named by its reading":          namedByReading,
	"its like is gone since":        likeGone,
	"a seat keeps what was read":    seatKeepsReading,
	"what comes out keeps its size": outKeepsReading,
}

// The piece that the micrometer is put to, and one that it is not.
var (
	fromBox = piece("2.35", "A1", true)
	other   = piece("2.3", "B1", false)
)

// givenUp gives a job up after what was done: the piece is back in its bin, and
// the mic reading on it is known, "0" for none.
func givenUp(mic string, do func(*bench, int64)) func(*testing.T, inventory.Store) {
	return func(t *testing.T, s inventory.Store) {
		b := newBench(t, s)
		b.receive(fromBox, other)
		job := b.measured(map[string][2]string{"in1a": {"0.1", "2.425"}, "in2a": {"0.1", "2.35"}})
		require.NoError(t, b.plan(job, drawn("in1a", "2.35")))
		do(b, job)
		b.sound()
		_, err := b.Cancel(ctx, job, "")
		require.NoError(t, err)
		b.sound()
		is := fromBox
		if is.Mic = mm(mic); mic == "2.341" {
			is.Stamp = mm("2.325")
		}
		assert.Equal(t, map[inventory.Lot]int{is: 1, other: 1}, b.onHand())
	}
}

// namedByReading: stamp and mic reading name a piece of the box. It went in where
// nobody was promised it, and what was planned is free; else the planned piece is
// the one that was read.
func namedByReading(t *testing.T, s inventory.Store) {
	b := newBench(t, s)
	read := piece("2.35", "C1", false)
	read.Mic = mm("2.352")
	b.receive(fromBox, read)
	in := inventory.Fit{Bin: "U", In: []inventory.In{{Valve: v("in1a"), Marks: read.Marks}}}
	pulled := piece("2.425", "U", true)
	first := b.measured(map[string][2]string{"in1a": {"0.1", "2.425"}})
	require.NoError(t, b.plan(first, drawn("in1a", "2.35")))
	b.fit(first, in)
	assert.Equal(t, map[inventory.Lot]int{fromBox: 1, pulled: 1}, b.onHand())
	assert.Equal(t, [2]int{1, 0}, b.on("2.35"))
	assert.Equal(t, inventory.StateFitted, b.state(first))
	b.sound()

	b.receive(read)
	holder := b.measured(map[string][2]string{"in2a": {"0.1", "2.4"}})
	require.NoError(t, b.plan(holder, drawn("in2a", "2.352")))
	second := b.measured(map[string][2]string{"in1a": {"0.1", "2.425"}})
	require.NoError(t, b.plan(second, drawn("in1a", "2.35")))
	b.fit(second, in)
	assert.Equal(t, map[inventory.Lot]int{read: 1, pulled: 2}, b.onHand())
	b.sound()
	_, err := b.Cancel(ctx, holder, "")
	require.NoError(t, err)

	b.receive(fromBox)
	third := b.measured(map[string][2]string{"in1a": {"0.1", "2.425"}, "in2a": {"0.1", "2.4"}})
	require.NoError(t, b.plan(third, drawn("in1a", "2.35"), drawn("in2a", "2.352")))
	in.Valves = []shim.Valve{v("in1a")}
	b.fit(third, in)
	assert.Equal(t, map[inventory.Lot]int{read: 1, pulled: 3}, b.onHand(), "it is for in2a")
	b.fit(third, inventory.Fit{})
	b.sound()

	b.receive(fromBox, read)
	fourth := b.measured(map[string][2]string{"in1a": {"0.1", "2.425"}})
	require.NoError(t, b.plan(fourth, drawn("in1a", "2.35")))
	_, err = b.Scrap(ctx, []inventory.Item{{Lot: fromBox, Count: 1}})
	require.NoError(t, err)
	b.fit(fourth, in)
	b.sound()
}

// onHand lists all lots of the box.
func (b *bench) onHand() map[inventory.Lot]int {
	b.t.Helper()
	lots, err := b.Balances(ctx, inventory.StockFilter{})
	require.NoError(b.t, err)
	counts := map[inventory.Lot]int{}
	for _, l := range lots {
		counts[l.Lot] = l.Count
	}
	return counts
}

// fit books a fit; what comes out goes to bin A1 where none is told.
func (b *bench) fit(job int64, f inventory.Fit) inventory.Receipt {
	b.t.Helper()
	if f.Bin == "" {
		f.Bin = "A1"
	}
	r, err := b.Fit(ctx, job, f)
	require.NoError(b.t, err)
	return r
}

// readIn fits with a mic reading on the shim that goes into the valve.
func (b *bench) readIn(job int64, valve, mic string) inventory.Receipt {
	b.t.Helper()
	return b.fit(job, inventory.Fit{In: []inventory.In{{Valve: v(valve), Marks: shim.Marks{Mic: mm(mic)}}}})
}

// readAgain measures in1a once more and tells its shim; "0" tells nothing of it.
func (b *bench) readAgain(job int64, stamp, mic string) {
	b.t.Helper()
	_, err := b.Read(ctx, job, []shim.Measurement{{Valve: v("in1a"), Reading: shim.ReadingOf(mm("0.1")), Marks: shim.Marks{Stamp: mm(stamp), Mic: mm(mic)}}}, "")
	require.NoError(b.t, err)
}

// replaced fits in1a, and then another shim in its place: what came out is told.
func (b *bench) replaced(job int64, stamp, mic shim.Length) {
	b.t.Helper()
	b.fit(job, inventory.Fit{})
	b.readAgain(job, "0", "0")
	require.NoError(b.t, b.plan(job, drawn("in1a", "2.3")))
	b.fit(job, inventory.Fit{Bin: "U7", Out: []inventory.Out{{Valve: v("in1a"), Marks: shim.Marks{Stamp: stamp, Mic: mic}}}})
}

// likePulled pulls a shim like the one read into the bin that it was taken from.
func likePulled(b *bench, job int64) {
	b.readIn(job, "in1a", "2.355")
	b.readAgain(job, "0", "0")
	require.NoError(b.t, b.plan(job, drawn("in2a", "2.3")))
	b.fit(job, inventory.Fit{})
}

func fittedAgain(b *bench, job int64) {
	b.readIn(job, "in1a", "2.355")
	b.readAgain(job, "0", "0")
	require.NoError(b.t, b.plan(job, drawn("in1a", "2.3")))
	b.fit(job, inventory.Fit{})
}

func stampedAgain(b *bench, job int64) {
	b.readIn(job, "in1a", "2.355")
	b.readAgain(job, "2.35", "0")
	require.NoError(b.t, b.plan(job, drawn("in1a", "2.3")))
	b.fit(job, inventory.Fit{Out: []inventory.Out{{Valve: v("in1a"), Marks: shim.Marks{Stamp: mm("2.35")}}}})
}

func corrected(b *bench, job int64) {
	b.fit(job, inventory.Fit{})
	_, err := b.CorrectFit(ctx, job, inventory.Correction{Lay: []inventory.Lay{{Valve: v("in1a"), Marks: shim.Marks{Mic: mm("2.348")}}}})
	require.NoError(b.t, err)
}

func keptAndRead(b *bench, job int64) {
	b.fit(job, inventory.Fit{})
	b.fit(job, inventory.Fit{Instead: []inventory.Instead{{Valve: v("in1a")}}, Out: []inventory.Out{{Valve: v("in1a"), Marks: shim.Marks{Stamp: mm("2.35"), Mic: mm("2.347")}}}})
}

func undone(b *bench, job int64) {
	r := b.readIn(job, "in1a", "2.355")
	_, err := b.Undo(ctx, r.Batch, "")
	require.NoError(b.t, err)
}

// movedAmongLikes reads a shim that goes from valve to valve; its like lies in
// the bin where it is laid between.
func movedAmongLikes(b *bench, job int64) {
	require.NoError(b.t, b.plan(job, drawn("in2a", "2.3"), moved("in1a", "2.35", "in2a")))
	b.readIn(job, "in1a", "2.355")
}

// movedLater is movedAmongLikes in two fits.
func movedLater(b *bench, job int64) {
	require.NoError(b.t, b.plan(job, drawn("in2a", "2.3"), moved("in1a", "2.35", "in2a")))
	b.fit(job, inventory.Fit{Valves: []shim.Valve{v("in2a")}})
	b.readIn(job, "in1a", "2.355")
}

// likeGone gives up a job whose pulled shim was thrown away since: the piece read,
// which is like it, goes into the valve, and nothing is left in the box to know.
func likeGone(t *testing.T, s inventory.Store) {
	b := newBench(t, s)
	b.receive(fromBox, other)
	job := b.measured(map[string][2]string{"in1a": {"0.1", "2.425"}, "in2a": {"0.1", "2.35"}})
	require.NoError(t, b.plan(job, drawn("in1a", "2.35"), drawn("in2a", "2.3")))
	b.fit(job, inventory.Fit{Valves: []shim.Valve{v("in2a")}})
	b.readIn(job, "in1a", "2.355")
	_, err := b.Scrap(ctx, []inventory.Item{{Lot: fromBox, Count: 1}})
	require.NoError(t, err)
	_, err = b.Cancel(ctx, job, "")
	require.NoError(t, err)
	b.sound()
	assert.Equal(t, map[inventory.Lot]int{other: 1}, b.onHand())
}

// seatKeepsReading tells the stamp again of a shim whose size was read.
func seatKeepsReading(t *testing.T, s inventory.Store) {
	b := newBench(t, s)
	b.receive(fromBox)
	job := b.measured(nil)
	require.NoError(t, b.plan(job, drawn("in1a", "2.35")))
	b.readIn(job, "in1a", "2.355")
	b.readAgain(job, "2.35", "0")
	f := b.file(job)
	assert.Equal(t, mm("2.355"), f.Seats[0].Size())
	basis, err := b.Basis(ctx, job)
	require.NoError(t, err)
	assert.Equal(t, mm("2.355"), basis.Readings[0].Size(), "the next plan goes by it")
	b.readAgain(job, "2.375", "0")
	f = b.file(job)
	assert.Equal(t, mm("2.375"), f.Seats[0].Size(), "a shim of another stamp is another shim")
}

// outKeepsReading pulls a shim whose size was read and tells its stamp alone.
func outKeepsReading(t *testing.T, s inventory.Store) {
	b := newBench(t, s)
	b.receive(fromBox, other)
	job := b.measured(nil)
	require.NoError(t, b.plan(job, drawn("in1a", "2.35")))
	b.readIn(job, "in1a", "2.355")
	b.readAgain(job, "0", "0")
	require.NoError(t, b.plan(job, drawn("in1a", "2.3")))
	b.fit(job, inventory.Fit{Out: []inventory.Out{{Valve: v("in1a"), Marks: shim.Marks{Stamp: mm("2.35")}}}})
	is := fromBox
	is.Mic = mm("2.355")
	assert.Equal(t, 1, b.onHand()[is], b.onHand())
}
