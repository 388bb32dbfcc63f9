package main

import (
	"bytes"
	"context"
	"errors"
	"path/filepath"
	"slices"
	"strings"
	"testing"
	"time"

	"github.com/spf13/cobra"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"shimwright/inventory"
	"shimwright/shim"
)

// TestBookingTakesKey names every command of the shop as one that books, with
// --key, or as one that only reads and cannot book.
func TestBookingTakesKey(t *testing.T) {
	reading := []string{"box list", "box history", "box export", "job list", "job show", "job sheet", "machine list", "machine show", "machine due", "gauge list", "supplier list", "supplier prices", "machine export"}
	var walk func(*cobra.Command)
	seen := 0
	walk = func(cmd *cobra.Command) {
		for _, c := range cmd.Commands() {
			walk(c)
		}
		name := strings.TrimPrefix(cmd.CommandPath(), "shimwright ")
		if group, _, two := strings.Cut(name, " "); !two || group != "box" && group != "job" && group != "machine" && group != "gauge" && group != "supplier" {
			return
		}
		seen++
		assert.Equal(t, slices.Contains(booking, name), !slices.Contains(reading, name), "%s: say whether it books", name)
		assert.Equal(t, slices.Contains(booking, name), cmd.Flags().Lookup("key") != nil, "%s: --key", name)
	}
	walk(newRoot(&app{in: &bytes.Buffer{}, out: &bytes.Buffer{}, err: &bytes.Buffer{}}))
	assert.Equal(t, len(booking)+len(reading), seen)
}

// lastingFault is a store whose commits answer with an error, after the booking
// lasted or before.
type lastingFault struct {
	inventory.Store
	lasts bool
}

func (s lastingFault) Update(ctx context.Context, f func(inventory.Writer) error) error {
	lost := shim.Fail(errors.Join(inventory.ErrUnsure, inventory.ErrDisk), "", "the answer was lost")
	if s.lasts {
		if err := s.Store.Update(ctx, f); err != nil {
			return err
		}
		return lost
	}
	return s.Store.Update(ctx, func(w inventory.Writer) error {
		if err := f(w); err != nil {
			return err
		}
		return lost
	})
}

// TestUnsure loses the answer of the commit, and repeats the command with the
// key that was printed: it is booked once, whether the first one lasted or not.
func TestUnsure(t *testing.T) {
	for _, lasts := range []bool{true, false} {
		shop := filepath.Join(t.TempDir(), "shop.db")
		call := func(args ...string) (int, string, string) {
			var out, told bytes.Buffer
			code := run(append(args, "--shop", shop), &app{in: &bytes.Buffer{}, out: &out, err: &told})
			return code, out.String(), told.String()
		}
		code, _, told := call("shop", "init")
		require.Equal(t, exitDone, code, told)
		receive := []string{"box", "receive", "2.400x3", "--diameter", "8.9"}
		underShop = func(s inventory.Store) inventory.Store { return lastingFault{s, lasts} }
		code, out, told := call(receive...)
		underShop = func(s inventory.Store) inventory.Store { return s }
		require.Equal(t, exitUnsure, code, told)
		require.Empty(t, out)
		_, rest, found := strings.Cut(told, "--key ")
		require.True(t, found, told)
		key, _, _ := strings.Cut(rest, ":")
		first := ""
		for range 3 {
			code, out, told = call(append(receive, "--key", key)...)
			require.Equal(t, exitDone, code, told)
			require.Contains(t, out, "booking 1.")
			if first == "" {
				first = out
			}
			require.Equal(t, first, out, "the first receipt")
		}
		code, _, told = call("box", "receive", "2.400x4", "--diameter", "8.9", "--key", key)
		require.Equal(t, exitFailed, code)
		require.Contains(t, told, key)
		_, out, _ = call("box", "history", "--output", "csv")
		require.Equal(t, 2, strings.Count(out, "\n"), "a heading and one row: %s", out)
		code, _, told = call("shop", "check")
		require.Equal(t, exitDone, code, told)
	}
}

// TestAnswerOfEarlierVersion repeats a command whose answer an earlier version did
// not keep: it books nothing and does not say that all is well.
func TestAnswerOfEarlierVersion(t *testing.T) {
	shop := filepath.Join(t.TempDir(), "shop.db")
	call := func(args ...string) (int, string, string) {
		var out, told bytes.Buffer
		code := run(append(args, "--shop", shop), &app{in: &bytes.Buffer{}, out: &out, err: &told})
		return code, out.String(), told.String()
	}
	code, _, told := call("shop", "init")
	require.Equal(t, exitDone, code, told)
	receive := []string{"box", "receive", "2.400x3", "--diameter", "8.9", "--key", "r"}
	heard := &hearingStore{}
	underShop = func(s inventory.Store) inventory.Store { heard.Store = s; return heard }
	code, _, told = call(append(receive, "--yes")...)
	underShop = func(s inventory.Store) inventory.Store { return s }
	require.Equal(t, exitDone, code, told)

	store, err := openStore(t.Context(), shop)
	require.NoError(t, err)
	session := inventory.New(store, "R. Example", time.Now).Session("old", heard.command.Digest)
	_, err = session.Receive(t.Context(), []inventory.Item{{Lot: inventory.Lot{Family: shim.Family{Diameter: 8900 * shim.Micrometre}, Marks: shim.Marks{Stamp: 2400 * shim.Micrometre}}, Count: 3}})
	require.NoError(t, err)
	_, _, err = session.Commit(t.Context(), "", -1)
	require.NoError(t, err)
	require.NoError(t, store.Close())

	receive[len(receive)-1] = "old"
	code, out, told := call(append(receive, "--yes")...)
	require.Equal(t, exitBooked, code, told)
	require.Empty(t, out)
	require.Contains(t, told, "booking 2")
	_, out, _ = call("box", "history", "--output", "csv")
	require.Equal(t, 3, strings.Count(out, "\n"), "a heading and two rows: %s", out)
}

// hearingStore hears which command is kept.
type hearingStore struct {
	inventory.Store
	command inventory.Command
}

func (s *hearingStore) Update(ctx context.Context, f func(inventory.Writer) error) error {
	return s.Store.Update(ctx, func(w inventory.Writer) error { return f(hearingWriter{w, s}) })
}

type hearingWriter struct {
	inventory.Writer
	s *hearingStore
}

func (w hearingWriter) PutCommand(c inventory.Command) error {
	w.s.command = c
	return w.Writer.PutCommand(c)
}
