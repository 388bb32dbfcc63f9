package sqlite_test

import (
	"crypto/sha256"
	"database/sql"
	"errors"
	"fmt"
	"os"
	"path/filepath"
	"strings"
	"sync"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"shimwright/inventory"
	"shimwright/inventory/internal/storetest"
	"shimwright/inventory/sample"
	"shimwright/inventory/sqlite"
	"shimwright/shim"
)

// filled gives a shop file with some pieces and a planned job in it.
func filled(t *testing.T) string {
	t.Helper()
	data, err := template()
	require.NoError(t, err)
	path := filepath.Join(t.TempDir(), "shop.db")
	require.NoError(t, os.WriteFile(path, data, 0o644))
	return path
}

// template is the content of a filled shop file, built once.
var template = sync.OnceValues(func() ([]byte, error) {
	dir, err := os.MkdirTemp("", "shimwright-*")
	if err != nil {
		return nil, err
	}
	defer func() { _ = os.RemoveAll(dir) }()
	path := filepath.Join(dir, "shop.db")
	store, err := sqlite.Create(ctx, path)
	if err != nil {
		return nil, err
	}
	shop := inventory.New(store, "R. Example", storetest.Clock())
	err = sample.Build(ctx, shop, sample.Size{Movements: 300, Jobs: 10, Sizes: 40})
	if err := errors.Join(err, store.Close()); err != nil {
		return nil, err
	}
	return os.ReadFile(path)
})

// raw runs SQL on a file without the store.
func raw(t *testing.T, path, text string) {
	t.Helper()
	db, err := sql.Open("sqlite", "file:"+path)
	require.NoError(t, err)
	_, err = db.Exec(text)
	require.NoError(t, err)
	require.NoError(t, db.Close())
}

// folder is the names and the content of a folder's files.
func folder(t *testing.T, path string) map[string][32]byte {
	t.Helper()
	entries, err := os.ReadDir(path)
	require.NoError(t, err)
	list := map[string][32]byte{}
	for _, e := range entries {
		if e.IsDir() {
			list[e.Name()] = [32]byte{}
			continue
		}
		data, err := os.ReadFile(filepath.Join(path, e.Name()))
		require.NoError(t, err)
		list[e.Name()] = sha256.Sum256(data)
	}
	return list
}

// clear holds an error against what a user is owed: its kind, one line, the
// file's name, and a hint.
func clear(t *testing.T, err, kind error, path string) {
	t.Helper()
	require.ErrorIs(t, err, kind)
	assert.Contains(t, err.Error(), path)
	assert.NotContains(t, err.Error(), "\n")
	var told *shim.Hinted
	require.True(t, errors.As(err, &told))
	assert.NotEmpty(t, told.Hint)
}

// overwrite changes one byte.
func overwrite(t *testing.T, path string, at int64, to byte) {
	t.Helper()
	f, err := os.OpenFile(path, os.O_RDWR, 0)
	require.NoError(t, err)
	_, err = f.WriteAt([]byte{to}, at)
	require.NoError(t, err)
	require.NoError(t, f.Close())
}

func TestOpenRefuses(t *testing.T) {
	for name, c := range map[string]struct {
		spoil func(t *testing.T, path string)
		kind  error
	}{
		"missing": {func(t *testing.T, path string) { require.NoError(t, os.Remove(path)) }, inventory.ErrMissing},
		"a folder": {func(t *testing.T, path string) {
			require.NoError(t, os.Remove(path))
			require.NoError(t, os.Mkdir(path, 0o755))
		}, inventory.ErrForeign},
		"empty": {func(t *testing.T, path string) { require.NoError(t, os.Truncate(path, 0)) }, inventory.ErrForeign},
		"a text": {func(t *testing.T, path string) {
			require.NoError(t, os.WriteFile(path, []byte(strings.Repeat("size,count\n", 50)), 0o644))
		}, inventory.ErrForeign},
		"another database": {func(t *testing.T, path string) { raw(t, path, "PRAGMA application_id = 7") }, inventory.ErrForeign},
		"no version":       {func(t *testing.T, path string) { raw(t, path, "PRAGMA user_version = 0") }, inventory.ErrForeign},
		"newer":            {func(t *testing.T, path string) { raw(t, path, "PRAGMA user_version = 99") }, inventory.ErrNewer},
		"a table is gone":  {func(t *testing.T, path string) { raw(t, path, "DROP TABLE lots") }, inventory.ErrDamaged},
		"a pointer map":    {func(t *testing.T, path string) { overwrite(t, path, 55, 1) }, inventory.ErrDamaged},
		"cut in half": {func(t *testing.T, path string) {
			info, err := os.Stat(path)
			require.NoError(t, err)
			require.NoError(t, os.Truncate(path, info.Size()/2))
		}, inventory.ErrDamaged},
		"a spoilt schema": {func(t *testing.T, path string) {
			f, err := os.OpenFile(path, os.O_RDWR, 0)
			require.NoError(t, err)
			_, err = f.WriteAt([]byte(strings.Repeat("\xff", 300)), 100)
			require.NoError(t, err)
			require.NoError(t, f.Close())
		}, inventory.ErrDamaged},
	} {
		t.Run(name, func(t *testing.T) {
			path := filled(t)
			c.spoil(t, path)
			before := folder(t, filepath.Dir(path))
			store, err := sqlite.Open(ctx, path)
			if err == nil {
				// SQLite reads no page but the first until it has to.
				shop := inventory.New(store, "", time.Now)
				_, err = shop.Receive(ctx, storetest.Items(1))
				require.NoError(t, store.Close())
			}
			clear(t, err, c.kind, path)
			assert.Equal(t, before, folder(t, filepath.Dir(path)), "nothing changed")
		})
	}
}

