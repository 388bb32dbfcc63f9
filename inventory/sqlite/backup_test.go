package sqlite_test

import (
	"context"
	"fmt"
	"os"
	"path/filepath"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"shimwright/inventory"
	"shimwright/inventory/internal/storetest"
	"shimwright/inventory/sqlite"
	"shimwright/testdata/effort"
)

// TestBackup makes copies while another store books. Each copy is whole: it
// has what was acknowledged before it was begun.
func TestBackup(t *testing.T) {
	effort.Long(t)
	path := filled(t)
	writer, err := sqlite.Open(ctx, path)
	require.NoError(t, err)
	store, err := sqlite.Open(ctx, path)
	require.NoError(t, err)
	shop := inventory.New(store, "", storetest.Clock())

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
				if _, err := busy.Receive(ctx, storetest.Items(3)); err != nil {
					done <- err
					return
				}
				booked++
			}
		}
	}()
	dir := t.TempDir()
	const copies = 4
	for i := range copies {
		before, err := shop.History(ctx, inventory.MovementFilter{Newest: true, Limit: 1})
		require.NoError(t, err)
		target := filepath.Join(dir, fmt.Sprintf("copy %d?.db", i))
		_, err = store.Backup(ctx, target)
		require.NoError(t, err)
		require.Empty(t, examine(t, target))
		copied, err := sqlite.Open(ctx, target)
		require.NoError(t, err)
		rows, err := inventory.New(copied, "", storetest.Clock()).History(ctx, inventory.MovementFilter{After: before[0].Seq - 1, Limit: 1})
		require.NoError(t, err)
		require.Equal(t, before, rows)
		// A copy is a shop: it can be worked with.
		_, err = inventory.New(copied, "", storetest.Clock()).Receive(ctx, storetest.Items(1))
		require.NoError(t, err)
		require.NoError(t, copied.Close())
	}
	close(stop)
	require.NoError(t, <-done)
	require.NoError(t, writer.Close())
	require.NoError(t, store.Close())
	assert.Len(t, folder(t, dir), copies, "nothing but the copies is left")
	t.Logf("%d copies while %d deliveries were booked", copies, booked)
}

func TestBackupRefuses(t *testing.T) {
	path := filled(t)
	dir := t.TempDir()
	taken := filepath.Join(dir, "taken.db")
	require.NoError(t, os.WriteFile(taken, []byte("mine"), 0o644))
	before := folder(t, dir)
	store, err := sqlite.Open(ctx, path)
	require.NoError(t, err)
	_, err = store.Backup(ctx, taken)
	clear(t, err, inventory.ErrExists, taken)
	_, err = store.Backup(ctx, filepath.Join(dir, "missing", "copy.db"))
	require.Error(t, err)
	gone, cancel := context.WithCancel(ctx)
	cancel()
	_, err = store.Backup(gone, filepath.Join(dir, "copy.db"))
	require.ErrorIs(t, err, context.Canceled)
	require.NoError(t, store.Exec(ctx, "UPDATE sizes SET on_hand = on_hand + 1"))
	_, err = store.Backup(ctx, filepath.Join(dir, "copy.db"))
	require.ErrorIs(t, err, inventory.ErrDamaged, "a copy of a shop that is not sound is no backup")
	require.NoError(t, store.Close())
	assert.Equal(t, before, folder(t, dir))
}
