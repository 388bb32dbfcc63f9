package storetest

import (
	"context"
	"errors"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"shimwright/inventory"
	"shimwright/inventory/sample"
	"shimwright/shim"
)

var faultTests = map[string]func(*testing.T, inventory.Store){
	"every write may fail":    everyWriteMayFail,
	"a cancelled command":     cancelledCommand,
	"a panic changes nothing": panicChangesNothing,
	"a wrong clock":           wrongClock,
}

var errDisk = errors.New("the disk gave up")

// failing is a store whose writes fail after a number of them.
type failing struct {
	inventory.Store
	left int
}

func (f *failing) Update(ctx context.Context, change func(inventory.Writer) error) error {
	return f.Store.Update(ctx, func(w inventory.Writer) error { return change(&failingWriter{w, f}) })
}

type failingWriter struct {
	inventory.Writer
	store *failing
}

func (w *failingWriter) try(write func() error) error {
	if w.store.left == 0 {
		return errDisk
	}
	w.store.left--
	return write()
}

func (w *failingWriter) Append(m inventory.Movement) error {
	return w.try(func() error { return w.Writer.Append(m) })
}

func (w *failingWriter) PutBalance(b inventory.Balance) error {
	return w.try(func() error { return w.Writer.PutBalance(b) })
}

func (w *failingWriter) PutStock(s inventory.Stock) error {
	return w.try(func() error { return w.Writer.PutStock(s) })
}

func (w *failingWriter) PutRevision(r inventory.Revision) error {
	return w.try(func() error { return w.Writer.PutRevision(r) })
}

func (w *failingWriter) PutJob(j inventory.Job) error {
	return w.try(func() error { return w.Writer.PutJob(j) })
}

func (w *failingWriter) AddPlan(p inventory.KeptPlan) error {
	return w.try(func() error { return w.Writer.AddPlan(p) })
}

func (w *failingWriter) PutHold(h inventory.Hold) error {
	return w.try(func() error { return w.Writer.PutHold(h) })
}

func (w *failingWriter) PutTally(c inventory.Tally) error {
	return w.try(func() error { return w.Writer.PutTally(c) })
}

func (w *failingWriter) PutPurchase(p inventory.Purchase) error {
	return w.try(func() error { return w.Writer.PutPurchase(p) })
}

// everyWriteMayFail gives commands again and again, each time with the disk
// failing one write later, until they pass. A failed one changes nothing.
func everyWriteMayFail(t *testing.T, s inventory.Store) {
	b := newBench(t, s)
	b.stock(3, "2.35", "2.4")
	job, other := b.measured(map[string][2]string{"in1a": {"0.1", "2.425"}}), b.measured(nil)
	list := []inventory.Placement{drawn("in1a", "2.35"), moved("in1b", "2.425", "in1a"), bought("ex1a", "2.5")}
	broken := &failing{Store: s}
	shop := inventory.New(broken, "R. Example", Clock())
	var batch int64
	total := 0
	for _, c := range []struct {
		name    string
		command func() error
	}{
		{"plan together", func() error {
			bases, err := shop.Bases(ctx, other, job)
			require.NoError(t, err)
			_, err = shop.PlanTogether(ctx, []inventory.Proposal{
				{Job: other, Revision: bases[0].Revision, Placements: []inventory.Placement{drawn("in1a", "2.4"), bought("ex1a", "2.5")}},
				{Job: job, Revision: bases[1].Revision, Placements: list},
			})
			return err
		}},
		{"plan", func() error {
			basis, err := shop.Basis(ctx, job)
			require.NoError(t, err)
			_, err = shop.PlanTogether(ctx, []inventory.Proposal{{Job: job, Revision: basis.Revision, Placements: list}})
			return err
		}},
		{"fit", func() error {
			r, err := shop.Fit(ctx, job, inventory.Fit{})
			batch = r.Batch
			return err
		}},
		{"undo", func() error { _, err := shop.Undo(ctx, batch, ""); return err }},
		{"scrap", func() error {
			_, err := shop.Scrap(ctx, []inventory.Item{{Lot: lot("2.35"), Count: 3}})
			return err
		}},
		{"cancel", func() error { _, err := shop.Cancel(ctx, job, ""); return err }},
	} {
		n, step := 0, 1
		if testing.Short() {
			step = 3 // every third write
		}
		for ; ; n += step {
			before := take(t, b.Shop)
			broken.left = n
			err := c.command()
			if err == nil {
				break
			}
			require.ErrorIs(t, err, errDisk, "%s, write %d", c.name, n)
			require.Equal(t, before, take(t, b.Shop), "%s, write %d", c.name, n)
		}
		require.NotZero(t, n, c.name)
		total += n
		Invariants(t, b.Shop, c.name)
	}
	t.Logf("%d failed writes changed nothing", total)
}

func cancelledCommand(t *testing.T, s inventory.Store) {
	b := newBench(t, s)
	gone, cancel := context.WithCancel(ctx)
	cancel()
	_, err := b.Receive(gone, []inventory.Item{{Lot: lot("2.4"), Count: 1}})
	require.ErrorIs(t, err, context.Canceled)
	// In the middle of a command.
	gone, cancel = context.WithCancel(ctx)
	err = s.Update(gone, func(w inventory.Writer) error {
		require.NoError(t, w.PutRevision(inventory.Revision{Family: shim.Family{Diameter: mm("8.9")}, Number: 1}))
		cancel()
		return gone.Err()
	})
	require.ErrorIs(t, err, context.Canceled)
	families, err := b.Families(ctx)
	require.NoError(t, err)
	assert.Empty(t, families)
	b.stock(1, "2.4")
	b.sound()
}

// wrongClock books with a clock that is set wrong: refused, nothing changes.
func wrongClock(t *testing.T, s inventory.Store) {
	for _, year := range []int{1970, 1999, 10000, 292277} {
		at := time.Date(year, 12, 31, 23, 59, 59, 0, time.UTC)
		shop := inventory.New(s, "R. Example", func() time.Time { return at })
		_, err := shop.Receive(ctx, []inventory.Item{{Lot: lot("2.4"), Count: 1}})
		require.ErrorIs(t, err, inventory.ErrInvalid, "%d", year)
		_, err = newBench(t, s).OpenJob(ctx, inventory.Opening{Spec: sample.Sandpiper(), Source: "e", Date: at})
		require.ErrorIs(t, err, inventory.ErrInvalid, "%d", year)
	}
	b := newBench(t, s)
	last, err := b.Last(ctx)
	require.NoError(t, err)
	assert.Zero(t, last.Seq)
	for _, year := range []int{2000, 9999} {
		at := time.Date(year, 1, 1, 0, 0, 0, 0, time.UTC)
		_, err := inventory.New(s, "R. Example", func() time.Time { return at }).Receive(ctx, []inventory.Item{{Lot: lot("2.4"), Count: 1}})
		require.NoError(t, err, "%d", year)
	}
	b.sound()
}

func panicChangesNothing(t *testing.T, s inventory.Store) {
	b := newBench(t, s)
	assert.Panics(t, func() {
		_ = s.Update(ctx, func(w inventory.Writer) error {
			require.NoError(t, w.PutRevision(inventory.Revision{Family: shim.Family{Diameter: mm("8.9")}, Number: 1}))
			panic("boom")
		})
	})
	families, err := b.Families(ctx)
	require.NoError(t, err)
	assert.Empty(t, families)
	b.stock(1, "2.4")
	b.sound()
}
