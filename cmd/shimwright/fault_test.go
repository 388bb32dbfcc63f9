package main

import (
	"encoding/csv"
	"errors"
	"maps"
	"os"
	"os/exec"
	"path/filepath"
	"regexp"
	"slices"
	"strconv"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"shimwright/testdata/effort"
)

// spoiled is what came of a command whose system calls failed.
type spoiled struct {
	status   int
	out, err string
	hit      []string // the calls that failed, such as "fsync shop.db"
	// lasts: the first booking's journal went, and then the folder was synced.
	lasts bool
}

var (
	resultOf = regexp.MustCompile(`^\d+ +(\w+)\((.*)\) += -?\d+(.*)$`)
	targetOf = regexp.MustCompile(`<([^>]*)>|"([^"]*)"`)
)

// spoil runs a command whose call fails with EIO the when-th time ("3"), or from
// then on ("3+"). The command stays on one thread: strace counts by thread.
func spoil(t *testing.T, dir, call, when string, args ...string) spoiled {
	t.Helper()
	log := filepath.Join(t.TempDir(), "log")
	cmd := traced(t, []string{"--seccomp-bpf", "-y", "-e", "trace=unlink,fsync," + call, "-e", "signal=none", "-o", log, "-e", "inject=" + call + ":error=EIO:when=" + when}, args...)
	cmd.Env = append(os.Environ(), "SHIMWRIGHT_WHO=R. Example", oneThread+"=1")
	var out, told strings.Builder
	cmd.Stdout, cmd.Stderr = &out, &told
	err := cmd.Run()
	if exit := (*exec.ExitError)(nil); !errors.As(err, &exit) {
		require.NoError(t, err)
	}
	s := spoiled{status: cmd.ProcessState.ExitCode(), out: out.String(), err: told.String()}
	data, err := os.ReadFile(log)
	require.NoError(t, err)
	gone := false
	for line := range strings.Lines(string(data)) {
		m := resultOf.FindStringSubmatch(strings.TrimSpace(line))
		if m == nil {
			continue
		}
		path := ""
		if p := targetOf.FindStringSubmatch(m[2]); p != nil {
			path = p[1] + p[2]
		}
		failed := strings.Contains(m[3], "(INJECTED)")
		if failed {
			s.hit = append(s.hit, m[1]+" "+strings.Replace(filepath.Base(path), filepath.Base(dir), "folder", 1))
		}
		gone = gone || !failed && m[1] == "unlink"
		s.lasts = s.lasts || !failed && gone && m[1] == "fsync" && path == dir
	}
	return s
}

// TestDiskFault lets the disk fail at each sync, write and removal of a booking,
// once or for good. The exit status says what is true on the disk afterwards,
// and the command given again under its key books once, whatever happened.
func TestDiskFault(t *testing.T) {
	effort.Long(t)
	data := worked(t)
	got := map[int]int{}
	at := map[string]int{}
	commands := [][]string{{"box", "receive", "2.300x3", "2.325", "--diameter", "8.9"}, {"job", "fit", "2"}}
	calls := map[string]int{"fsync": 1, "fdatasync": 1, "unlink": 1, "open": 1} // each; of the others a part
	if part := effort.Of(100); part == 1 {
		commands = commands[:1]
	} else {
		maps.Copy(calls, map[string]int{"pwrite64": 100 / part, "unlinkat": 1, "ftruncate": 1})
	}
	for _, command := range commands {
		for call, every := range calls {
			for _, mode := range []string{"", "+"} {
				for n := 1; ; n += every {
					dir, err := filepath.EvalSymlinks(t.TempDir())
					require.NoError(t, err)
					shop := filepath.Join(dir, "shop.db")
					require.NoError(t, os.WriteFile(shop, data, 0o644))
					before := rowsOf(t, shop)
					args := append(slices.Clone(command), "--key", "K", "--shop", shop)
					s := spoil(t, dir, call, strconv.Itoa(n)+mode, args...)
					if len(s.hit) == 0 {
						require.Zero(t, s.status, s.err)
						break
					}
					where := strings.Join(command, " ") + ": " + call + " " + strconv.Itoa(n) + mode
					got[s.status]++
					for _, h := range s.hit {
						at[h]++
					}
					s.judge(t, shop, before, args, where)
				}
			}
		}
	}
	for _, h := range []string{"fsync folder", "fsync shop.db", "fsync shop.db-journal", "unlink shop.db-journal"} {
		assert.NotZero(t, at[h], "%s never failed: %v", h, at)
	}
	assert.NotZero(t, got[exitUnsure])
	t.Logf("EIO at %v: exit statuses %v, each true on the disk; given again under its key each was booked once (bound: all)", at, got)
}

// judge holds what the command said against the disk, then gives it again.
func (s *spoiled) judge(t *testing.T, shop string, before int, args []string, where string) {
	t.Helper()
	check := ask(shop, "shop", "check")
	require.Zero(t, check.status, "%s: %s%s", where, check.out, check.err)
	after := rowsOf(t, shop)
	switch s.status {
	case exitDone, exitBooked:
		require.Greater(t, after, before, "%s: said to be booked: %s", where, s.err)
		require.True(t, s.lasts, "%s: it is not known whether it lasts: %v", where, s.hit)
	case exitFailed:
		require.Equal(t, before, after, "%s: booked, and said to have failed: %s", where, s.err)
		require.Empty(t, s.out, where)
	case exitUnsure:
		require.Contains(t, s.err, "--key K", where)
		require.Empty(t, s.out, where)
	default:
		require.Fail(t, where, "exit status %d: %s", s.status, s.err)
	}
	once := 0
	for range 2 {
		a := askPlain(args...)
		require.Zero(t, a.status, "%s: again: %s", where, a.err)
		if once == 0 {
			once = rowsOf(t, shop)
			require.Greater(t, once, before, where)
		}
		require.Equal(t, once, rowsOf(t, shop), "%s: booked twice", where)
		if after > before {
			require.Equal(t, after, once, "%s: booked twice", where)
		}
	}
	require.Zero(t, ask(shop, "shop", "check").status, where)
	assert.Empty(t, leftovers(t, filepath.Dir(shop)), where)
}

// rowsOf counts the rows of a shop's ledger.
func rowsOf(t *testing.T, shop string) int {
	t.Helper()
	a := ask(shop, "box", "history", "--output", "csv")
	require.Zero(t, a.status, a.err)
	rows, err := csv.NewReader(strings.NewReader(a.out)).ReadAll()
	require.NoError(t, err)
	return len(rows)
}
