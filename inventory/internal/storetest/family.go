package storetest

import (
	"errors"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"shimwright/inventory"
	"shimwright/inventory/sample"
	"shimwright/shim"
)

var familyTests = map[string]func(*testing.T, inventory.Store){
	"rows":             familyRows,
	"a plan":           familyPlan,
	"a fit":            familyFit,
	"a correction":     familyCorrection,
	"orders":           familyOrders,
	"counts":           familyCounts,
	"promises":         familyPromises,
	"a stale plan":     familyStale,
	"another version":  familyVersion,
	"a tampered piece": familySeals,
}

// The Phalarope's two families of shims.
var (
	discs   = shim.Family{Diameter: mm("7.5")}
	closers = shim.Family{Kind: "closer", Diameter: mm("7.5")}
)

// newOf are new pieces of a family, sized by their stamp.
func newOf(f shim.Family, size string) inventory.Lot {
	return inventory.Lot{Family: f, Marks: shim.Marks{Stamp: mm(size)}}
}

func (b *bench) takeIn(f shim.Family, count int, sizes ...string) {
	b.t.Helper()
	for _, size := range sizes {
		_, err := b.Receive(ctx, []inventory.Item{{Lot: newOf(f, size), Count: count}})
		require.NoError(b.t, err)
	}
}

// has gives what is on hand and reserved of a family's size.
func (b *bench) has(f shim.Family, size string) [2]int {
	b.t.Helper()
	list, err := b.Stocks(ctx, inventory.StockFilter{Disc: f.Of(mm(size))})
	require.NoError(b.t, err)
	if len(list) == 0 {
		return [2]int{}
	}
	require.Len(b.t, list, 1)
	return [2]int{list[0].OnHand, list[0].Reserved}
}

// phalarope opens one and reads it: every valve 0.10 with a shim of 2.400.
func (b *bench) phalarope() int64 {
	b.t.Helper()
	spec := sample.Phalarope()
	job, err := b.OpenJob(ctx, inventory.Opening{Spec: spec, Source: "phalarope"})
	require.NoError(b.t, err)
	var list []shim.Measurement
	for _, valve := range spec.Valves() {
		list = append(list, shim.Measurement{Valve: valve, Reading: shim.ReadingOf(mm("0.1")), Marks: shim.Marks{Stamp: mm("2.4")}})
	}
	_, err = b.Read(ctx, job.ID, list, "")
	require.NoError(b.t, err)
	return job.ID
}

