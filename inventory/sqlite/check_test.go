package sqlite_test

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"shimwright/inventory"
	"shimwright/inventory/internal/storetest"
	"shimwright/inventory/sqlite"
	"shimwright/testdata/effort"
)

// TestCheckWhileOthersBook checks a ledger that is longer than what a check
// reads at a time, while another store books and undoes.
func TestCheckWhileOthersBook(t *testing.T) {
	effort.Long(t)
	path := filled(t)
	store, err := sqlite.Open(ctx, path)
	require.NoError(t, err)
	defer func() { require.NoError(t, store.Close()) }()
	shop := inventory.New(store, "", storetest.Clock())
	for range 12 {
		_, err := shop.Receive(ctx, storetest.Items(1000))
		require.NoError(t, err)
	}
	writer, err := sqlite.Open(ctx, path)
	require.NoError(t, err)
	stop, done := make(chan struct{}), make(chan error)
	booked := 0
	go func() {
		busy := inventory.New(writer, "", storetest.Clock())
		for {
			select {
			case <-stop:
				done <- nil
				return
			default:
			}
			r, err := busy.Receive(ctx, storetest.Items(3))
			if err == nil && booked%2 == 0 {
				_, err = busy.Undo(ctx, r.Batch, "")
			}
			if err != nil {
				done <- err
				return
			}
			booked++
		}
	}()
	for range 2 {
		found, err := shop.Check(ctx)
		require.NoError(t, err)
		assert.Empty(t, found)
	}
	close(stop)
	require.NoError(t, <-done)
	require.NoError(t, writer.Close())
	t.Logf("2 checks while %d deliveries were booked", booked)
}
