package main

import (
	"bytes"
	"context"
	"os"
	"os/exec"
	"path/filepath"
	"runtime"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"shimwright/inventory"
	"shimwright/inventory/sample"
	"shimwright/testdata/effort"
)

// Advice that is interrupted keeps no levels, and says so by its status.
func TestInterruptedAdviceKeepsNothing(t *testing.T) {
	effort.Long(t)
	if runtime.GOOS == "windows" {
		t.Skip("no SIGINT to a child")
	}
	ctx := context.Background()
	path := filepath.Join(t.TempDir(), "shop.db")
	mustShimwright(t, path, "shop", "init")
	store, err := openStore(ctx, path)
	require.NoError(t, err)
	defer store.Close()
	shop := inventory.New(store, "R. Example", time.Now)
	require.NoError(t, sample.History(ctx, shop, 1, 30))
	broken := 0
	for _, after := range []time.Duration{0, 50, 150, 250, 400, 600, 5000} {
		cmd := exec.Command("shimwright", "box", "advise", "--levels", "--pieces", "5000", "--shop", path)
		var told bytes.Buffer
		cmd.Stderr = &told
		require.NoError(t, cmd.Start())
		time.Sleep(after * time.Millisecond)
		_ = cmd.Process.Signal(os.Interrupt)
		err := cmd.Wait()
		levels, failed := shop.Levels(ctx)
		require.NoError(t, failed)
		if err == nil {
			require.NotEmpty(t, levels)
			_, err = shop.KeepLevels(ctx, inventory.Levels{Period: 1, Families: levels[0].Families})
			require.NoError(t, err)
			continue
		}
		require.Empty(t, levels, "after %d ms: %s", after, told.String())
		if cmd.ProcessState.ExitCode() == exitFailed {
			assert.Contains(t, told.String(), errInterrupted.Error())
			broken++
		}
	}
	assert.NotZero(t, broken, "none was broken off")
}

// Long work shows how far it is on a terminal, and clears the line.
func TestAdviceShowsItsProgress(t *testing.T) {
	var line bytes.Buffer
	now := time.Now()
	a := &app{live: true, line: &line, now: func() time.Time { now = now.Add(300 * time.Millisecond); return now }}
	progress, wipe := a.shows("choosing", "shims")
	for i := range 8 {
		progress(i, 20)
	}
	wipe()
	assert.Regexp(t, `^(\rchoosing: \d of 20 shims )+\r\x1b\[K$`, line.String())
	line.Reset()
	a.live = false
	progress, wipe = a.shows("choosing", "shims")
	for i := range 8 {
		progress(i, 0)
	}
	wipe()
	assert.Empty(t, line.String())
}
