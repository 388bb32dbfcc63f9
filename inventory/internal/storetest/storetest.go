// Package storetest is the suite that any [inventory.Store] has to pass: what
// the rows promise, the story of a job with its turns, and long random runs of
// commands compared with the reference store.
package storetest

import (
	"context"
	"sync/atomic"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"shimwright/inventory"
	"shimwright/inventory/sample"
	"shimwright/shim"
)

// Run runs the suite. The function gives an empty store, which the suite
// closes. The last part is as many random walks as are asked for.
func Run(t *testing.T, walks int, empty func(*testing.T) inventory.Store) {
	fresh := func(t *testing.T) inventory.Store {
		store := empty(t)
		t.Cleanup(func() { require.NoError(t, store.Close()) })
		return store
	}
	for _, group := range []struct {
		name  string
		tests map[string]func(*testing.T, inventory.Store)
	}{
		{"rows", rowTests}, {"box", boxTests}, {"count", countTests}, {"job", jobTests}, {"fit", fitTests}, {"promise", promiseTests}, {"micrometer", micrometerTests}, {"correct", correctTests}, {"order", orderTests}, {"undo", undoTests}, {"fault", faultTests}, {"cancel", cancelTests}, {"session", sessionTests}, {"family", familyTests}, {"gauge", gaugeTests}, {"certificate", certificateTests},
	} {
		for name, test := range group.tests {
			t.Run(group.name+"/"+name, func(t *testing.T) { test(t, fresh(t)) })
		}
	}
	t.Run("random", func(t *testing.T) { random(t, walks, fresh) })
}

// Clock gives a time that moves on by a second a call, from a fixed start.
func Clock() func() time.Time {
	var n atomic.Int64
	start := time.Date(2026, 3, 2, 8, 0, 0, 0, time.UTC)
	return func() time.Time { return start.Add(time.Duration(n.Add(1)) * time.Second) }
}

// mm reads a size.
func mm(text string) shim.Length {
	l, err := shim.MM.Parse(text)
	if err != nil {
		panic(err)
	}
	return l
}

// v reads a valve.
func v(text string) shim.Valve {
	valve, err := shim.ParseValve(text)
	if err != nil {
		panic(err)
	}
	return valve
}

// bench is a shop for a test.
type bench struct {
	*inventory.Shop
	t *testing.T
}

var ctx = context.Background()

func newBench(t *testing.T, store inventory.Store) *bench {
	return &bench{inventory.New(store, "R. Example", Clock()), t}
}

// lot is a used shim of the Sandpiper's diameter.
func lot(size string) inventory.Lot {
	return inventory.Lot{Family: shim.Family{Diameter: mm("8.9")}, Marks: shim.Marks{Stamp: mm(size)}, Used: true}
}

// stock receives used pieces of a size.
func (b *bench) stock(count int, sizes ...string) {
	b.t.Helper()
	for _, size := range sizes {
		_, err := b.Receive(ctx, []inventory.Item{{Lot: lot(size), Count: count}})
		require.NoError(b.t, err)
	}
}

// on gives what is on hand and reserved of a size.
func (b *bench) on(size string) [2]int {
	b.t.Helper()
	list, err := b.Stocks(ctx, inventory.StockFilter{Disc: shim.Disc{Family: shim.Family{Diameter: mm("8.9")}, Size: mm(size)}})
	require.NoError(b.t, err)
	if len(list) == 0 {
		return [2]int{}
	}
	return [2]int{list[0].OnHand, list[0].Reserved}
}

// measured opens a Sandpiper and reads it: all clearances 0.20 but those given,
// all shims 2.400 but those given after a slash ("in1a 0.10/2.45").
func (b *bench) measured(rows map[string][2]string) int64 {
	b.t.Helper()
	job, err := b.OpenJob(ctx, inventory.Opening{Spec: sample.Sandpiper(), Source: "sandpiper", Tag: "T-1", Meter: "18200 km"})
	require.NoError(b.t, err)
	_, err = b.Read(ctx, job.ID, check(rows), "cold")
	require.NoError(b.t, err)
	return job.ID
}

func check(rows map[string][2]string) []shim.Measurement {
	spec := sample.Sandpiper()
	var list []shim.Measurement
	for _, valve := range spec.Valves() {
		m := shim.Measurement{Valve: valve, Reading: shim.ReadingOf(mm("0.2")), Marks: shim.Marks{Stamp: mm("2.4")}}
		if row, given := rows[valve.String()]; given {
			m.Reading, m.Stamp = shim.ReadingOf(mm(row[0])), mm(row[1])
		}
		list = append(list, m)
	}
	return list
}

// plan makes the placements the job's plan.
func (b *bench) plan(job int64, list ...inventory.Placement) error {
	b.t.Helper()
	basis, err := b.Basis(ctx, job)
	require.NoError(b.t, err)
	_, err = b.PlanTogether(ctx, []inventory.Proposal{{Job: job, Revision: basis.Revision, Placements: list, Document: []byte(`{"policy": "thrift"}`)}})
	return err
}

func drawn(valve, size string) inventory.Placement {
	return inventory.Placement{Valve: v(valve), Size: mm(size), Source: inventory.SourceDrawn}
}

func moved(valve, size, from string) inventory.Placement {
	return inventory.Placement{Valve: v(valve), Size: mm(size), Source: inventory.SourceMoved, From: v(from)}
}

func bought(valve, size string) inventory.Placement {
	return inventory.Placement{Valve: v(valve), Size: mm(size), Source: inventory.SourceBought, Terms: inventory.Terms{Quote: shim.Quote{Price: 78000, Priced: true}}}
}

// file is all that the shop knows about the job.
func (b *bench) file(job int64) inventory.File {
	b.t.Helper()
	f, err := b.Job(ctx, job)
	require.NoError(b.t, err)
	return f
}

// fitAll books what is left of the job's plan.
func (b *bench) fitAll(job int64) inventory.Receipt {
	b.t.Helper()
	r, err := b.Fit(ctx, job, inventory.Fit{})
	require.NoError(b.t, err)
	return r
}

// state gives the job's state.
func (b *bench) state(job int64) inventory.State {
	b.t.Helper()
	f := b.file(job)
	return f.Job.State
}

// sound checks the shop.
func (b *bench) sound() {
	b.t.Helper()
	found, err := b.Check(ctx)
	require.NoError(b.t, err)
	require.Empty(b.t, found)
}

// Items are a delivery of rows of different sizes.
func Items(rows int) []inventory.Item {
	list := make([]inventory.Item, rows)
	for i := range list {
		list[i] = inventory.Item{Lot: inventory.Lot{Family: shim.Family{Diameter: mm("8.9")}, Marks: shim.Marks{Stamp: mm("3") + shim.Length(i)*shim.Micrometre}}, Count: 1, Note: "delivery"}
	}
	return list
}
