package sqlite_test

import (
	"context"
	"os"
	"path/filepath"
	"sync"
	"testing"

	"github.com/stretchr/testify/require"

	"shimwright/inventory"
	"shimwright/inventory/internal/storetest"
	"shimwright/inventory/sqlite"
)

func TestStore(t *testing.T) {
	storetest.Run(t, 2, func(t *testing.T) inventory.Store { return create(t) })
}

var ctx = context.Background()

// empty is a new shop file. It is created once: that takes longer than most tests.
var empty = sync.OnceValue(func() []byte {
	folder, err := os.MkdirTemp("", "shimwright-test-")
	if err != nil {
		panic(err)
	}
	defer os.RemoveAll(folder)
	path := filepath.Join(folder, "shop.db")
	store, err := sqlite.Create(ctx, path)
	if err != nil {
		panic(err)
	}
	if err := store.Close(); err != nil {
		panic(err)
	}
	text, err := os.ReadFile(path)
	if err != nil {
		panic(err)
	}
	return text
})

// create makes a shop file under a name that a careless URI would cut.
func create(t *testing.T) *sqlite.Store {
	t.Helper()
	path := filepath.Join(t.TempDir(), "a ?b#c%20.db")
	require.NoError(t, os.WriteFile(path, empty(), 0o600))
	store, err := sqlite.Open(ctx, path)
	require.NoError(t, err)
	// The suite is about rows and rules; kills and faults have tests of their own.
	require.NoError(t, store.Exec(ctx, "PRAGMA synchronous = OFF"))
	return store
}
