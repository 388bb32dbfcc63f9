package main

import (
	"math/rand/v2"
	"os"
	"os/exec"
	"path/filepath"
	"strconv"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"shimwright/testdata/effort"
)

// shows is all that a shop file shows, empty where there is none. The file has
// to be sound.
func shows(t *testing.T, shop, where string) string {
	t.Helper()
	if _, err := os.Stat(shop); err != nil {
		return ""
	}
	check := ask(shop, "shop", "check")
	require.Zero(t, check.status, "%s: %s%s", where, check.out, check.err)
	text := ""
	for _, args := range [][]string{{"box", "list", "--lots", "--all", "--output", "json"}, {"box", "history", "--output", "json"}, {"job", "list", "--output", "json"}} {
		a := ask(shop, args...)
		require.Zero(t, a.status, "%s: %v: %s", where, args, a.err)
		text += a.out
	}
	return strings.ReplaceAll(text, shop, "shop.db")
}

// leftovers are the copies of cut-off commands that lie in a folder. A .part of
// a file that was being saved goes later; TestSave says when.
func leftovers(t *testing.T, dir string) (list []string) {
	t.Helper()
	entries, err := os.ReadDir(dir)
	if os.IsNotExist(err) {
		return nil
	}
	require.NoError(t, err)
	for _, e := range entries {
		if strings.HasPrefix(e.Name(), ".shimwright-") {
			list = append(list, e.Name())
		}
	}
	return list
}

// scenario is a command that changes the disk, with what it may be found to
// have done when it is cut off: nothing, or all.
type scenario struct {
	name    string
	args    func(dir string) []string
	prepare func(t *testing.T, dir string)
	// result is the file that the command makes or changes, and the next
	// command that cleans up after a cut-off one.
	result func(dir string) string
	next   func(dir string) []string
	show   func(t *testing.T, path, where string) string
}

func in(name string) func(string) string {
	return func(dir string) string { return filepath.Join(dir, name) }
}

func words(list ...string) func(string) []string {
	return func(dir string) []string {
		out := make([]string, len(list))
		for i, w := range list {
			out[i] = strings.ReplaceAll(w, "DIR", dir)
		}
		return out
	}
}

// scenarios need a shop file, and some a backup of it beside it.
func scenarios(t *testing.T) []scenario {
	data := worked(t)
	place := func(t *testing.T, dir string) {
		require.NoError(t, os.WriteFile(filepath.Join(dir, "shop.db"), data, 0o644))
	}
	backedUp := func(t *testing.T, dir string) {
		place(t, dir)
		require.Zero(t, ask(filepath.Join(dir, "shop.db"), "shop", "backup", filepath.Join(dir, "old.db")).status)
		require.Zero(t, ask(filepath.Join(dir, "shop.db"), "box", "receive", "2.600", "--diameter", "8.9").status)
	}
	file := func(_ *testing.T, path, _ string) string {
		content, _ := os.ReadFile(path)
		return string(content)
	}
	const shop = "--shop=DIR/shop.db"
	next := words("box", "list", shop)
	return []scenario{
		{"receive", words("box", "receive", "2.300", "2.325", "2.350", "--diameter", "8.9", "--who", "R. Example", shop), place, in("shop.db"), next, shows},
		{"fit", words("job", "fit", "2", "--who", "R. Example", shop), place, in("shop.db"), next, shows},
		{"init", words("shop", "init", "--shop=DIR/a/b/shop.db"), func(*testing.T, string) {}, in("a/b/shop.db"), words("shop", "init", "--shop=DIR/a/b/other.db"), shows},
		{"backup", words("shop", "backup", "DIR/copy.db", shop), place, in("copy.db"), words("shop", "backup", "DIR/copy2.db", shop), shows},
		{"restore", words("shop", "restore", "DIR/old.db", shop), backedUp, in("shop.db"), next, shows},
		{"export", words("box", "export", "--out", "DIR/sheet.csv", shop), func(t *testing.T, dir string) {
			place(t, dir)
			require.NoError(t, os.WriteFile(filepath.Join(dir, "sheet.csv"), []byte("size,count\n"), 0o644))
		}, in("sheet.csv"), words("box", "export", "--out", "DIR/sheet2.csv", shop), file},
	}
}