func TestCreateRefuses(t *testing.T) {
	path := filled(t)
	before := folder(t, filepath.Dir(path))
	_, err := sqlite.Create(ctx, path)
	clear(t, err, inventory.ErrExists, path)
	link := path + ".link"
	require.NoError(t, os.Symlink("nowhere", link))
	_, err = sqlite.Create(ctx, link)
	clear(t, err, inventory.ErrExists, link)
	require.NoError(t, os.Remove(link))
	assert.Equal(t, before, folder(t, filepath.Dir(path)))

	_, err = sqlite.Create(ctx, filepath.Join(path, "shop.db"))
	require.Error(t, err, "a file where a folder should be")

	deep := filepath.Join(t.TempDir(), "a", "b", "shop.db")
	store, err := sqlite.Create(ctx, deep)
	require.NoError(t, err, "missing folders are made")
	require.NoError(t, store.Close())
	assert.Len(t, folder(t, filepath.Dir(deep)), 1, "nothing is left beside it")
}

func TestDiskFull(t *testing.T) {
	path := filled(t)
	store, err := sqlite.Open(ctx, path)
	require.NoError(t, err)
	defer func() { require.NoError(t, store.Close()) }()
	shop := inventory.New(store, "", time.Now)
	before := folder(t, filepath.Dir(path))
	pages, err := store.Pragma(ctx, "page_count")
	require.NoError(t, err)
	require.NoError(t, store.Exec(ctx, fmt.Sprintf("PRAGMA max_page_count = %d", pages)))
	_, err = shop.Receive(ctx, storetest.Items(500))
	clear(t, err, inventory.ErrFull, path)
	assert.Equal(t, before, folder(t, filepath.Dir(path)), "nothing changed, no journal left")
	storetest.Invariants(t, shop, "after a full disk")

	require.NoError(t, store.Exec(ctx, fmt.Sprintf("PRAGMA max_page_count = %d", 10*pages)))
	_, err = shop.Receive(ctx, storetest.Items(500))
	require.NoError(t, err, "room was made")
	storetest.Invariants(t, shop, "after room was made")
}

func TestBusy(t *testing.T) {
	path := filled(t)
	store, err := sqlite.Open(ctx, path)
	require.NoError(t, err)
	defer func() { require.NoError(t, store.Close()) }()
	other, err := sqlite.Open(ctx, path)
	require.NoError(t, err)
	defer func() { require.NoError(t, other.Close()) }()
	require.NoError(t, store.Exec(ctx, "PRAGMA busy_timeout = 20"))
	require.NoError(t, other.Exec(ctx, "BEGIN IMMEDIATE"))
	shop := inventory.New(store, "", time.Now)
	_, err = shop.Receive(ctx, storetest.Items(1))
	clear(t, err, inventory.ErrBusy, path)
	_, err = shop.Stocks(ctx, inventory.StockFilter{})
	require.NoError(t, err, "readers need not wait for a command that is being made")
	require.NoError(t, other.Exec(ctx, "ROLLBACK"))
	_, err = shop.Receive(ctx, storetest.Items(1))
	require.NoError(t, err)
}
