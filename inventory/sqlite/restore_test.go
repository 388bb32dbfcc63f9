package sqlite_test

import (
	"bytes"
	"database/sql"
	"os"
	"path/filepath"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"shimwright/inventory"
	"shimwright/inventory/internal/storetest"
	"shimwright/inventory/sqlite"
)

// backedUp gives a shop file, a backup of it, and what the backup shows. The
// shop has gone on since.
func backedUp(t *testing.T) (path, backup, want string) {
	t.Helper()
	path = filled(t)
	backup = filepath.Join(t.TempDir(), "backup.db")
	store, err := sqlite.Open(ctx, path)
	require.NoError(t, err)
	_, err = store.Backup(ctx, backup)
	require.NoError(t, err)
	_, err = inventory.New(store, "", storetest.Clock()).Receive(ctx, storetest.Items(3))
	require.NoError(t, err)
	require.NoError(t, store.Close())
	return path, backup, content(t, backup)
}

// cutOff leaves the shop file in the middle of a command, with its journal.
func cutOff(t *testing.T, path string) {
	t.Helper()
	db, err := sql.Open("sqlite", "file:"+path+"?_pragma=cache_size(1)&_pragma=cache_spill(1)")
	require.NoError(t, err)
	db.SetMaxOpenConns(1)
	_, err = db.Exec("BEGIN IMMEDIATE; UPDATE jobs SET note = hex(randomblob(2000))")
	require.NoError(t, err)
	// A copy of both files while the command is under way is what a kill leaves.
	data, err := os.ReadFile(path)
	require.NoError(t, err)
	log, err := os.ReadFile(path + "-journal")
	require.NoError(t, err)
	require.NotEmpty(t, log)
	_, err = db.Exec("ROLLBACK")
	require.NoError(t, err)
	require.NoError(t, db.Close())
	require.NoError(t, os.WriteFile(path, data, 0o644))
	require.NoError(t, os.WriteFile(path+"-journal", log, 0o644))
}

func TestRestore(t *testing.T) {
	for name, spoil := range map[string]func(t *testing.T, path string){
		"a sound shop":           func(*testing.T, string) {},
		"a cut-off command":      cutOff,
		"a shop that is no more": func(t *testing.T, path string) { require.NoError(t, os.Remove(path)) },
		"a journal alone": func(t *testing.T, path string) {
			cutOff(t, path)
			require.NoError(t, os.Remove(path))
		},
		"a text with a journal": func(t *testing.T, path string) {
			cutOff(t, path)
			require.NoError(t, os.WriteFile(path, bytes.Repeat([]byte("x"), 8192), 0o644))
		},
		"a damaged shop": func(t *testing.T, path string) { require.NoError(t, os.Truncate(path, 5000)) },
	} {
		t.Run(name, func(t *testing.T) {
			path, backup, want := backedUp(t)
			spoil(t, path)
			before := folder(t, filepath.Dir(path))
			kept, last, err := sqlite.Restore(ctx, backup, path)
			require.NoError(t, err)
			assert.NotZero(t, last.Seq)
			after := folder(t, filepath.Dir(path))
			assert.NotContains(t, after, "shop.db-journal", "no journal lies beside the backup's copy")
			require.Equal(t, want, content(t, path))
			require.Empty(t, examine(t, path))
			if len(before) == 0 {
				assert.Empty(t, kept)
				return
			}
			// Nothing of the old shop is lost: what was there is there.
			kept = filepath.Base(kept)
			if name == "a text with a journal" || name == "a journal alone" || name == "a damaged shop" {
				for _, end := range []string{"", "-journal"} {
					assert.Equal(t, before["shop.db"+end], after[kept+end], end)
				}
			} else {
				require.Empty(t, examine(t, filepath.Join(filepath.Dir(path), kept)))
			}
		})
	}
}