// look holds the folder against the scenario: what was acknowledged is there,
// nothing is half there, and the next command leaves nothing of the cut-off one.
func (s *scenario) look(t *testing.T, dir, before, after string, said bool, where string) {
	t.Helper()
	got := s.show(t, s.result(dir), where)
	if said {
		require.True(t, got == after, "%s: %s: acknowledged and lost", s.name, where)
	}
	require.True(t, got == before || got == after, "%s: %s: half there", s.name, where)
	if s.name == "restore" && got != before {
		require.True(t, s.show(t, s.result(dir)+".replaced-1", where) == before, "%s: the replaced file is lost", where)
	}
	args := s.next(dir)
	a := askPlain(args...)
	require.Zero(t, a.status, "%s: %s: %v: %s", s.name, where, args, a.err)
	assert.Empty(t, leftovers(t, filepath.Dir(s.result(dir))), "%s: %s", s.name, where)
}

// TestPowerCut records what commands write and sync, cuts the power after every
// call, and drops what was not synced: all of it, none, or at random.
func TestPowerCut(t *testing.T) {
	effort.Long(t)
	total := 0
	for _, s := range scenarios(t) {
		dir, err := filepath.EvalSymlinks(t.TempDir())
		require.NoError(t, err)
		s.prepare(t, dir)
		before := s.show(t, s.result(dir), "before")
		d := newDisk(t, dir)
		events := record(t, s.args(dir)...)
		after := s.show(t, s.result(dir), "after")
		require.NotEqual(t, before, after)
		require.Greater(t, len(events), 3)
		n := d.cuts(t, events, effort.Of, func(said bool, where string) { s.look(t, dir, before, after, said, where) })
		total += n
	}
	t.Logf("%d power cuts: 0 lost, 0 half-booked, 0 left-over copies after the next run, bound 0", total)
}

// TestKilledAtCalls kills commands as they enter a system call that changes the
// disk.
func TestKilledAtCalls(t *testing.T) {
	effort.Long(t)
	rng := rand.New(rand.NewPCG(31, 32))
	list := scenarios(t)
	calls := strings.Split("open,openat,pwrite64,fsync,unlink,unlinkat,linkat,renameat,mkdirat,fcntl,ftruncate,write", ",")
	kills, killed, done := effort.Of(1000), 0, 0
	for killed < kills {
		s := list[rng.IntN(len(list))]
		dir := t.TempDir()
		s.prepare(t, dir)
		before := s.show(t, s.result(dir), "before")
		call := calls[rng.IntN(len(calls))]
		when := strconv.Itoa(rng.IntN(map[bool]int{true: 40, false: 8}[call == "pwrite64"]) + 1)
		cmd := traced(t, []string{"-e", "trace=" + call, "-e", "signal=none", "-o", os.DevNull, "-e", "inject=" + call + ":signal=KILL:when=" + when}, s.args(dir)...)
		cmd.Env = append(os.Environ(), "SHIMWRIGHT_WHO=R. Example")
		out, err := cmd.Output()
		if err == nil {
			done++
			require.Less(t, done, 20*kills+50, "hardly a command is killed")
			continue
		}
		var exit *exec.ExitError
		require.ErrorAs(t, err, &exit)
		require.Equal(t, -1, exit.ExitCode(), "%s: %s", s.name, exit.Stderr) // by the signal
		killed++
		s.lookKilled(t, dir, before, len(out) > 0, call+" "+when)
	}
	t.Logf("%d kills at system calls: 0 lost, 0 half-booked, 0 left-over copies after the next run, bound 0; %d commands went through", killed, done)
}

// lookKilled is look where the times of a booking differ from run to run: what
// is there is what was before, or what the command, given now, would add.
func (s *scenario) lookKilled(t *testing.T, dir, before string, said bool, where string) {
	t.Helper()
	got := s.show(t, s.result(dir), where)
	after := got
	if got == before {
		require.False(t, said, "%s: killed at %s: acknowledged and lost", s.name, where)
	} else {
		s.whole(t, dir, where)
	}
	s.look(t, dir, before, after, said, "killed at "+where)
}

// whole checks that the command did all that it does.
func (s *scenario) whole(t *testing.T, dir, where string) {
	t.Helper()
	rows := map[string]int{"receive": 3, "fit": -1}[s.name]
	switch {
	case rows > 0:
		a := ask(s.result(dir), "box", "history", "--output", "csv")
		lines := strings.Split(strings.TrimSpace(a.out), "\n")
		first := strings.Split(lines[1], ",")[1]
		n := 0
		for _, line := range lines[1:] {
			if strings.Split(line, ",")[1] == first {
				n++
			}
		}
		require.Equal(t, rows, n, "%s: killed at %s: half-booked", s.name, where)
	case rows < 0:
		a := ask(s.result(dir), "job", "show", "2", "--output", "json")
		require.Contains(t, a.out, `"fitted"`, "%s: killed at %s: half-fitted", s.name, where)
	}
}
