package main

import (
	"bytes"
	"fmt"
	"os/exec"
	"path/filepath"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"shimwright/testdata/effort"
)

// shimwright runs the command on a shop file, at ci and full as a process.
func shimwright(t *testing.T, shop string, args ...string) (out string, err error) {
	t.Helper()
	args = append(args, "--shop", shop)
	var stdout, stderr bytes.Buffer
	if effort.All() {
		cmd := exec.Command("shimwright", args...)
		cmd.Stdout, cmd.Stderr = &stdout, &stderr
		err = cmd.Run()
	} else if status := run(args, &app{in: strings.NewReader(""), out: &stdout, err: &stderr}); status != exitDone {
		err = fmt.Errorf("exit status %d", status)
	}
	if err != nil {
		t.Logf("%v: %v: %s", args, err, strings.TrimSpace(stderr.String()))
	}
	return stdout.String(), err
}

func mustShimwright(t *testing.T, shop string, args ...string) string {
	t.Helper()
	out, err := shimwright(t, shop, args...)
	require.NoError(t, err, "%v", args)
	return out
}

// TestLastPieceGoesOnce: of eight processes that take the last piece at once,
// one gets it.
func TestLastPieceGoesOnce(t *testing.T) {
	effort.Long(t)
	const processes, rounds = 8, 5
	shop := filepath.Join(t.TempDir(), "shop.db")
	mustShimwright(t, shop, "shop", "init")
	for round := range rounds {
		mustShimwright(t, shop, "box", "receive", "2.400", "--diameter", "8.9")
		status := make(chan int, processes)
		gate := make(chan struct{})
		for i := range processes {
			cmd := exec.Command("shimwright", "box", "scrap", "2.400", "--shop", shop, "--who", fmt.Sprint("bench ", i))
			go func() {
				<-gate
				_ = cmd.Run() // its status tells
				status <- cmd.ProcessState.ExitCode()
			}()
		}
		close(gate)
		got := map[int]int{}
		for range processes {
			got[<-status]++
		}
		assert.Equal(t, map[int]int{exitDone: 1, exitFailed: processes - 1}, got, "round %d", round)
	}
	assert.Contains(t, mustShimwright(t, shop, "box", "list"), "The box is empty")
	mustShimwright(t, shop, "shop", "check")
}

// meddler answers a question with yes, and does something just before it.
type meddler struct {
	meddle func()
	asked  bool
}

func (m *meddler) Read(p []byte) (int, error) {
	if !m.asked {
		m.asked = true
		m.meddle()
	}
	return copy(p, "y\n"), nil
}

// TestStaleCount: a box that changes while somebody reads the difference is
// refused with its own status, and nothing is booked.
func TestStaleCount(t *testing.T) {
	for _, c := range []struct {
		name   string
		meddle []string
		status int
	}{
		{"same size", []string{"box", "scrap", "2.400"}, exitStale},
		{"another size", []string{"box", "scrap", "2.425"}, exitDone},
		{"nothing", []string{"box", "list"}, exitDone},
	} {
		t.Run(c.name, func(t *testing.T) {
			shop := filepath.Join(t.TempDir(), "shop.db")
			mustShimwright(t, shop, "shop", "init")
			mustShimwright(t, shop, "box", "receive", "2.400x5", "2.425x5", "--diameter", "8.9")
			var out, errs bytes.Buffer
			m := &meddler{meddle: func() { mustShimwright(t, shop, c.meddle...) }}
			a := &app{in: m, out: &out, err: &errs, person: true}
			status := run([]string{"box", "count", "2.400x3", "--shop", shop}, a)
			assert.Equal(t, c.status, status, "%s%s", out.String(), errs.String())
			assert.True(t, m.asked)
			history := mustShimwright(t, shop, "box", "history", "--output", "csv")
			assert.Equal(t, c.status == exitDone, strings.Contains(history, "counted"), "%s", history)
			mustShimwright(t, shop, "shop", "check")
		})
	}
}

// TestUndoOfTheShownBatch: what is taken back is what was shown, even if
// something was booked meanwhile.
func TestUndoOfTheShownBatch(t *testing.T) {
	shop := filepath.Join(t.TempDir(), "shop.db")
	mustShimwright(t, shop, "shop", "init")
	mustShimwright(t, shop, "box", "receive", "2.400x5", "--diameter", "8.9")
	var out, errs bytes.Buffer
	m := &meddler{meddle: func() { mustShimwright(t, shop, "box", "receive", "2.425") }}
	a := &app{in: m, out: &out, err: &errs, person: true}
	require.Equal(t, exitDone, run([]string{"box", "undo", "--shop", shop}, a), "%s", errs.String())
	list := mustShimwright(t, shop, "box", "list", "--output", "csv")
	assert.Contains(t, list, "8.9,2.425,1")
	assert.NotContains(t, list, "8.9,2.4,")
}
