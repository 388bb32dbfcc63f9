package storetest

import (
	"encoding/json"
	"errors"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"shimwright/inventory"
	"shimwright/inventory/sample"
	"shimwright/shim"
)

var rowTests = map[string]func(*testing.T, inventory.Store){
	"movements":  movements,
	"sums":       sums,
	"jobs":       jobs,
	"checks":     checks,
	"edits":      edits,
	"commands":   commands,
	"records":    records,
	"plans":      plans,
	"lines":      lines,
	"all or not": allOrNot,
	"unknown":    unknownRows,
}

var noon = time.Date(2026, 3, 2, 12, 0, 0, 0, time.UTC)

// awkward is text that a careless store spoils.
const awkward = "Bob's \"bin\"; -- ? # % _ ½ 手 \n\t"

func update(t *testing.T, s inventory.Store, f func(w inventory.Writer)) {
	t.Helper()
	require.NoError(t, s.Update(ctx, func(w inventory.Writer) error { f(w); return nil }))
}

func view(t *testing.T, s inventory.Store, f func(r inventory.Reader)) {
	t.Helper()
	require.NoError(t, s.View(ctx, func(r inventory.Reader) error { f(r); return nil }))
}

// engineRow is an engine as the rules hand it to a store.
func engineRow(t *testing.T, source string) inventory.Engine {
	t.Helper()
	data, err := json.Marshal(sample.Sandpiper())
	require.NoError(t, err)
	return inventory.Engine{Spec: sample.Sandpiper(), Data: data, Source: source, Seal: inventory.Hash{3, source[0]}}
}

// addJob adds an engine and a job to hang rows on.
func addJob(t *testing.T, w inventory.Writer, source string) inventory.Job {
	t.Helper()
	engine, err := w.AddEngine(engineRow(t, source))
	require.NoError(t, err)
	j := inventory.Job{Engine: engine, Name: sample.Sandpiper().Name, Diameter: mm("8.9"), Tag: awkward, Meter: "7 h", Note: awkward,
		State: inventory.StateOpen, Who: "R. Example", Opened: noon, Changed: noon, Seal: inventory.Hash{1, 31: 2}}
	j.ID, err = w.AddJob(j)
	require.NoError(t, err)
	return j
}

