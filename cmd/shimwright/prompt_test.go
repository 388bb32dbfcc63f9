package main

import (
	"bytes"
	"context"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"shimwright/inventory"
)

// writingStore knows whether a writer is at work.
type writingStore struct {
	inventory.Store
	writing *bool
}

func (s writingStore) Update(ctx context.Context, f func(inventory.Writer) error) error {
	*s.writing = true
	defer func() { *s.writing = false }()
	return s.Store.Update(ctx, f)
}

// watcher is a person who answers y, and an output; both look whether a writer is
// at work.
type watcher struct {
	t       *testing.T
	writing *bool
	asked   int
	bytes.Buffer
}

func (w *watcher) Read(text []byte) (int, error) {
	w.asked++
	assert.False(w.t, *w.writing, "a person is waited for while others wait for the shop")
	return copy(text, "y\n"), nil
}

func (w *watcher) Write(text []byte) (int, error) {
	assert.False(w.t, *w.writing, "told before it is booked: %s", text)
	return w.Buffer.Write(text)
}

// TestNothingWaitsInsideBooking: while a command holds the shop it neither waits
// for an answer nor prints; all of that comes before the booking or after it.
func TestNothingWaitsInsideBooking(t *testing.T) {
	folder := t.TempDir()
	shop := filepath.Join(folder, "shop.db")
	demo := func(name string) string { return filepath.Join("..", "..", "testdata", "demo", name) }
	text, err := os.ReadFile(demo("sandpiper.toml"))
	require.NoError(t, err)
	newer := filepath.Join(folder, "newer.toml")
	require.NoError(t, os.WriteFile(newer, bytes.ReplaceAll(text, []byte("clearance = [0.20, 0.27]"), []byte("clearance = [0.18, 0.25]")), 0o600))
	writing := false
	underShop = func(s inventory.Store) inventory.Store { return writingStore{s, &writing} }
	defer func() { underShop = func(s inventory.Store) inventory.Store { return s } }()
	asked := 0
	for _, line := range []string{
		"shop init",
		"box import " + demo("box.csv"),
		"box receive 2.4003x300 --diameter 8.9 --bin K1",
		"box count 2.4003x2 --diameter 8.9 --bin K1",
		"box scrap 2.4003 --diameter 8.9 --bin K1",
		"box correct 2.4003 --diameter 8.9 --bin K1 --is-bin K2",
		"box undo", "box undo --dry-run",
		"job open --tag A1 --meter 900 --engine " + demo("sandpiper.toml"),
		"job read 1 " + demo("sandpiper-check.csv"),
		"job plan --all",
		"job plan 1 --policy blueprint --output json",
		"job order --placed", "job order --withdrawn", "job order --placed", "job order --arrived 2.4003 --diameter 8.9", "job order --arrived",
		"job fit 1 --bin U1",
		"job recheck 1 ex1a=0.25 ex1b=0.25 ex2a=0.40 ex2b=0.25",
		"job correct 1 ex1a ex2b",
		"job edit 1 --note mended --engine " + newer,
		"job close 1 --anyway",
		"job open --tag A1 --meter 800 --engine " + demo("sandpiper.toml"), // asks about both
		"job cancel 2",
		"box import " + demo("box.csv"), // asks
	} {
		in, out, told := &watcher{t: t, writing: &writing}, &watcher{t: t, writing: &writing}, &watcher{t: t, writing: &writing}
		code := run(append(strings.Fields(line), "--shop", shop), &app{in: in, out: out, err: told, person: true})
		require.Contains(t, []int{exitDone, exitOutside}, code, "%s: %s", line, told)
		asked += in.asked
	}
	require.GreaterOrEqual(t, asked, 7)
	t.Logf("%d questions, none inside a booking", asked)
}