func TestRestoreRefuses(t *testing.T) {
	path, backup, _ := backedUp(t)
	spoilt := backup + ".spoilt"
	data, err := os.ReadFile(backup)
	require.NoError(t, err)
	require.NoError(t, os.WriteFile(spoilt, data, 0o644))
	raw(t, spoilt, "UPDATE sizes SET on_hand = on_hand + 1")
	text := backup + ".txt"
	require.NoError(t, os.WriteFile(text, []byte("size,count\n"), 0o644))
	link := filepath.Join(t.TempDir(), "link.db")
	require.NoError(t, os.Symlink(path, link))
	before := folder(t, filepath.Dir(path))
	for file, kind := range map[string]error{
		spoilt: inventory.ErrDamaged, text: inventory.ErrForeign, path: inventory.ErrInvalid, link: inventory.ErrInvalid,
		backup + ".missing": inventory.ErrMissing, filepath.Dir(path): inventory.ErrForeign,
	} {
		_, _, err := sqlite.Restore(ctx, file, path)
		require.ErrorIs(t, err, kind, file)
	}
	assert.Equal(t, before, folder(t, filepath.Dir(path)), "nothing changed, nothing is left over")
}

// TestRestoreWhileOthersWork restores while another command holds the file,
// and lets one go on that had it open: what it books would be lost, and is
// refused.
func TestRestoreWhileOthersWork(t *testing.T) {
	path, backup, want := backedUp(t)
	other, err := sqlite.Open(ctx, path)
	require.NoError(t, err)
	require.NoError(t, other.Exec(ctx, "BEGIN IMMEDIATE"))
	saved := sqlite.SetPatience("20")
	defer sqlite.SetPatience(saved)
	_, _, err = sqlite.Restore(ctx, backup, path)
	require.ErrorIs(t, err, inventory.ErrBusy)
	require.NoError(t, other.Exec(ctx, "ROLLBACK"))
	_, _, err = sqlite.Restore(ctx, backup, path)
	require.NoError(t, err)
	_, err = inventory.New(other, "", storetest.Clock()).Receive(ctx, storetest.Items(1))
	clear(t, err, inventory.ErrBusy, path)
	require.NoError(t, other.Close())
	require.Equal(t, want, content(t, path))
}

// TestLeftovers finds what killed commands left and what live ones are making.
func TestLeftovers(t *testing.T) {
	path := filled(t)
	dir := filepath.Dir(path)
	dead := filepath.Join(dir, ".shimwright-123")
	require.NoError(t, os.Mkdir(dead, 0o700))
	require.NoError(t, os.WriteFile(filepath.Join(dead, "shop.db"), []byte("a copy"), 0o600))
	alive, err := sqlite.NewScratch(dir)
	require.NoError(t, err)
	_, err = os.Stat(dead)
	require.ErrorIs(t, err, os.ErrNotExist)
	store, err := sqlite.Open(ctx, path)
	require.NoError(t, err)
	require.NoError(t, store.Close())
	require.Len(t, folder(t, dir), 2, "a command at work keeps its folder")
	require.NoError(t, alive.Remove())
	require.Len(t, folder(t, dir), 1)
}

// TestPrivateCopies: a copy is as private as its original.
func TestPrivateCopies(t *testing.T) {
	path, backup, _ := backedUp(t)
	mode := func(path string) os.FileMode {
		info, err := os.Stat(path)
		require.NoError(t, err)
		return info.Mode().Perm()
	}
	require.NoError(t, os.Chmod(path, 0o600))
	store, err := sqlite.Open(ctx, path)
	require.NoError(t, err)
	_, err = store.Backup(ctx, backup+".2")
	require.NoError(t, err)
	require.NoError(t, store.Close())
	assert.Equal(t, os.FileMode(0o600), mode(backup+".2"))
	require.NoError(t, os.Chmod(backup, 0o644))
	_, _, err = sqlite.Restore(ctx, backup, path)
	require.NoError(t, err)
	assert.Equal(t, os.FileMode(0o600), mode(path))
}