func movements(t *testing.T, s inventory.Store) {
	var rows []inventory.Movement
	update(t, s, func(w inventory.Writer) {
		job := addJob(t, w, "e")
		rows = []inventory.Movement{
			{Seq: 1, Batch: 1, Time: noon, Kind: inventory.KindReceived, Lot: inventory.Lot{Family: shim.Family{Diameter: mm("8.9")}, Marks: shim.Marks{Stamp: mm("2.4")}, Bin: awkward}, Count: 3, Who: "a", Note: awkward, Quote: shim.Quote{Price: 0, Priced: true}},
			{Seq: 2, Batch: 2, Time: noon, Kind: inventory.KindPulled, Lot: inventory.Lot{Family: shim.Family{Diameter: mm("8.9")}, Marks: shim.Marks{Stamp: mm("2.4"), Mic: mm("2.381234")}, Used: true}, Count: 1, Job: job.ID, Valve: v("ex2b"), Who: "b", Order: &inventory.Terms{}},
			{Seq: 3, Batch: 2, Time: noon, Kind: inventory.KindScrapped, Lot: inventory.Lot{Family: shim.Family{Diameter: mm("7.5")}, Marks: shim.Marks{Mic: mm("2.381234")}}, Count: -1, Quote: shim.Quote{Price: 78000, Priced: true}, Prev: inventory.Hash{1}, Hash: inventory.Hash{2, 31: 3}},
			{Seq: 4, Batch: 4, Time: noon.Add(time.Hour), Kind: inventory.KindReceived, Lot: inventory.Lot{Family: shim.Family{Diameter: mm("8.9")}, Marks: shim.Marks{Stamp: mm("2.4")}, Bin: awkward}, Count: -3, Reverses: 1, Order: &inventory.Terms{Supplier: awkward, Part: awkward, Quote: shim.Quote{Price: 1, Priced: true}}, Unordered: true},
		}
		last, err := w.Last()
		require.NoError(t, err)
		assert.Zero(t, last)
		for _, m := range rows {
			require.NoError(t, w.Append(m), "%+v", m)
		}
	})
	view(t, s, func(r inventory.Reader) {
		last, err := r.Last()
		require.NoError(t, err)
		assert.Equal(t, rows[3], last)
		for _, c := range []struct {
			name   string
			filter inventory.MovementFilter
			want   []inventory.Movement
		}{
			{"all", inventory.MovementFilter{}, rows},
			{"newest", inventory.MovementFilter{Newest: true, Limit: 2}, []inventory.Movement{rows[3], rows[2]}},
			{"between", inventory.MovementFilter{After: 1, Before: 4}, rows[1:3]},
			{"page", inventory.MovementFilter{After: 2, Limit: 1}, rows[2:3]},
			{"size is the mic reading", inventory.MovementFilter{Disc: shim.Disc{Size: mm("2.381234")}}, rows[1:3]},
			{"diameter and size", inventory.MovementFilter{Disc: shim.Disc{Family: shim.Family{Diameter: mm("8.9")}, Size: mm("2.381234")}}, rows[1:2]},
			{"job", inventory.MovementFilter{Job: 1}, rows[1:2]},
			{"reversal", inventory.MovementFilter{Reverses: 1}, rows[3:]},
			{"none", inventory.MovementFilter{Reverses: 2}, nil},
		} {
			got, err := r.Movements(c.filter)
			require.NoError(t, err, c.name)
			assert.Equal(t, c.want, got, c.name)
		}
	})
	// The ledger only grows at its end, by the row that follows.
	for _, seq := range []int64{1, 4, 6} {
		m := rows[0]
		m.Seq, m.Batch = seq, seq
		assert.Error(t, s.Update(ctx, func(w inventory.Writer) error { return w.Append(m) }), "movement %d after movement 4", seq)
	}
}

