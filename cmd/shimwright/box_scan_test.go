package main

import (
	"bufio"
	"fmt"
	"io"
	"math/rand/v2"
	"os"
	"os/exec"
	"path/filepath"
	"runtime"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"shimwright/shim"
	"shimwright/testdata/effort"
)

// TestScanKilled kills a count by scanning at random moments and goes on with the same
// file: it holds every scan that was told of, or one more.
func TestScanKilled(t *testing.T) {
	effort.Long(t)
	t.Parallel()
	folder := t.TempDir()
	shop, name := filepath.Join(folder, "shop.db"), filepath.Join(folder, "count.csv")
	mustShimwright(t, shop, "shop", "init")
	mustShimwright(t, shop, "box", "receive", "2.400x3", "--diameter", "8.9", "--bin", "A1")
	rng := rand.New(rand.NewPCG(7, 11))
	kills, told, ahead, torn := 40, 0, 0, 0
	var state []string // what was scanned, by the lines told of
	for kill := range kills {
		cmd := exec.Command("shimwright", "box", "count", "--scan", name, "--shop", shop)
		in, err := cmd.StdinPipe()
		require.NoError(t, err)
		talk, err := cmd.StderrPipe()
		require.NoError(t, err)
		require.NoError(t, cmd.Start())
		seed := rng.Uint64()
		go func() {
			scans := scansOf(seed)
			for {
				if _, err := io.WriteString(in, scans()+"\n"); err != nil {
					return
				}
			}
		}()
		scans := scansOf(seed)
		var timer *time.Timer
		n := 0
		for scanner := bufio.NewScanner(talk); scanner.Scan(); {
			if !strings.HasPrefix(scanner.Text(), "  ") || strings.HasPrefix(scanner.Text(), "  hint") {
				continue
			}
			if timer == nil {
				timer = time.AfterFunc(time.Duration(rng.IntN(60_000))*time.Microsecond, func() { _ = cmd.Process.Kill() })
			}
			state = scanned(state, scans())
			n++
		}
		assert.Error(t, cmd.Wait(), "it was to be killed, not to end")
		told += n
		f := &scanFile{name: name}
		require.NoError(t, f.load())
		if f.disk > f.whole {
			torn++
		}
		if got := scansIn(f); !assert.ObjectsAreEqual(state, got) {
			state = scanned(state, scans())
			require.Equal(t, state, got, "kill %d after %d scans", kill, n)
			ahead++
		}
	}
	require.NotZero(t, told, "no scan was ever told of")
	t.Logf("%d kills, %d scans told of, 0 lost; %d times one more was on the disk, %d times a part of one", kills, told, ahead, torn)
}

// scansOf types a bin, then shims and now and then undo.
func scansOf(seed uint64) func() string {
	rng := rand.New(rand.NewPCG(seed, 0))
	first := true
	return func() string {
		switch {
		case first:
			first = false
			return "bin;A1"
		case rng.IntN(5) == 0:
			return "undo"
		case rng.IntN(20) == 0:
			return fmt.Sprintf("bin;B%d", rng.IntN(3))
		}
		return fmt.Sprintf("2.4;8.9x%d", rng.IntN(100))
	}
}

func scanned(state []string, line string) []string {
	if line == "undo" {
		return state[:max(0, len(state)-1)]
	}
	return append(state[:len(state):len(state)], line)
}

func scansIn(f *scanFile) (list []string) {
	for _, l := range f.lines {
		if l.what == "shim" {
			list = append(list, fmt.Sprintf("%s;%sx%d", shim.MM.Format(l.Size), shim.MM.Format(l.Diameter), l.count))
		} else {
			list = append(list, "bin;"+l.bin)
		}
	}
	return list
}

// A row that was not finished goes with the next scan, whatever byte it ends at; what
// is whole stays.
func TestScanFileTorn(t *testing.T) {
	name := filepath.Join(t.TempDir(), "count.csv")
	f := &scanFile{name: name}
	require.NoError(t, f.load())
	d := shim.Family{Diameter: 8900 * shim.Micrometre}.Of(2400 * shim.Micrometre)
	lines := []scanLine{{what: "bin", bin: "A, \"1\"", seq: 7, hash: "ab"}, {what: "shim", Disc: d, count: 2}, {what: "undo"}, {what: "shim", Disc: d, count: 1}, {what: "drop"}}
	for _, l := range lines {
		require.NoError(t, f.add(l))
	}
	all, err := os.ReadFile(name)
	require.NoError(t, err)
	for n := range all {
		require.NoError(t, os.WriteFile(name, all[:n], 0o600))
		f := &scanFile{name: name}
		require.NoError(t, f.load(), "%q", all[:n])
		before := len(f.lines)
		l := scanLine{what: "bin", bin: "A2", seq: 8}
		require.NoError(t, f.add(l))
		again := &scanFile{name: name}
		require.NoError(t, again.load())
		require.Len(t, again.lines, before+1)
		assert.Equal(t, f.lines, again.lines)
		assert.Equal(t, l, again.lines[before])
	}
	// Somebody else wrote to it: the scan is refused, and not counted.
	n := len(f.lines)
	assert.Error(t, f.add(scanLine{what: "bin", bin: "A3"}))
	assert.Len(t, f.lines, n)
}

// Ctrl-C ends a count by scanning, and says how to go on.
func TestScanInterrupted(t *testing.T) {
	if runtime.GOOS == "windows" {
		t.Skip("no interrupt can be sent to a process there")
	}
	folder := t.TempDir()
	shop, name := filepath.Join(folder, "shop.db"), filepath.Join(folder, "count.csv")
	mustShimwright(t, shop, "shop", "init")
	cmd := exec.Command("shimwright", "box", "count", "--scan", name, "--shop", shop)
	in, err := cmd.StdinPipe()
	require.NoError(t, err)
	talk, err := cmd.StderrPipe()
	require.NoError(t, err)
	require.NoError(t, cmd.Start())
	_, err = in.Write([]byte("bin A1\n2.400;8.9\n2.4"))
	require.NoError(t, err)
	var last []string
	for scanner := bufio.NewScanner(talk); scanner.Scan(); last = append(last, scanner.Text()) {
		if strings.HasPrefix(scanner.Text(), "  2.400") {
			require.NoError(t, cmd.Process.Signal(os.Interrupt))
		}
	}
	var failed *exec.ExitError
	require.ErrorAs(t, cmd.Wait(), &failed)
	assert.Equal(t, exitFailed, failed.ExitCode())
	assert.Contains(t, last, "error: interrupted")
	assert.Contains(t, last[len(last)-1], "--scan "+name)
	f := &scanFile{name: name}
	require.NoError(t, f.load())
	assert.Len(t, f.lines, 2)
}
