package main

import (
	"os"
	"path/filepath"
	"runtime"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// listing is the names in a folder.
func listing(t *testing.T, folder string) []string {
	t.Helper()
	entries, err := os.ReadDir(folder)
	require.NoError(t, err)
	names := make([]string, len(entries))
	for i, e := range entries {
		names[i] = e.Name()
	}
	return names
}

func TestSave(t *testing.T) {
	folder := t.TempDir()
	name := filepath.Join(folder, "check.csv")
	require.NoError(t, save(name, []byte("one")))
	require.NoError(t, os.Chmod(name, 0o640))
	require.NoError(t, save(name, []byte("two")))
	got, err := os.ReadFile(name)
	require.NoError(t, err)
	assert.Equal(t, "two", string(got))
	assert.Equal(t, []string{"check.csv"}, listing(t, folder))
	if runtime.GOOS != "windows" {
		info, err := os.Stat(name)
		require.NoError(t, err)
		assert.Equal(t, os.FileMode(0o640), info.Mode().Perm())
	}
}

// The old file is never written to: whoever has it open still reads it whole.
func TestSaveReplaces(t *testing.T) {
	folder := t.TempDir()
	name, other := filepath.Join(folder, "check.csv"), filepath.Join(folder, "other.csv")
	require.NoError(t, save(name, []byte("one")))
	if err := os.Link(name, other); err != nil {
		t.Skip("no hard links here:", err)
	}
	require.NoError(t, save(name, []byte("two")))
	got, err := os.ReadFile(other)
	require.NoError(t, err)
	assert.Equal(t, "one", string(got))
}

func TestSaveFollowsLinks(t *testing.T) {
	folder, elsewhere := t.TempDir(), t.TempDir()
	target, link := filepath.Join(elsewhere, "real.csv"), filepath.Join(folder, "check.csv")
	require.NoError(t, os.WriteFile(target, []byte("one"), 0o666))
	if err := os.Symlink(target, link); err != nil {
		t.Skip("no symbolic links here:", err)
	}
	require.NoError(t, save(link, []byte("two")))
	got, err := os.ReadFile(target)
	require.NoError(t, err)
	assert.Equal(t, "two", string(got))
	info, err := os.Lstat(link)
	require.NoError(t, err)
	assert.NotZero(t, info.Mode()&os.ModeSymlink)
}

// A failure leaves the folder as it was.
func TestSaveFails(t *testing.T) {
	folder := t.TempDir()
	inTheWay := filepath.Join(folder, "check.csv")
	require.NoError(t, os.Mkdir(inTheWay, 0o777))
	assert.Error(t, save(inTheWay, []byte("one")))
	assert.Error(t, save(filepath.Join(folder, "no", "check.csv"), []byte("one")))
	assert.Equal(t, []string{"check.csv"}, listing(t, folder))
	if _, err := os.Stat("/dev/full"); err == nil {
		assert.Error(t, save("/dev/full", []byte("one")))
	}
}

// What a kill left is removed once it is old, and nothing else is.
func TestSweep(t *testing.T) {
	folder := t.TempDir()
	for _, name := range []string{".check.csv.1-1.part", ".check.csv.2-2.part", ".other.csv.1-1.part", "check.csv"} {
		require.NoError(t, os.WriteFile(filepath.Join(folder, name), nil, 0o666))
		if name != ".check.csv.2-2.part" {
			old := time.Now().Add(-time.Hour)
			require.NoError(t, os.Chtimes(filepath.Join(folder, name), old, old))
		}
	}
	sweep(filepath.Join(folder, "check.csv"), time.Now())
	assert.Equal(t, []string{".check.csv.2-2.part", ".other.csv.1-1.part", "check.csv"}, listing(t, folder))
}