func sums(t *testing.T, s inventory.Store) {
	lots := []inventory.Balance{
		{Lot: inventory.Lot{Family: shim.Family{Diameter: mm("7.5")}, Marks: shim.Marks{Stamp: mm("2.4")}}, Count: 1},
		{Lot: inventory.Lot{Family: shim.Family{Diameter: mm("8.9")}, Marks: shim.Marks{Stamp: mm("2.4"), Mic: mm("2.39")}}, Count: 2},
		{Lot: inventory.Lot{Family: shim.Family{Diameter: mm("8.9")}, Marks: shim.Marks{Stamp: mm("2.4")}}, Count: 3},
		{Lot: inventory.Lot{Family: shim.Family{Diameter: mm("8.9")}, Marks: shim.Marks{Stamp: mm("2.4")}, Bin: "a"}, Count: 4},
		{Lot: inventory.Lot{Family: shim.Family{Diameter: mm("8.9")}, Marks: shim.Marks{Stamp: mm("2.4")}, Used: true}, Count: 5},
		{Lot: inventory.Lot{Family: shim.Family{Diameter: mm("8.9")}, Marks: shim.Marks{Stamp: mm("2.5"), Mic: mm("2.4")}}, Count: 6},
	}
	update(t, s, func(w inventory.Writer) {
		for i := range lots {
			require.NoError(t, w.PutBalance(lots[len(lots)-1-i]))
		}
		require.NoError(t, w.PutBalance(inventory.Balance{Lot: lot("2.6"), Count: 1}))
		require.NoError(t, w.PutBalance(inventory.Balance{Lot: lot("2.6")}))
		for i, size := range []string{"2.4", "2.5", "2.6"} {
			require.NoError(t, w.PutStock(inventory.Stock{Disc: shim.Disc{Family: shim.Family{Diameter: mm("8.9")}, Size: mm(size)}, OnHand: i, Reserved: i / 2}))
		}
		require.NoError(t, w.PutRevision(inventory.Revision{Family: shim.Family{Diameter: mm("8.9")}, Number: 1}))
		require.NoError(t, w.PutRevision(inventory.Revision{Family: shim.Family{Diameter: mm("8.9")}, Number: 2}))
		require.NoError(t, w.PutRevision(inventory.Revision{Family: shim.Family{Diameter: mm("7.5")}, Number: 1}))
	})
	view(t, s, func(r inventory.Reader) {
		got, err := r.Balances(inventory.StockFilter{})
		require.NoError(t, err)
		assert.Equal(t, lots, got)
		got, err = r.Balances(inventory.StockFilter{Disc: shim.Disc{Family: shim.Family{Diameter: mm("8.9")}, Size: mm("2.4")}, Page: inventory.Page{Offset: 1, Limit: 2}})
		require.NoError(t, err)
		assert.Equal(t, lots[3:5], got)
		one, err := r.Balance(lots[1].Lot)
		require.NoError(t, err)
		assert.Equal(t, lots[1], one)
		none, err := r.Balance(lot("2.6"))
		require.NoError(t, err)
		assert.Equal(t, inventory.Balance{Lot: lot("2.6")}, none)

		stocks, err := r.Stocks(inventory.StockFilter{})
		require.NoError(t, err)
		assert.Equal(t, []inventory.Stock{{Disc: shim.Disc{Family: shim.Family{Diameter: mm("8.9")}, Size: mm("2.5")}, OnHand: 1}, {Disc: shim.Disc{Family: shim.Family{Diameter: mm("8.9")}, Size: mm("2.6")}, OnHand: 2, Reserved: 1}}, stocks)
		stock, err := r.Stock(shim.Disc{Family: shim.Family{Diameter: mm("7.5")}, Size: mm("2.5")})
		require.NoError(t, err)
		assert.Equal(t, inventory.Stock{Disc: shim.Disc{Family: shim.Family{Diameter: mm("7.5")}, Size: mm("2.5")}}, stock)

		revision, err := r.Revision(shim.Family{Diameter: mm("8.9")})
		require.NoError(t, err)
		assert.Equal(t, inventory.Revision{Family: shim.Family{Diameter: mm("8.9")}, Number: 2}, revision)
		revision, err = r.Revision(shim.Family{Diameter: mm("9")})
		require.NoError(t, err)
		assert.Equal(t, inventory.Revision{Family: shim.Family{Diameter: mm("9")}}, revision)
		diameters, err := r.Revisions()
		require.NoError(t, err)
		assert.Equal(t, []inventory.Revision{{Family: shim.Family{Diameter: mm("7.5")}, Number: 1}, {Family: shim.Family{Diameter: mm("8.9")}, Number: 2}}, diameters)
	})
	for _, bad := range []inventory.Stock{{Disc: shim.Disc{Family: shim.Family{Diameter: mm("8.9")}, Size: mm("2.5")}, OnHand: -1}, {Disc: shim.Disc{Family: shim.Family{Diameter: mm("8.9")}, Size: mm("2.5")}, OnHand: 1, Reserved: 2}} {
		assert.Error(t, s.Update(ctx, func(w inventory.Writer) error { return w.PutStock(bad) }), "%+v", bad)
	}
	assert.Error(t, s.Update(ctx, func(w inventory.Writer) error { return w.PutBalance(inventory.Balance{Lot: lot("2.6"), Count: -1}) }))
}

