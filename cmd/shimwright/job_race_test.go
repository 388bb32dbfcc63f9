package main

import (
	"encoding/json"
	"fmt"
	"os/exec"
	"path/filepath"
	"sync"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"shimwright/testdata/effort"
)

// demo is a file of the demo shop.
func demo(name string) string { return filepath.Join("..", "..", "testdata", "demo", name) }

// openJobs opens jobs of the demo's twin and reads them.
func openJobs(t *testing.T, shop string, n int) {
	t.Helper()
	for job := 1; job <= n; job++ {
		mustShimwright(t, shop, "job", "open", "--engine", demo("sandpiper.toml"))
		mustShimwright(t, shop, "job", "read", fmt.Sprint(job), demo("sandpiper-check.csv"))
	}
}

// showJob returns a job as job show prints it.
func showJob(t *testing.T, shop string, job int) fileJSON {
	t.Helper()
	var f fileJSON
	require.NoError(t, json.Unmarshal([]byte(mustShimwright(t, shop, "job", "show", fmt.Sprint(job), "--output", "json")), &f))
	return f
}

// atOnce runs one process for each argument list at once and returns the exit
// statuses.
func atOnce(shop string, calls [][]string) []int {
	statuses := make([]int, len(calls))
	gate := make(chan struct{})
	var wait sync.WaitGroup
	for i, args := range calls {
		cmd := exec.Command("shimwright", append(args, "--shop", shop)...)
		wait.Add(1)
		go func() {
			defer wait.Done()
			<-gate
			_ = cmd.Run() // the status is checked by the caller
			statuses[i] = cmd.ProcessState.ExitCode()
		}()
	}
	close(gate)
	wait.Wait()
	return statuses
}

// TestLastPiecesOfEight: eight processes plan eight jobs at once with three
// shims left. Each shim goes to exactly one job; a process that saw the box
// change exits with 4 and plans again. Then all jobs are fitted at once.
func TestLastPiecesOfEight(t *testing.T) {
	effort.Long(t)
	const jobs, last = 8, 3
	shop := filepath.Join(t.TempDir(), "shop.db")
	mustShimwright(t, shop, "shop", "init")
	mustShimwright(t, shop, "box", "receive", fmt.Sprintf("2.250x%d", last), "--diameter", "8.9", "--bin", "last")
	openJobs(t, shop, jobs)

	open := make([]int, jobs)
	for i := range open {
		open[i] = i + 1
	}
	rounds, stale := 0, 0
	for ; len(open) > 0; rounds++ {
		require.Less(t, rounds, jobs+1, "one process wins each round at least")
		var calls [][]string
		for _, job := range open {
			calls = append(calls, []string{"job", "plan", fmt.Sprint(job), "--no-buy"})
		}
		var again []int
		for i, status := range atOnce(shop, calls) {
			switch status {
			case exitDone, exitOutside:
			case exitStale:
				stale++
				again = append(again, open[i])
			default:
				t.Errorf("job %d: exit status %d", open[i], status)
			}
		}
		open = again
	}
	held := 0
	for job := 1; job <= jobs; job++ {
		for _, h := range showJob(t, shop, job).Reserved {
			assert.Equal(t, 1, h.Count, "job %d", job)
			held += h.Count
		}
	}
	assert.Equal(t, last, held, "pieces held by %d jobs", jobs)
	mustShimwright(t, shop, "shop", "check")

	var calls [][]string
	drawn := 0
	for job := 1; job <= jobs; job++ {
		if len(showJob(t, shop, job).Plan.Placements) > 0 {
			calls = append(calls, []string{"job", "fit", fmt.Sprint(job)})
		}
	}
	for i, status := range atOnce(shop, calls) {
		assert.Equal(t, exitDone, status, "%v", calls[i])
	}
	for job := 1; job <= jobs; job++ {
		mine := 0
		for _, m := range showJob(t, shop, job).Movements {
			if m.Kind == "fitted" && m.Bin == "last" {
				mine++
			}
		}
		assert.LessOrEqual(t, mine, 1, "job %d", job)
		drawn += mine
	}
	assert.Equal(t, last, drawn)
	mustShimwright(t, shop, "shop", "check")
	t.Logf("%d processes planned on %d pieces: %d rounds, %d told to plan again (4); %d pieces held by %d jobs; %d fitted at once", jobs, last, rounds, stale, held, held, len(calls))
}

// TestPlanOfSixteen plans sixteen jobs in sixteen processes at once with a few
// shims left, and one more process plans all jobs together. Each succeeds on its
// own, however often the box changes.
func TestPlanOfSixteen(t *testing.T) {
	effort.Long(t)
	const jobs, last = 16, 5
	rounds := effort.Of(18)
	shop := filepath.Join(t.TempDir(), "shop.db")
	mustShimwright(t, shop, "shop", "init")
	mustShimwright(t, shop, "box", "receive", fmt.Sprintf("2.250x%d", last), "--diameter", "8.9", "--bin", "last")
	openJobs(t, shop, jobs)
	plans, refused := 0, 0
	for range rounds {
		calls := [][]string{{"job", "plan", "--all"}}
		for job := 1; job <= jobs; job++ {
			calls = append(calls, []string{"job", "plan", fmt.Sprint(job)})
		}
		for i, status := range atOnce(shop, calls) {
			plans++
			if status != exitDone {
				refused++
				t.Errorf("%v: exit status %d", calls[i], status)
			}
		}
	}
	held := 0
	for job := 1; job <= jobs; job++ {
		for _, h := range showJob(t, shop, job).Reserved {
			held += h.Count
		}
	}
	assert.Equal(t, last, held, "pieces held by %d jobs", jobs)
	mustShimwright(t, shop, "shop", "check")
	t.Logf("%d processes at once, %d plans: %d refused (bound: 0)", jobs+1, plans, refused)
}

// TestOneFitOfEight: of eight processes that book the same fit, one succeeds.
func TestOneFitOfEight(t *testing.T) {
	effort.Long(t)
	const processes = 8
	shop := filepath.Join(t.TempDir(), "shop.db")
	mustShimwright(t, shop, "shop", "init")
	mustShimwright(t, shop, "box", "receive", "2.250", "--diameter", "8.9")
	openJobs(t, shop, 1)
	mustShimwright(t, shop, "job", "plan", "1")
	calls := make([][]string, processes)
	for i := range calls {
		calls[i] = []string{"job", "fit", "1"}
	}
	got := map[int]int{}
	for _, status := range atOnce(shop, calls) {
		got[status]++
	}
	assert.Equal(t, map[int]int{exitDone: 1, exitFailed: processes - 1}, got)
	assert.Len(t, showJob(t, shop, 1).Movements, 6, "three shims out, three in")
	mustShimwright(t, shop, "shop", "check")
}
