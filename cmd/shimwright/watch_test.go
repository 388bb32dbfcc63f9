package main

import (
	"context"
	"fmt"
	"os"
	"os/exec"
	"path/filepath"
	"runtime"
	"strings"
	"syscall"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// A signal ends the context; one that comes in the last moment is told as well.
func TestInterruptible(t *testing.T) {
	if runtime.GOOS == "windows" {
		t.Skip("no SIGINT to oneself")
	}
	self, err := os.FindProcess(os.Getpid())
	require.NoError(t, err)
	for _, signal := range []syscall.Signal{syscall.SIGINT, syscall.SIGTERM} {
		ctx, done := interruptible(t.Context())
		require.NoError(t, ctx.Err())
		require.NoError(t, self.Signal(signal))
		<-ctx.Done()
		require.ErrorIs(t, context.Cause(ctx), errInterrupted)
		require.ErrorIs(t, done(), errInterrupted)
	}
	ctx, done := interruptible(t.Context())
	require.NoError(t, ctx.Err())
	require.NoError(t, done())
}

// An interrupted job plan keeps nothing and says so by its status, whether it
// is planning, asking what else could be done, or at the trade-off.
func TestInterruptedPlanKeepsNothing(t *testing.T) {
	if runtime.GOOS == "windows" {
		t.Skip("no SIGINT to a child")
	}
	folder := t.TempDir()
	shop := filepath.Join(folder, "shop.db")
	engine, check := fineEngine(t, folder)
	mustShimwright(t, shop, "shop", "init")
	mustShimwright(t, shop, "job", "open", "--engine", engine)
	mustShimwright(t, shop, "job", "read", "1", check)
	broken := 0
	calls := [][]string{{}, {"--tradeoff"}, {"--all"}, {"--no-buy"}}
	if testing.Short() {
		calls = calls[:1]
	}
	for _, args := range calls {
		call := append([]string{"job", "plan", "--shop", shop}, args...)
		if len(args) == 0 || args[0] != "--all" {
			call = append(call, "1")
		}
		for _, after := range []time.Duration{0, 30 * time.Millisecond, 300 * time.Millisecond} {
			cmd := exec.Command("shimwright", call...)
			require.NoError(t, cmd.Start())
			time.Sleep(after)
			_ = cmd.Process.Signal(os.Interrupt)
			err := cmd.Wait()
			f := showJob(t, shop, 1)
			if err != nil && cmd.ProcessState.ExitCode() != exitOutside { // a plan that was done in time may leave a valve outside
				broken++
				require.Nil(t, f.Plan, "%v after %v: %v, and the plan is kept", args, after, err)
				continue
			}
			require.NotNil(t, f.Plan, "%v after %v: done, and no plan is kept", args, after)
			mustShimwright(t, shop, "job", "read", "1", check) // the plan no longer stands
		}
	}
	assert.NotZero(t, broken, "none was broken off")
}

// fineEngine writes an engine with a catalogue in micrometres, which takes a
// while to plan, and its check.
func fineEngine(t *testing.T, folder string) (engine, check string) {
	t.Helper()
	engine, check = filepath.Join(folder, "fine.toml"), filepath.Join(folder, "fine.csv")
	require.NoError(t, os.WriteFile(engine, []byte(`name = "Fulmar 2400 eight"
cylinders = 8
[intake]
valves = 2
clearance = [0.10, 0.30]
[exhaust]
valves = 2
clearance = [0.10, 0.30]
[shims]
diameter = 9
[[shims.catalogue]]
from = 2.000
to = 3.500
step = 0.001
price = 5
`), 0o600))
	var rows strings.Builder
	rows.WriteString("valve,clearance,shim\n")
	for cylinder := 1; cylinder <= 8; cylinder++ {
		for i, valve := range []string{"in%da", "in%db", "ex%da", "ex%db"} {
			fmt.Fprintf(&rows, valve+",%.3f,%.3f\n", cylinder, 0.31+0.005*float64(i), 2.5+0.013*float64(4*cylinder+i))
		}
	}
	require.NoError(t, os.WriteFile(check, []byte(rows.String()), 0o600))
	return engine, check
}

// A catalogue is bounded as a whole, not range by range.
func TestCatalogueIsBoundedAsAWhole(t *testing.T) {
	folder := t.TempDir()
	engine, check := fineEngine(t, folder)
	text, err := os.ReadFile(engine)
	require.NoError(t, err)
	text = append(text, strings.Repeat("[[shims.catalogue]]\nfrom = 2\nto = 3.5\nstep = 0.001\n", 14)...)
	require.NoError(t, os.WriteFile(engine, text, 0o600))
	out, err := exec.Command("shimwright", "solve", "--engine", engine, check).CombinedOutput()
	require.Error(t, err)
	assert.Contains(t, string(out), "shims.catalogue, range 14: the catalogue lists more than 20000 sizes up to here")
}
