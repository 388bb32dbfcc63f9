package main

import (
	"bytes"
	"encoding/json"
	"fmt"
	"math/rand/v2"
	"os"
	"os/exec"
	"path/filepath"
	"regexp"
	"runtime"
	"strconv"
	"sync"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"shimwright/testdata/effort"
)

var bookedBatch = regexp.MustCompile(`(?:batch|booking) (\d+)\.\n`)

// TestKilledCommands kills box commands at random moments. What they
// acknowledged is in the ledger, no batch is half there, and the shop passes
// its check.
func TestKilledCommands(t *testing.T) {
	effort.Long(t)
	if runtime.GOOS == "windows" {
		t.Skip("no SIGKILL")
	}
	kills := max(20, effort.Of(1000))
	shop := filepath.Join(t.TempDir(), "shop.db")
	mustShimwright(t, shop, "shop", "init")
	mustShimwright(t, shop, "box", "receive", "2.300x50", "2.325x50", "2.350x50", "--diameter", "8.9", "--note", "rows 3")

	start := time.Now()
	require.NoError(t, exec.Command("shimwright", "box", "receive", "2.300", "--note", "rows 1", "--shop", shop).Run()) // a process, as those that are killed
	// The machine says how long a command takes: about half are killed.
	k := &killedCommands{shop: shop, fuse: 2 * time.Since(start), left: kills, batches: map[int64]string{}}
	var wait sync.WaitGroup
	for lane := range 2 {
		wait.Add(1)
		go func() {
			defer wait.Done()
			rng := rand.New(rand.NewPCG(uint64(lane), 5))
			for k.more() {
				k.once(rng, lane)
			}
		}()
	}
	wait.Wait()
	require.NoError(t, k.err)

	mustShimwright(t, shop, "shop", "check")
	var history struct {
		Movements []movementJSON `json:"movements"`
	}
	require.NoError(t, json.Unmarshal([]byte(mustShimwright(t, shop, "box", "history", "--output", "json")), &history))
	rows := map[int64][]movementJSON{}
	for _, m := range history.Movements {
		rows[m.Batch] = append(rows[m.Batch], m)
	}
	for batch, note := range k.batches {
		require.NotEmpty(t, rows[batch], "batch %d was acknowledged and is lost", batch)
		assert.Equal(t, note, rows[batch][0].Note, "batch %d", batch)
	}
	silent := 0
	for batch, list := range rows {
		var want int
		_, err := fmt.Sscanf(list[0].Note, "rows %d", &want)
		require.NoError(t, err, "batch %d: %q", batch, list[0].Note)
		assert.Len(t, list, want, "batch %d is half-booked", batch)
		if _, known := k.batches[batch]; !known && batch > 4 {
			silent++
		}
	}
	assert.LessOrEqual(t, silent, k.killed, "only a killed command books without saying so")
	t.Logf("%d kills, %d with a journal beside the file; %d commands acknowledged, 0 lost; %d killed after they had booked, whole", k.killed, k.journals, len(k.batches), silent)
	require.NotEmpty(t, k.batches)
	// A journal that was begun and holds nothing yet goes with the next booking.
	mustShimwright(t, shop, "box", "receive", "2.300")
	left, err := filepath.Glob(filepath.Join(filepath.Dir(shop), "*"))
	require.NoError(t, err)
	assert.Equal(t, []string{shop}, left, "nothing is left beside the shop file")
}

type killedCommands struct {
	shop string
	fuse time.Duration // the longest time to a kill

	sync.Mutex
	left, killed, journals int
	batches                map[int64]string // acknowledged, with their notes
	err                    error
}

func (k *killedCommands) more() bool {
	k.Lock()
	defer k.Unlock()
	return k.left > 0 && k.err == nil
}

// once runs one command, which may be killed.
func (k *killedCommands) once(rng *rand.Rand, lane int) {
	note, args := "rows 2", []string{"box", "receive", "2.300x2", "2.350"}
	switch rng.IntN(4) {
	case 0:
		note, args = "rows 1", []string{"box", "scrap", "2.325"}
	case 1:
		note, args = "rows 3", []string{"box", "receive", "2.300", "2.325x2", "2.350"}
	case 2:
		note, args = "rows 2", []string{"box", "correct", "2.350", "--bin", "", "--is-bin", fmt.Sprint("lane ", lane)}
	}
	args = append(args, "--note", note, "--shop", k.shop)
	cmd := exec.Command("shimwright", args...)
	var out, errs bytes.Buffer
	cmd.Stdout, cmd.Stderr = &out, &errs
	if err := cmd.Start(); err != nil {
		k.fail(err)
		return
	}
	fuse := time.AfterFunc(time.Duration(rng.Int64N(int64(k.fuse))), func() { _ = cmd.Process.Kill() })
	err := cmd.Wait()
	fuse.Stop()
	_, journal := os.Stat(k.shop + "-journal")
	k.Lock()
	defer k.Unlock()
	if m := bookedBatch.FindStringSubmatch(out.String()); m != nil {
		batch, _ := strconv.ParseInt(m[1], 10, 64)
		k.batches[batch] = note
	}
	switch {
	case err == nil:
	case cmd.ProcessState.ExitCode() == -1:
		k.killed++
		k.left--
		if journal == nil {
			k.journals++
		}
	default:
		k.err = fmt.Errorf("%v: %w: %s", args, err, errs.String())
	}
}

func (k *killedCommands) fail(err error) {
	k.Lock()
	defer k.Unlock()
	k.err = err
}