func jobs(t *testing.T, s inventory.Store) {
	var a, b, c inventory.Job
	update(t, s, func(w inventory.Writer) {
		a, b, c = addJob(t, w, "a"), addJob(t, w, "b"), addJob(t, w, "c")
		b.State, b.Tag, b.Plan, b.Short, b.Changed = inventory.StatePlanned, "T-2", 4, 2, noon.Add(time.Minute)
		b.Seal = inventory.Hash{6}
		require.NoError(t, w.PutJob(b))
	})
	view(t, s, func(r inventory.Reader) {
		got, err := r.Job(b.ID)
		require.NoError(t, err)
		assert.Equal(t, b, got)
		for _, x := range []struct {
			filter inventory.JobFilter
			want   []inventory.Job
		}{
			{inventory.JobFilter{}, []inventory.Job{c, b, a}},
			{inventory.JobFilter{Page: inventory.Page{Offset: 1, Limit: 1}}, []inventory.Job{b}},
			{inventory.JobFilter{States: []inventory.State{inventory.StatePlanned, inventory.StateClosed}}, []inventory.Job{b}},
			{inventory.JobFilter{Tag: awkward, Engine: a.Engine}, []inventory.Job{a}},
			{inventory.JobFilter{Tag: " t-2 "}, []inventory.Job{b}},
			{inventory.JobFilter{Tag: "T"}, nil},
			{inventory.JobFilter{TagPart: "T 2"}, []inventory.Job{b}},
			{inventory.JobFilter{TagPart: "no such"}, nil},
		} {
			list, err := r.Jobs(x.filter)
			require.NoError(t, err)
			assert.Equal(t, x.want, list, "%+v", x.filter)
		}
		want := engineRow(t, "c")
		want.ID = c.Engine
		engine, err := r.FindEngine(want.Seal)
		require.NoError(t, err)
		assert.Equal(t, want, engine)
		engines, err := r.Engines(inventory.Page{Offset: 1, Limit: 1})
		require.NoError(t, err)
		require.Len(t, engines, 1)
		assert.Equal(t, b.Engine, engines[0].ID)
	})
}

func edits(t *testing.T, s inventory.Store) {
	var want []inventory.Edit
	update(t, s, func(w inventory.Writer) {
		job := addJob(t, w, "e")
		want = []inventory.Edit{
			{Job: job.ID, Number: 1, Field: inventory.TagField, Old: awkward, New: "", Time: noon, Who: awkward, Seal: inventory.Hash{6}},
			{Job: job.ID, Number: 2, Field: inventory.NoteField, Old: "", New: awkward, Time: noon, Who: "a"},
		}
		for _, e := range want {
			require.NoError(t, w.AddEdit(e))
		}
	})
	view(t, s, func(r inventory.Reader) {
		got, err := r.Edits(want[0].Job)
		require.NoError(t, err)
		assert.Equal(t, want, got)
		got, err = r.Edits(want[0].Job + 1)
		require.NoError(t, err)
		assert.Empty(t, got)
	})
}