func familyRows(t *testing.T, s inventory.Store) {
	families := []shim.Family{discs, closers}
	update(t, s, func(w inventory.Writer) {
		job := addJob(t, w, "e")
		for i, f := range families {
			l := newOf(f, "2.5")
			n := i + 2
			require.NoError(t, w.Append(inventory.Movement{Seq: int64(i + 1), Batch: int64(i + 1), Time: noon, Kind: inventory.KindReceived, Lot: l, Count: n}))
			require.NoError(t, w.PutBalance(inventory.Balance{Lot: l, Count: n}))
			require.NoError(t, w.PutStock(inventory.Stock{Disc: l.Disc(), OnHand: n, Reserved: 1}))
			require.NoError(t, w.PutRevision(inventory.Revision{Family: f, Number: int64(n)}))
			require.NoError(t, w.PutHold(inventory.Hold{Job: job.ID, Lot: l, Count: n}))
			require.NoError(t, w.PutPurchase(inventory.Purchase{Job: job.ID, Disc: l.Disc(), Needed: n}))
			require.NoError(t, w.PutTally(inventory.Tally{Group: inventory.Group{What: inventory.Lots, Disc: l.Disc()}, Count: int64(n)}))
		}
	})
	view(t, s, func(r inventory.Reader) {
		for i, f := range families {
			l, n := newOf(f, "2.5"), i+2
			for _, filter := range []shim.Disc{l.Disc(), f.Of(0)} {
				moves, err := r.Movements(inventory.MovementFilter{Disc: filter})
				require.NoError(t, err)
				require.Len(t, moves, 1)
				assert.Equal(t, l, moves[0].Lot)
				lots, err := r.Balances(inventory.StockFilter{Disc: filter})
				require.NoError(t, err)
				assert.Equal(t, []inventory.Balance{{Lot: l, Count: n}}, lots)
				stocks, err := r.Stocks(inventory.StockFilter{Disc: filter})
				require.NoError(t, err)
				assert.Equal(t, []inventory.Stock{{Disc: l.Disc(), OnHand: n, Reserved: 1}}, stocks)
				holds, err := r.Holds(inventory.HoldFilter{Disc: filter})
				require.NoError(t, err)
				assert.Equal(t, []inventory.Hold{{Job: 1, Lot: l, Count: n}}, holds)
				purchases, err := r.Purchases(inventory.HoldFilter{Disc: filter})
				require.NoError(t, err)
				assert.Equal(t, []inventory.Purchase{{Job: 1, Disc: l.Disc(), Needed: n}}, purchases)
				for _, what := range []string{inventory.Movements, inventory.Lots, inventory.Sizes, inventory.Holds, inventory.Purchases} {
					rows, err := r.Rows(inventory.Group{What: what, Disc: filter})
					require.NoError(t, err)
					assert.EqualValues(t, 1, rows, what)
				}
			}
			balance, err := r.Balance(l)
			require.NoError(t, err)
			assert.Equal(t, n, balance.Count)
			stock, err := r.Stock(l.Disc())
			require.NoError(t, err)
			assert.Equal(t, n, stock.OnHand)
			revision, err := r.Revision(f)
			require.NoError(t, err)
			assert.EqualValues(t, n, revision.Number)
			tally, err := r.Tally(inventory.Group{What: inventory.Lots, Disc: l.Disc()})
			require.NoError(t, err)
			assert.EqualValues(t, n, tally.Count)
		}
		// A kind alone includes all its diameters; an empty filter includes all.
		kind, err := r.Balances(inventory.StockFilter{Disc: shim.Disc{Family: shim.Family{Kind: "closer"}}})
		require.NoError(t, err)
		assert.Len(t, kind, 1)
		all, err := r.Balances(inventory.StockFilter{})
		require.NoError(t, err)
		assert.Len(t, all, 2)
		revisions, err := r.Revisions()
		require.NoError(t, err)
		assert.Equal(t, []inventory.Revision{{Family: discs, Number: 2}, {Family: closers, Number: 3}}, revisions)
	})
	// Removed rows are the family's own.
	update(t, s, func(w inventory.Writer) {
		l := newOf(closers, "2.5")
		require.NoError(t, w.PutHold(inventory.Hold{Job: 1, Lot: l}))
		require.NoError(t, w.PutPurchase(inventory.Purchase{Job: 1, Disc: l.Disc()}))
		require.NoError(t, w.PutBalance(inventory.Balance{Lot: l}))
		require.NoError(t, w.PutStock(inventory.Stock{Disc: l.Disc()}))
		require.NoError(t, w.PutTally(inventory.Tally{Group: inventory.Group{What: inventory.Lots, Disc: l.Disc()}}))
	})
	view(t, s, func(r inventory.Reader) {
		for _, what := range []string{inventory.Lots, inventory.Sizes, inventory.Holds, inventory.Purchases} {
			rows, err := r.Rows(inventory.Group{What: what, Disc: discs.Of(mm("2.5"))})
			require.NoError(t, err)
			assert.EqualValues(t, 1, rows, what)
		}
		tallies, err := r.Tallies()
		require.NoError(t, err)
		assert.Equal(t, []inventory.Tally{{Group: inventory.Group{What: inventory.Lots, Disc: discs.Of(mm("2.5"))}, Count: 2}}, tallies)
	})
}

