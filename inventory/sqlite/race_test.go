package sqlite_test

import (
	"bytes"
	"errors"
	"fmt"
	"io"
	"os"
	"path/filepath"
	"strconv"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"shimwright/inventory"
	"shimwright/inventory/internal/storetest"
	"shimwright/inventory/sample"
	"shimwright/inventory/sqlite"
	"shimwright/shim"
	"shimwright/testdata/effort"
)

const wanted = 2350 * shim.Micrometre

// race is a child that plans one job on a piece of the wanted size as soon as
// its standard input ends, plans again while the plan is stale, and books the
// fit. It prints "fitted" or "short" and how often it was stale.
func race(args []string) error {
	id, err := strconv.ParseInt(args[1], 10, 64)
	if err != nil {
		return err
	}
	store, err := sqlite.Open(ctx, args[0])
	if err != nil {
		return err
	}
	shop := inventory.New(store, "R. Example", time.Now)
	if _, err := io.Copy(io.Discard, os.Stdin); err != nil {
		return err
	}
	for stale := 0; ; stale++ {
		basis, err := shop.Basis(ctx, id)
		if err != nil {
			return err
		}
		if len(basis.Free) == 0 || basis.Free[0].Size != wanted || basis.Free[0].Free() == 0 {
			fmt.Println("short", stale)
			return store.Close()
		}
		valve := sample.Sandpiper()
		_, err = shop.PlanTogether(ctx, []inventory.Proposal{{Job: id, Revision: basis.Revision,
			Placements: []inventory.Placement{{Valve: valve.Valves()[0], Size: wanted, Source: inventory.SourceDrawn}}}})
		if errors.Is(err, inventory.ErrStale) {
			continue
		}
		if err != nil {
			return err
		}
		if _, err := shop.Fit(ctx, id, inventory.Fit{}); err != nil {
			return err
		}
		fmt.Println("fitted", stale)
		return store.Close()
	}
}

// TestRace lets eight processes book the last three pieces at once.
func TestRace(t *testing.T) {
	effort.Long(t)
	const processes, last, rounds = 8, 3, 4
	stale := 0
	for range rounds {
		path := filepath.Join(t.TempDir(), "shop.db")
		store, err := sqlite.Create(ctx, path)
		require.NoError(t, err)
		shop := inventory.New(store, "R. Example", time.Now)
		spec := sample.Sandpiper()
		_, err = shop.Receive(ctx, []inventory.Item{{Lot: inventory.Lot{Family: shim.Family{Diameter: spec.Diameter}, Marks: shim.Marks{Stamp: wanted}}, Count: last}})
		require.NoError(t, err)
		ids := make([]int64, processes)
		for i := range ids {
			job, err := shop.OpenJob(ctx, inventory.Opening{Spec: spec, Source: spec.Name})
			require.NoError(t, err)
			ids[i] = job.ID
			_, err = shop.Read(ctx, job.ID, []shim.Measurement{{Valve: spec.Valves()[0], Reading: shim.ReadingOf(100 * shim.Micrometre), Marks: shim.Marks{Stamp: 2400 * shim.Micrometre}}}, "")
			require.NoError(t, err)
		}
		outs := make([]bytes.Buffer, processes)
		start, shot, err := os.Pipe()
		require.NoError(t, err)
		var waits []func() error
		for i, id := range ids {
			cmd := child("race", path, fmt.Sprint(id))
			cmd.Stdin, cmd.Stdout = start, &outs[i]
			require.NoError(t, cmd.Start())
			waits = append(waits, cmd.Wait)
		}
		require.NoError(t, shot.Close())
		fitted := 0
		for i, wait := range waits {
			require.NoError(t, wait())
			word := strings.Fields(outs[i].String())
			require.Len(t, word, 2)
			if word[0] == "fitted" {
				fitted++
			}
			n, err := strconv.Atoi(word[1])
			require.NoError(t, err)
			stale += n
		}
		require.NoError(t, start.Close())
		assert.Equal(t, last, fitted)
		rows, err := shop.History(ctx, inventory.MovementFilter{Disc: shim.Disc{Size: wanted}})
		require.NoError(t, err)
		jobs := map[int64]bool{}
		for _, m := range rows[1:] {
			assert.Equal(t, inventory.KindFitted, m.Kind)
			jobs[m.Job] = true
		}
		assert.Len(t, jobs, last, "each piece went to one job of its own")
		storetest.Invariants(t, shop, "after the race")
		require.NoError(t, store.Close())
	}
	t.Logf("%d rounds of %d processes for %d pieces: each piece to one job, %d plans were stale and made again", rounds, processes, last, stale)
}
