package main

import (
	"io"
	"os/exec"
	"path/filepath"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"shimwright/testdata/effort"
)

// TestPlanOnAChangedBox: a shim arrives while job plan reads its catalogue. The
// plan uses it, because the box is read last. The catalogue on standard input is
// larger than a pipe buffer, so it blocks until the command reads it.
func TestPlanOnAChangedBox(t *testing.T) {
	for name, args := range map[string][]string{"one": {"1"}, "all": {"--all"}} {
		shop := filepath.Join(t.TempDir(), "shop.db")
		mustShimwright(t, shop, "shop", "init")
		openJobs(t, shop, 1)
		cmd := exec.Command("shimwright", append([]string{"job", "plan", "--catalogue", "-", "--shop", shop}, args...)...)
		in, err := cmd.StdinPipe()
		require.NoError(t, err)
		require.NoError(t, cmd.Start())
		_, err = io.WriteString(in, "size,price\n2.250,7.80\n"+strings.Repeat("# a long supplier's list\n", 20_000))
		require.NoError(t, err)
		mustShimwright(t, shop, "box", "receive", "2.250", "--diameter", "8.9")
		require.NoError(t, in.Close())
		require.NoError(t, cmd.Wait(), name)
		f := showJob(t, shop, 1)
		assert.Equal(t, "planned", f.State, name)
		require.Len(t, f.Reserved, 1, name)
		assert.Equal(t, "2.25", f.Reserved[0].Size.String(), name)
		assert.Empty(t, f.Purchases, name)
	}
}

// TestAllAtOnce: when several processes plan all jobs at once, each keeps all its
// plans or none, and no shim is reserved twice.
func TestAllAtOnce(t *testing.T) {
	effort.Long(t)
	const jobs, pieces, processes = 4, 3, 4
	shop := filepath.Join(t.TempDir(), "shop.db")
	mustShimwright(t, shop, "shop", "init")
	mustShimwright(t, shop, "box", "receive", "2.250x3", "--diameter", "8.9")
	openJobs(t, shop, jobs)
	calls := make([][]string, processes)
	for i := range calls {
		calls[i] = []string{"job", "plan", "--all", "--no-buy"}
	}
	kept := 0
	for _, status := range atOnce(shop, calls) {
		switch status {
		case exitOutside: // one job goes without
			kept++
		case exitStale:
		default:
			t.Errorf("exit status %d", status)
		}
	}
	require.NotZero(t, kept)
	held := 0
	for job := 1; job <= jobs; job++ {
		f := showJob(t, shop, job)
		assert.Equal(t, jobLine{Plan: kept, State: "planned"}, jobLine{Plan: f.jobLine.Plan, State: f.State}, "job %d", job)
		for _, h := range f.Reserved {
			held += h.Count
		}
	}
	assert.Equal(t, pieces, held)
	mustShimwright(t, shop, "shop", "check")
	t.Logf("%d of %d processes kept plans of %d jobs; %d pieces held", kept, processes, jobs, held)
}