func familyPlan(t *testing.T, s inventory.Store) {
	b := newBench(t, s)
	job := b.phalarope()
	b.takeIn(discs, 1, "2.5")
	basis, err := b.Basis(ctx, job)
	require.NoError(t, err)
	assert.Equal(t, []inventory.Stock{{Disc: discs.Of(mm("2.5")), OnHand: 1}}, basis.Free)
	require.ErrorIs(t, b.plan(job, drawn("in1.closer", "2.5")), inventory.ErrShort, "a closer takes no disc")
	require.ErrorIs(t, b.plan(job, moved("in1.closer", "2.4", "in1"), moved("in1", "2.4", "in1.closer")), inventory.ErrInvalid)
	b.takeIn(closers, 1, "2.5")
	require.NoError(t, b.plan(job, drawn("in1", "2.5"), drawn("in1.closer", "2.5")))
	assert.Equal(t, [2]int{1, 1}, b.has(discs, "2.5"))
	assert.Equal(t, [2]int{1, 1}, b.has(closers, "2.5"))
	require.NoError(t, b.plan(job, moved("in1.closer", "2.4", "ex1.closer"), moved("ex1.closer", "2.4", "in1.closer")))
	require.ErrorIs(t, b.plan(job, drawn("in1.closer", "2.5"), drawn("ex1.closer", "2.5")), inventory.ErrShort)
	b.sound()
}

func familyFit(t *testing.T, s inventory.Store) {
	b := newBench(t, s)
	job := b.phalarope()
	b.takeIn(discs, 2, "2.5")
	b.takeIn(closers, 1, "2.5")
	require.NoError(t, b.plan(job, drawn("in1", "2.5"), drawn("in1.closer", "2.5"), bought("ex1.closer", "2.55")))
	f, err := b.Shop.Job(ctx, job)
	require.NoError(t, err)
	for _, p := range f.Picks {
		if p.OnHand {
			assert.Equal(t, f.Engine.Spec.FamilyOf(p.Valve), p.Lot.Family, "%s", p.Valve)
		}
	}
	fitted, err := b.Fit(ctx, job, inventory.Fit{})
	require.NoError(t, err)
	assert.Equal(t, [2]int{1, 0}, b.has(discs, "2.5"))
	assert.Equal(t, [2]int{}, b.has(closers, "2.5"))
	assert.Equal(t, [2]int{1, 0}, b.has(discs, "2.4"))
	assert.Equal(t, [2]int{2, 0}, b.has(closers, "2.4"), "out of both closers")
	assert.Equal(t, [2]int{}, b.has(discs, "2.55"))
	_, err = b.Fit(ctx, job, inventory.Fit{Instead: []inventory.Instead{{Valve: v("ex1.closer"), Size: mm("2.5")}}})
	require.ErrorIs(t, err, inventory.ErrShort, "the box has discs of 2.5 alone")
	_, err = b.Undo(ctx, fitted.Batch, "")
	require.NoError(t, err)
	assert.Equal(t, [2]int{2, 1}, b.has(discs, "2.5"))
	assert.Equal(t, [2]int{1, 1}, b.has(closers, "2.5"))
	assert.Equal(t, [2]int{}, b.has(closers, "2.4"))
	_, err = b.Fit(ctx, job, inventory.Fit{})
	require.NoError(t, err)
	_, err = b.Cancel(ctx, job, "")
	require.NoError(t, err)
	assert.Equal(t, [2]int{2, 0}, b.has(discs, "2.5"))
	assert.Equal(t, [2]int{1, 0}, b.has(closers, "2.5"))
	assert.Equal(t, [2]int{1, 0}, b.has(closers, "2.55"), "what was bought stays")
	b.sound()
}

func familyCorrection(t *testing.T, s inventory.Store) {
	b := newBench(t, s)
	job := b.phalarope()
	b.takeIn(discs, 1, "2.5", "2.55")
	b.takeIn(closers, 1, "2.45", "2.475")
	require.NoError(t, b.plan(job, drawn("in1", "2.5"), drawn("in1.closer", "2.45"), drawn("ex1.closer", "2.475")))
	_, err := b.Fit(ctx, job, inventory.Fit{})
	require.NoError(t, err)
	_, err = b.CorrectFit(ctx, job, inventory.Correction{Lay: inventory.Exchanged([]shim.Valve{v("in1"), v("in1.closer")})})
	require.ErrorIs(t, err, inventory.ErrInvalid, "a closer's shim does not go under an opener")
	_, err = b.CorrectFit(ctx, job, inventory.Correction{Lay: inventory.Exchanged([]shim.Valve{v("in1.closer"), v("ex1.closer")})})
	require.NoError(t, err)
	_, err = b.CorrectFit(ctx, job, inventory.Correction{Lay: []inventory.Lay{{Valve: v("in1.closer"), Marks: shim.Marks{Stamp: mm("2.55")}}}})
	require.ErrorIs(t, err, inventory.ErrShort, "the box has a disc of 2.55 alone")
	f, err := b.Shop.Job(ctx, job)
	require.NoError(t, err)
	for _, m := range f.Movements {
		assert.Equal(t, f.Engine.Spec.FamilyOf(m.Valve), m.Family, "movement %d", m.Seq)
	}
	b.sound()
}