func checks(t *testing.T, s inventory.Store) {
	var want []inventory.Check
	twice := shim.Reading{Kind: shim.Bracket, Low: mm("0.15"), High: mm("0.18"), Second: shim.Second{Low: mm("0.16"), High: mm("0.2"), Taken: true}}
	update(t, s, func(w inventory.Writer) {
		job := addJob(t, w, "e")
		want = []inventory.Check{
			{Job: job.ID, Number: 1, Kind: inventory.CheckBefore, Seal: inventory.Hash{4}, Time: noon, Who: "a", Note: awkward, Readings: []shim.Measurement{
				{Valve: v("in1a"), Reading: shim.ReadingOf(mm("0.15")), Marks: shim.Marks{Stamp: mm("2.4"), Mic: mm("2.391")}, Note: awkward},
				{Valve: v("in1b"), Reading: shim.Reading{Kind: shim.Bracket, Low: mm("0.15"), High: mm("0.18")}},
				{Valve: v("ex1a"), Reading: shim.Reading{Kind: shim.Below, High: mm("0.05")}},
				{Valve: v("ex1b"), Reading: twice, Temperature: 304_150},
				{Valve: v("ex2a"), Reading: shim.Reading{Kind: shim.Single, Second: shim.Second{Taken: true, Tighter: true}}},
				{Valve: v("in3a.closer"), Reading: shim.Reading{Kind: shim.Single, Low: mm("0.3"), High: mm("0.3"), Unloaded: shim.Unloaded{Low: mm("0.1"), High: mm("0.12"), Twice: true}}},
				{Valve: v("in4a.closer"), Reading: shim.Reading{Kind: shim.Below, Low: mm("0.12"), High: mm("0.12"), Unloaded: shim.Unloaded{Low: mm("0.12"), High: mm("0.12"), Most: mm("0.03")}}},
				{Valve: v("in2a"), Reading: shim.Reading{Kind: shim.Above, Low: mm("0.6")}},
				{Valve: v("in10a")},
			}},
			{Job: job.ID, Number: 2, Kind: inventory.CheckRecheck, Seq: 9, Time: noon, Gauge: inventory.Gauge{ID: 3, Name: awkward, Number: "7", Spec: shim.UsualGauge, Calibrated: noon.Truncate(24 * time.Hour), Due: noon.Truncate(24 * time.Hour)}, Readings: []shim.Measurement{{Valve: v("ex1a"), Reading: shim.ReadingOf(0)}}},
		}
		for _, c := range want {
			require.NoError(t, w.AddCheck(c))
		}
	})
	view(t, s, func(r inventory.Reader) {
		got, err := r.Checks(want[0].Job)
		require.NoError(t, err)
		assert.Equal(t, want, got)
	})
}

func plans(t *testing.T, s inventory.Store) {
	var want inventory.KeptPlan
	update(t, s, func(w inventory.Writer) {
		job := addJob(t, w, "e")
		want = inventory.KeptPlan{Job: job.ID, Number: 2, Seq: 8, Revision: 5, Seal: inventory.Hash{5}, Time: noon, Who: "a", Document: []byte(`{"b":  1, "a": [0.100]}`),
			Placements: []inventory.Placement{drawn("in1a", "2.4"), moved("in2a", "2.425", "in1a"), bought("ex2b", "2.5")}}
		want.Placements[0].Counted = inventory.ByOldMark
		require.NoError(t, w.AddPlan(inventory.KeptPlan{Job: job.ID, Number: 1, Time: noon}))
		require.NoError(t, w.AddPlan(want))
	})
	view(t, s, func(r inventory.Reader) {
		got, err := r.Plan(want.Job, 2)
		require.NoError(t, err)
		assert.Equal(t, want, got)
		got, err = r.Plan(want.Job, 1)
		require.NoError(t, err)
		assert.Empty(t, got.Placements)
		assert.Empty(t, got.Document)
	})
}

