package main

import (
	"bytes"
	"fmt"
	"math/rand/v2"
	"os"
	"os/exec"
	"path/filepath"
	"runtime"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"shimwright/testdata/effort"
)

// TestKilledKeys kills commands with a key at random moments and repeats them:
// the repeat prints and ends exactly as the command does that nobody kills.
func TestKilledKeys(t *testing.T) {
	effort.Long(t)
	if runtime.GOOS == "windows" {
		t.Skip("no SIGKILL")
	}
	kills := max(25, effort.Of(1500))
	folder := t.TempDir()
	demo := func(name string) string { return filepath.Join("..", "..", "testdata", "demo", name) }
	fresh := filepath.Join(folder, "fresh.db")
	for _, line := range []string{
		"shop init", "box import " + demo("box.csv") + " --yes",
		"job open --engine " + demo("sandpiper.toml"), "job read 1 " + demo("sandpiper-check.csv"),
		"job open --engine " + demo("sandpiper.toml"), "job read 2 " + demo("sandpiper-check.csv"),
	} {
		mustShimwright(t, fresh, strings.Fields(line)...)
	}
	code, _, told := keyed(t, fresh, 0, "job", "plan", "2")
	require.Equal(t, exitDone, code, told)
	mustShimwright(t, fresh, "job", "fit", "2", "--bin", "U1")

	copied := func(from, to string) string {
		text, err := os.ReadFile(from)
		require.NoError(t, err)
		name := filepath.Join(folder, to)
		require.NoError(t, os.WriteFile(name, text, 0o600))
		return name
	}
	rng := rand.New(rand.NewPCG(10, 12))
	killed, booked := 0, 0
	for _, line := range []string{
		"job plan 1 --lift intake --key p",
		"job plan 1 --lift intake --output json --key j",
		"job recheck 2 ex1a=0.40 ex1b=0.25 ex2a=0.25 ex2b=0.25 --key c",
		"box receive 2.400x3 2.425 --diameter 8.9 --bin K1 --key r",
		"machine import " + filepath.Join("testdata", "machine.json") + " --key m",
	} {
		args := strings.Fields(line)
		start := time.Now()
		want, first, told := keyed(t, copied(fresh, "whole.db"), 0, args...)
		took := time.Since(start)
		require.Contains(t, []int{exitDone, exitOutside}, want, told)
		require.NotEmpty(t, first)
		for range kills / 5 {
			shop := copied(fresh, "killed.db")
			_ = os.Remove(shop + "-journal") // of the file that stood there before
			// Most are killed late: that is where the booking is.
			fuse := took/3 + time.Duration(rng.Int64N(int64(took)))
			cut, _, _ := keyed(t, shop, fuse, args...)
			if cut == -1 {
				killed++
			}
			code, out, told := keyed(t, shop, 0, args...)
			if cut == -1 && strings.Contains(told, "Already booked under this key") {
				booked++
			}
			require.Equal(t, want, code, "%s: %s", line, told)
			require.Equal(t, first, out, line)
			mustShimwright(t, shop, "shop", "check")
		}
	}
	t.Logf("%d commands, %d killed, %d of them after they had booked; 0 repeats answer otherwise", kills/5*5, killed, booked)
	require.NotZero(t, killed)
}

// keyed runs a command, kills it after the fuse if there is one, and returns its
// status, -1 if it was killed, and what it printed.
func keyed(t *testing.T, shop string, fuse time.Duration, args ...string) (int, string, string) {
	t.Helper()
	cmd := exec.Command("shimwright", append(args, "--shop", shop)...)
	var out, told bytes.Buffer
	cmd.Stdout, cmd.Stderr = &out, &told
	require.NoError(t, cmd.Start())
	if fuse > 0 {
		defer time.AfterFunc(fuse, func() { _ = cmd.Process.Kill() }).Stop()
	}
	_ = cmd.Wait()
	return cmd.ProcessState.ExitCode(), out.String(), told.String() + fmt.Sprint(cmd.ProcessState)
}