func familyOrders(t *testing.T, s inventory.Store) {
	b := newBench(t, s)
	job := b.phalarope()
	require.NoError(t, b.plan(job, bought("in1", "2.5"), bought("in1.closer", "2.5"), bought("ex1.closer", "2.5")))
	list, err := b.Shopping(ctx)
	require.NoError(t, err)
	require.Len(t, list, 2)
	assert.Equal(t, []int{1, 2}, []int{list[0].Missing, list[1].Missing})
	assert.Equal(t, closers, list[1].Family)
	_, err = b.Order(ctx, []inventory.OrderLine{{Disc: discs.Of(mm("2.5")), Count: 2}})
	require.ErrorIs(t, err, inventory.ErrInvalid)
	_, err = b.Order(ctx, nil)
	require.NoError(t, err)
	_, err = b.Arrived(ctx, []inventory.Item{{Lot: newOf(discs, "2.5"), Count: 3}})
	require.NoError(t, err)
	f, err := b.Shop.Job(ctx, job)
	require.NoError(t, err)
	require.Len(t, f.Purchases, 2)
	assert.Equal(t, []int{1, 0}, []int{f.Purchases[0].Arrived, f.Purchases[1].Arrived}, "discs are not what the closers wait for")
	assert.Equal(t, [2]int{3, 1}, b.has(discs, "2.5"))
	waits, err := b.Awaited(ctx, closers.Of(mm("2.5")))
	require.NoError(t, err)
	assert.Equal(t, 2, waits.Open)
	came, err := b.Arrived(ctx, []inventory.Item{{Lot: newOf(closers, "2.5"), Count: 2}})
	require.NoError(t, err)
	assert.Equal(t, [2]int{2, 2}, b.has(closers, "2.5"))
	_, err = b.Undo(ctx, came.Batch, "")
	require.NoError(t, err)
	waits, err = b.Awaited(ctx, closers.Of(mm("2.5")))
	require.NoError(t, err)
	assert.Equal(t, 2, waits.Open)
	b.sound()
	// What a cancelled job has on order is the shop's, and goes to closers alone.
	_, err = b.Cancel(ctx, job, "")
	require.NoError(t, err)
	other := b.phalarope()
	require.NoError(t, b.plan(other, bought("in1", "2.5"), bought("in1.closer", "2.5")))
	list, err = b.Shopping(ctx)
	require.NoError(t, err)
	got := map[shim.Family][3]int{}
	for _, d := range list {
		sum := got[d.Family]
		got[d.Family] = [3]int{sum[0] + d.Missing, sum[1] + d.Coming, sum[2] + d.Spare}
	}
	assert.Equal(t, map[shim.Family][3]int{discs: {1, 0, 0}, closers: {0, 2, 1}}, got)
	b.sound()
}

func familyCounts(t *testing.T, s inventory.Store) {
	b := newBench(t, s)
	b.takeIn(discs, 3, "2.5")
	b.takeIn(closers, 2, "2.5", "2.6")
	take := inventory.Stocktake{Whole: true, Rows: []inventory.Counting{{Family: closers, Marks: shim.Marks{Stamp: mm("2.5")}, Count: 1}}}
	tally, err := b.Tally(ctx, take)
	require.NoError(t, err)
	require.Len(t, tally, 2, "2.5 and 2.6 of the closers")
	_, err = b.Count(ctx, take, tally)
	require.NoError(t, err)
	assert.Equal(t, [2]int{3, 0}, b.has(discs, "2.5"))
	assert.Equal(t, [2]int{1, 0}, b.has(closers, "2.5"))
	assert.Equal(t, [2]int{}, b.has(closers, "2.6"))
	// A piece booked into the wrong family is corrected.
	_, err = b.Correct(ctx, newOf(discs, "2.5"), newOf(closers, "2.5"), 1, "")
	require.NoError(t, err)
	assert.Equal(t, [2]int{2, 0}, b.has(discs, "2.5"))
	assert.Equal(t, [2]int{2, 0}, b.has(closers, "2.5"))
	families, err := b.Families(ctx)
	require.NoError(t, err)
	assert.Equal(t, []shim.Family{discs, closers}, families)
	b.sound()
}