func lines(t *testing.T, s inventory.Store) {
	var job inventory.Job
	hold := func(size string, n int) inventory.Hold {
		return inventory.Hold{Job: job.ID, Lot: lot(size), Count: n, Plan: 3}
	}
	purchase := func(size string, needed, ordered int) inventory.Purchase {
		return inventory.Purchase{Job: job.ID, Disc: shim.Disc{Family: shim.Family{Diameter: mm("8.9")}, Size: mm(size)}, Needed: needed, Ordered: ordered, Arrived: ordered / 2, Terms: inventory.Terms{Quote: shim.Quote{Price: 78000, Priced: true}}}
	}
	var named, spare inventory.Purchase
	update(t, s, func(w inventory.Writer) {
		job = addJob(t, w, "e")
		for _, size := range []string{"2.4", "2.5", "2.6"} {
			require.NoError(t, w.PutStock(inventory.Stock{Disc: shim.Disc{Family: shim.Family{Diameter: mm("8.9")}, Size: mm(size)}, OnHand: 5}))
		}
		for _, h := range []inventory.Hold{hold("2.6", 1), hold("2.4", 1), hold("2.4", 2), hold("2.5", 1), hold("2.5", 0)} {
			require.NoError(t, w.PutHold(h))
		}
		named, spare = purchase("2.4", 2, 0), purchase("2.4", 0, 2)
		named.Supplier, named.Part, named.Priced, named.Price = "North", "N-1", false, 0
		spare.Job, spare.Arrived = 0, 0
		for _, p := range []inventory.Purchase{named, spare, purchase("2.6", 1, 0), purchase("2.4", 1, 0), purchase("2.4", 3, 2), purchase("2.5", 1, 0), purchase("2.5", 0, 0)} {
			require.NoError(t, w.PutPurchase(p))
		}
	})
	view(t, s, func(r inventory.Reader) {
		for _, f := range []inventory.HoldFilter{{}, {Job: job.ID}, {Disc: shim.Disc{Family: shim.Family{Diameter: mm("8.9")}}}} {
			holds, err := r.Holds(f)
			require.NoError(t, err)
			assert.Equal(t, []inventory.Hold{hold("2.4", 2), hold("2.6", 1)}, holds, "%+v", f)
			purchases, err := r.Purchases(f)
			require.NoError(t, err)
			want := []inventory.Purchase{spare, purchase("2.4", 3, 2), named, purchase("2.6", 1, 0)}
			if f.Job != 0 {
				want = want[1:]
			}
			assert.Equal(t, want, purchases, "%+v", f)
			n, err := r.Rows(inventory.Group{What: inventory.Purchases, Job: f.Job, Disc: shim.Disc{Family: shim.Family{Diameter: f.Diameter}}})
			require.NoError(t, err)
			assert.EqualValues(t, len(want), n, "%+v", f)
		}
		for _, f := range []inventory.HoldFilter{{Job: job.ID + 1}, {Disc: shim.Disc{Size: mm("2.5")}}} {
			holds, err := r.Holds(f)
			require.NoError(t, err)
			assert.Empty(t, holds, "%+v", f)
		}
	})
	bad := purchase("2.4", 1, 1)
	bad.Arrived = 2
	assert.Error(t, s.Update(ctx, func(w inventory.Writer) error { return w.PutPurchase(bad) }))
}

func allOrNot(t *testing.T, s inventory.Store) {
	boom := errors.New("boom")
	err := s.Update(ctx, func(w inventory.Writer) error {
		job := addJob(t, w, "e")
		require.NoError(t, w.Append(inventory.Movement{Seq: 1, Batch: 1, Time: noon, Kind: inventory.KindReceived, Lot: lot("2.4"), Count: 1, Job: job.ID}))
		require.NoError(t, w.PutBalance(inventory.Balance{Lot: lot("2.4"), Count: 1}))
		require.NoError(t, w.PutStock(inventory.Stock{Disc: shim.Disc{Family: shim.Family{Diameter: mm("8.9")}, Size: mm("2.4")}, OnHand: 1}))
		require.NoError(t, w.PutRevision(inventory.Revision{Family: shim.Family{Diameter: mm("8.9")}, Number: 1}))
		// What was written is read back before it is kept.
		last, err := w.Last()
		require.NoError(t, err)
		require.EqualValues(t, 1, last.Seq)
		return boom
	})
	require.ErrorIs(t, err, boom)
	view(t, s, func(r inventory.Reader) {
		last, err := r.Last()
		require.NoError(t, err)
		assert.Zero(t, last.Seq)
		balances, err := r.Balances(inventory.StockFilter{})
		require.NoError(t, err)
		assert.Empty(t, balances)
		_, err = r.Job(1)
		assert.ErrorIs(t, err, inventory.ErrUnknown)
		diameters, err := r.Revisions()
		require.NoError(t, err)
		assert.Empty(t, diameters)
	})
}

