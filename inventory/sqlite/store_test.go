package sqlite_test

import (
	"context"
	"path/filepath"
	"testing"

	"github.com/stretchr/testify/require"

	"shimwright/inventory"
	"shimwright/inventory/internal/storetest"
	"shimwright/inventory/sqlite"
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
