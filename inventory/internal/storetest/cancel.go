package storetest

import (
	"context"
	"math/rand/v2"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"shimwright/inventory"
	"shimwright/testdata/effort"
)

var cancelTests = map[string]func(*testing.T, inventory.Store){
	"cancelled at any moment": cancelledAnywhere,
	"cancelled at its end":    cancelledAtEnd,
}

// ended is a store whose updates are cancelled once all is written.
type ended struct {
	inventory.Store
	cancel context.CancelFunc
}

func (s ended) Update(ctx context.Context, f func(inventory.Writer) error) error {
	return s.Store.Update(ctx, func(w inventory.Writer) error {
		err := f(w)
		s.cancel()
		return err
	})
}

// cancelledAtEnd: what is cancelled before it is kept is not kept. "interrupted"
// is never above a booking.
func cancelledAtEnd(t *testing.T, s inventory.Store) {
	gone, cancel := context.WithCancel(ctx)
	_, err := inventory.New(ended{s, cancel}, "", Clock()).Receive(gone, Items(3))
	require.ErrorIs(t, err, context.Canceled)
	history, err := inventory.New(s, "", Clock()).History(ctx, inventory.MovementFilter{})
	require.NoError(t, err)
	require.Empty(t, history)
}

// cancelledAnywhere cancels views and updates at random moments: before they
// begin, in the middle of their rows and by the clock. Each one is whole or was
// not made, and the store answers the next call.
func cancelledAnywhere(t *testing.T, s inventory.Store) {
	rounds := effort.Of(20_000)
	b := newBench(t, s)
	b.stock(1, "2.4")
	rng := rand.New(rand.NewPCG(10, 14))
	cut, refused, booked := 0, 0, 1
	for i := 0; cut < rounds; i++ {
		gone, cancel := context.WithCancel(ctx)
		rows := rng.IntN(12) - 1 // that are still read or written
		if rows < 0 {
			cancel()
		}
		fuse := time.AfterFunc(time.Duration(rng.IntN(400))*time.Microsecond, cancel)
		shop := inventory.New(&cancelling{s, cancel, &rows}, "R. Example", Clock())
		var err error
		if i%2 == 0 {
			_, err = shop.Stocks(gone, inventory.StockFilter{})
		} else if booked%100 == 0 {
			_, err = shop.Scrap(gone, []inventory.Item{{Lot: lot("2.4"), Count: 1}})
			if err == nil {
				booked--
			}
		} else {
			_, err = shop.Receive(gone, []inventory.Item{{Lot: lot("2.4"), Count: 1}})
			if err == nil {
				booked++
			}
		}
		if gone.Err() != nil {
			cut++
		}
		fuse.Stop()
		cancel()
		if err != nil {
			require.ErrorIs(t, err, context.Canceled, "round %d", i)
			refused++
		}
		require.NoError(t, s.View(ctx, func(inventory.Reader) error { return nil }), "after round %d", i)
	}
	assert.Equal(t, [2]int{booked, 0}, b.on("2.4"), "what was acknowledged, and no more")
	b.sound()
	t.Logf("%d cancelled views and updates, %d of them refused: the store answered after each (bound: all)", cut, refused)
	require.NotZero(t, refused)
}

// cancelling is a store whose context is cancelled after a number of balances
// and stocks.
type cancelling struct {
	inventory.Store
	cancel func()
	left   *int
}

func (c *cancelling) count() {
	if *c.left--; *c.left == 0 {
		c.cancel()
	}
}

func (c *cancelling) View(ctx context.Context, f func(inventory.Reader) error) error {
	return c.Store.View(ctx, func(r inventory.Reader) error {
		c.count()
		return f(r)
	})
}

func (c *cancelling) Update(ctx context.Context, f func(inventory.Writer) error) error {
	return c.Store.Update(ctx, func(w inventory.Writer) error { return f(&cancellingWriter{w, c}) })
}

type cancellingWriter struct {
	inventory.Writer
	store *cancelling
}

func (w *cancellingWriter) Balance(l inventory.Lot) (inventory.Balance, error) {
	w.store.count()
	return w.Writer.Balance(l)
}

func (w *cancellingWriter) Append(m inventory.Movement) error {
	w.store.count()
	return w.Writer.Append(m)
}

func (w *cancellingWriter) PutStock(s inventory.Stock) error {
	w.store.count()
	return w.Writer.PutStock(s)
}

func (w *cancellingWriter) PutTally(c inventory.Tally) error {
	w.store.count()
	return w.Writer.PutTally(c)
}