func unknownRows(t *testing.T, s inventory.Store) {
	view(t, s, func(r inventory.Reader) {
		_, err := r.Job(1)
		assert.ErrorIs(t, err, inventory.ErrUnknown)
		_, err = r.Engine(1)
		assert.ErrorIs(t, err, inventory.ErrUnknown)
		_, err = r.FindEngine(inventory.Hash{9})
		assert.ErrorIs(t, err, inventory.ErrUnknown)
		_, err = r.Plan(1, 1)
		assert.ErrorIs(t, err, inventory.ErrUnknown)
	})
	assert.ErrorIs(t, s.Update(ctx, func(w inventory.Writer) error { return w.PutJob(inventory.Job{ID: 7, State: inventory.StateOpen}) }), inventory.ErrUnknown)
}

func commands(t *testing.T, s inventory.Store) {
	want := []inventory.Command{
		{Key: "a", Digest: inventory.Hash{1}, Batch: 7, Answer: awkward, Status: 3, Seal: inventory.Hash{6}},
		{Key: awkward, Digest: inventory.Hash{2}},
	}
	update(t, s, func(w inventory.Writer) {
		require.NoError(t, w.PutCommand(inventory.Command{Key: "a", Answer: "gives way"}))
		for _, c := range want {
			require.NoError(t, w.PutCommand(c))
		}
	})
	view(t, s, func(r inventory.Reader) {
		list, err := r.Commands()
		require.NoError(t, err)
		assert.ElementsMatch(t, want, list)
		for _, c := range want {
			got, err := r.Command(c.Key)
			require.NoError(t, err)
			assert.Equal(t, c, got)
		}
		_, err = r.Command("none")
		assert.ErrorIs(t, err, inventory.ErrUnknown)
	})
}

func records(t *testing.T, s inventory.Store) {
	rows := []inventory.Record{
		{Kind: inventory.Machines, Number: 1, Name: awkward, Body: json.RawMessage(`{"Tag":"x"}`), Seal: inventory.Hash{1}},
		{Kind: inventory.Gauges, Number: 1, Name: "g", Body: json.RawMessage(`{}`), Seal: inventory.Hash{2}},
		{Kind: inventory.Machines, Number: 2, Name: "b", Of: 7, Body: json.RawMessage(`{"Tag":"y"}`), Seal: inventory.Hash{3}},
	}
	update(t, s, func(w inventory.Writer) {
		for _, r := range rows {
			n, err := w.AddRecord(r)
			require.NoError(t, err)
			assert.Equal(t, r.Number, n, "each kind is numbered by itself")
		}
		rows[0].Body = json.RawMessage(`{"Tag":"z"}`)
		require.NoError(t, w.PutRecord(rows[0]))
		assert.ErrorIs(t, w.PutRecord(inventory.Record{Kind: inventory.Machines, Number: 9, Body: json.RawMessage(`{}`)}), inventory.ErrUnknown)
	})
	view(t, s, func(r inventory.Reader) {
		got, err := r.Record(inventory.Machines, 1)
		require.NoError(t, err)
		assert.Equal(t, rows[0], got)
		_, err = r.Record(inventory.Gauges, 2)
		require.ErrorIs(t, err, inventory.ErrUnknown)
		for _, c := range []struct {
			filter inventory.RecordFilter
			want   []inventory.Record
		}{
			{inventory.RecordFilter{Kind: inventory.Machines}, []inventory.Record{rows[0], rows[2]}},
			{inventory.RecordFilter{Kind: inventory.Machines, Name: awkward}, rows[:1]},
			{inventory.RecordFilter{Kind: inventory.Machines, Of: 7}, rows[2:]},
			{inventory.RecordFilter{Kind: inventory.Machines, Page: inventory.Page{Offset: 1, Limit: 1}}, rows[2:]},
			{inventory.RecordFilter{Kind: inventory.Certificates}, nil},
		} {
			list, err := r.Records(c.filter)
			require.NoError(t, err)
			assert.ElementsMatch(t, c.want, list, "%+v", c.filter)
		}
		n, err := r.Rows(inventory.Group{What: inventory.Machines})
		require.NoError(t, err)
		assert.EqualValues(t, 2, n)
	})
}
