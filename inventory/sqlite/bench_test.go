package sqlite_test

import (
	"errors"
	"fmt"
	"os"
	"path/filepath"
	"sync"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"shimwright/inventory"
	"shimwright/inventory/internal/storetest"
	"shimwright/inventory/sample"
	"shimwright/inventory/sqlite"
	"shimwright/shim"
)

// large is the shop that the commands have to be quick on.
var large = sample.Size{Movements: 1_000_000, Jobs: 5_000, Sizes: 2_000}

// largeShop builds the large shop once, in some minutes, without waiting for
// the disk. Where SHIMWRIGHT_BENCH_SHOP names a file, it is kept there and
// used again.
var largeShop = sync.OnceValues(func() (string, error) {
	path := os.Getenv("SHIMWRIGHT_BENCH_SHOP")
	if path == "" {
		dir, err := os.MkdirTemp("", "shimwright-bench-*")
		if err != nil {
			return "", err
		}
		path = filepath.Join(dir, "shop.db")
	}
	store, err := sqlite.Create(ctx, path)
	if errors.Is(err, inventory.ErrExists) {
		return path, nil
	}
	if err != nil {
		return "", err
	}
	for _, text := range []string{"PRAGMA synchronous = OFF", "PRAGMA journal_mode = MEMORY", "PRAGMA cache_size = -200000"} {
		if err := store.Exec(ctx, text); err != nil {
			return "", err
		}
	}
	start := time.Now()
	err = sample.Build(ctx, inventory.New(store, "R. Example", storetest.Clock()), large)
	fmt.Fprintf(os.Stderr, "built %+v in %s\n", large, time.Since(start).Round(time.Second))
	return path, errors.Join(err, store.Close())
})

// bench runs whole commands less the start of the process: open the file, do
// it, close the file. The first function prepares outside of the clock.
func bench(b *testing.B, prepare func(*inventory.Shop) int64, command func(*inventory.Shop, int64) error) {
	path, err := largeShop()
	require.NoError(b, err)
	with := func(f func(*inventory.Shop) error) {
		store, err := sqlite.Open(ctx, path)
		require.NoError(b, err)
		require.NoError(b, f(inventory.New(store, "R. Example", time.Now)))
		require.NoError(b, store.Close())
	}
	for b.Loop() {
		var job int64
		if prepare != nil {
			b.StopTimer()
			with(func(s *inventory.Shop) error { job = prepare(s); return nil })
			b.StartTimer()
		}
		with(func(s *inventory.Shop) error { return command(s, job) })
	}
}

func BenchmarkBoxList(b *testing.B) {
	bench(b, nil, func(s *inventory.Shop, _ int64) error {
		list, err := s.Stocks(ctx, inventory.StockFilter{Page: inventory.Page{Limit: 2000}})
		require.Greater(b, len(list), 1000)
		return err
	})
}

func BenchmarkBoxReceive(b *testing.B) {
	bench(b, nil, func(s *inventory.Shop, _ int64) error {
		_, err := s.Receive(ctx, storetest.Items(10))
		return err
	})
}

func BenchmarkBoxHistory(b *testing.B) {
	bench(b, nil, func(s *inventory.Shop, _ int64) error {
		list, err := s.History(ctx, inventory.MovementFilter{Disc: shim.Disc{Family: shim.Family{Diameter: 8900 * shim.Micrometre}, Size: 1700 * shim.Micrometre}, Newest: true, Limit: 50})
		require.Len(b, list, 50)
		return err
	})
}

func BenchmarkJobList(b *testing.B) {
	bench(b, nil, func(s *inventory.Shop, _ int64) error {
		list, err := s.Jobs(ctx, inventory.JobFilter{States: []inventory.State{inventory.StatePlanned}, Page: inventory.Page{Limit: 50}})
		require.Len(b, list, 50)
		return err
	})
}

// measured opens a job and reads it.
func measured(b *testing.B) func(*inventory.Shop) int64 {
	return func(s *inventory.Shop) int64 {
		spec := sample.Sandpiper()
		job, err := s.OpenJob(ctx, inventory.Opening{Spec: spec, Source: spec.Name})
		require.NoError(b, err)
		var readings []shim.Measurement
		for _, valve := range spec.Valves() {
			readings = append(readings, shim.Measurement{Valve: valve, Reading: shim.ReadingOf(200 * shim.Micrometre), Marks: shim.Marks{Stamp: 2400 * shim.Micrometre}})
		}
		_, err = s.Read(ctx, job.ID, readings, "")
		require.NoError(b, err)
		return job.ID
	}
}

// planned lets a plan of eight draws stand.
func planned(s *inventory.Shop, job int64) error {
	basis, err := s.Basis(ctx, job)
	if err != nil {
		return err
	}
	p := inventory.Proposal{Job: job, Revision: basis.Revision}
	for i := range basis.Free {
		if k := basis.Free[(i+int(job)*97)%len(basis.Free)]; k.Free() > 0 && len(p.Placements) < len(basis.Seats) {
			p.Placements = append(p.Placements, inventory.Placement{Valve: basis.Seats[len(p.Placements)].Valve, Size: k.Size, Source: inventory.SourceDrawn})
		}
	}
	_, err = s.PlanTogether(ctx, []inventory.Proposal{p})
	return err
}

// BenchmarkJobPlan is a plan less the planner's own time.
func BenchmarkJobPlan(b *testing.B) { bench(b, measured(b), planned) }

func BenchmarkJobFit(b *testing.B) {
	prepare := func(s *inventory.Shop) int64 {
		job := measured(b)(s)
		require.NoError(b, planned(s, job))
		return job
	}
	bench(b, prepare, func(s *inventory.Shop, job int64) error {
		_, err := s.Fit(ctx, job, inventory.Fit{})
		return err
	})
}

func BenchmarkOrderList(b *testing.B) {
	bench(b, nil, func(s *inventory.Shop, _ int64) error {
		_, err := s.Shopping(ctx)
		return err
	})
}

func BenchmarkShopCheck(b *testing.B) {
	bench(b, nil, func(s *inventory.Shop, _ int64) error {
		found, err := s.Check(ctx)
		require.Empty(b, found)
		return err
	})
}

func BenchmarkShopBackup(b *testing.B) {
	path, err := largeShop()
	require.NoError(b, err)
	store, err := sqlite.Open(ctx, path)
	require.NoError(b, err)
	target := filepath.Join(b.TempDir(), "copy.db")
	for b.Loop() {
		_, err := store.Backup(ctx, target)
		require.NoError(b, err)
		require.NoError(b, os.Remove(target))
	}
	require.NoError(b, store.Close())
}