func familyPromises(t *testing.T, s inventory.Store) {
	b := newBench(t, s)
	job := b.phalarope()
	b.takeIn(discs, 2, "2.5")
	b.takeIn(closers, 1, "2.5")
	require.NoError(t, b.plan(job, drawn("in1", "2.5"), drawn("in1.closer", "2.5")))
	scrapped, err := b.Scrap(ctx, []inventory.Item{{Lot: newOf(closers, "2.5"), Count: 1}})
	require.NoError(t, err)
	require.Len(t, scrapped.Released, 1, "no disc takes its place")
	assert.Equal(t, closers, scrapped.Released[0].Family)
	assert.Equal(t, [2]int{2, 1}, b.has(discs, "2.5"))
	_, err = b.Fit(ctx, job, inventory.Fit{})
	require.ErrorIs(t, err, inventory.ErrStale)
	b.sound()
}

func familyStale(t *testing.T, s inventory.Store) {
	b := newBench(t, s)
	job := b.phalarope()
	for _, f := range []shim.Family{discs, closers} {
		basis, err := b.Basis(ctx, job)
		require.NoError(t, err)
		b.takeIn(f, 1, "2.5")
		_, err = b.PlanTogether(ctx, []inventory.Proposal{{Job: job, Revision: basis.Revision}})
		require.ErrorIs(t, err, inventory.ErrStale, "%s", f)
	}
	basis, err := b.Basis(ctx, job)
	require.NoError(t, err)
	b.takeIn(shim.Family{Kind: "cap", Diameter: mm("7.5")}, 1, "2.5")
	_, err = b.PlanTogether(ctx, []inventory.Proposal{{Job: job, Revision: basis.Revision}})
	require.NoError(t, err, "a family that the engine does not take")
}

func familyVersion(t *testing.T, s inventory.Store) {
	b := newBench(t, s)
	job := b.phalarope()
	spec := sample.Phalarope()
	spec.Exhaust.Closer.Family.Kind = "other closer"
	_, err := b.EditJob(ctx, job, nil, &inventory.Opening{Spec: spec, Source: "other"})
	require.ErrorIs(t, err, inventory.ErrInvalid, "its exhaust closers take other shims")
}

// A row moved to another family does not match its seal.
func familySeals(t *testing.T, s inventory.Store) {
	b := newBench(t, s)
	b.takeIn(discs, 1, "2.5")
	lots, stocks := []inventory.Balance(nil), []inventory.Stock(nil)
	require.NoError(t, s.View(ctx, func(r inventory.Reader) (err error) {
		if lots, err = r.Balances(inventory.StockFilter{}); err == nil {
			stocks, err = r.Stocks(inventory.StockFilter{})
		}
		return err
	}))
	require.NoError(t, s.Update(ctx, func(w inventory.Writer) error {
		// The old rows go, so that no count tells.
		none, gone := inventory.Balance{Lot: lots[0].Lot}, inventory.Stock{Disc: stocks[0].Disc}
		lot, stock := lots[0], stocks[0]
		lot.Kind, stock.Kind = "closer", "closer"
		return errors.Join(w.PutBalance(none), w.PutStock(gone), w.PutBalance(lot), w.PutStock(stock))
	}))
	_, err := b.Balances(ctx, inventory.StockFilter{Disc: closers.Of(0)})
	require.ErrorIs(t, err, inventory.ErrDamaged)
	_, err = b.Stocks(ctx, inventory.StockFilter{Disc: closers.Of(0)})
	require.ErrorIs(t, err, inventory.ErrDamaged)
}
