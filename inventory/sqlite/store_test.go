package sqlite_test

import (
	"context"
	"path/filepath"
	"testing"

	"github.com/stretchr/testify/require"

	"shimwright/inventory"
	"shimwright/inventory/sqlite"
	"shimwright/inventory/storetest"
)

func TestStore(t *testing.T) {
	storetest.Run(t, 5, func(t *testing.T) inventory.Store { return create(t) })
}

var ctx = context.Background()

// create makes a shop file under a name that a careless URI would cut.
func create(t *testing.T) *sqlite.Store {
	t.Helper()
	store, err := sqlite.Create(ctx, filepath.Join(t.TempDir(), "a ?b#c%20.db"))
	require.NoError(t, err)
	// The suite is about rows and rules; kills and faults have tests of their own.
	require.NoError(t, store.Exec(ctx, "PRAGMA synchronous = OFF"))
	return store
}

// endedStore cancels the context at the end of every update.
type endedStore struct {
	*sqlite.Store
	cancel context.CancelFunc
}

func (s endedStore) Update(ctx context.Context, f func(inventory.Writer) error) error {
	return s.Store.Update(ctx, func(w inventory.Writer) error {
		err := f(w)
		s.cancel()
		return err
	})
}

// What is cancelled before it is kept is not kept: "interrupted" never stands
// over a booking.
func TestCancelledUpdate(t *testing.T) {
	store := create(t)
	defer store.Close()
	cancelled, cancel := context.WithCancel(ctx)
	_, err := inventory.New(endedStore{store, cancel}, "", storetest.Clock()).Receive(cancelled, storetest.Items(3))
	require.ErrorIs(t, err, context.Canceled)
	history, err := inventory.New(store, "", storetest.Clock()).History(ctx, inventory.MovementFilter{})
	require.NoError(t, err)
	require.Empty(t, history)
}
