package main

import (
	"bufio"
	"fmt"
	"io"
	"math/rand/v2"
	"os/exec"
	"path/filepath"
	"regexp"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"shimwright/testdata/effort"
)

// ackedClearance is the line that a saved clearance is told with.
var ackedClearance = regexp.MustCompile(`^  (?:in|ex)\d[ab] +0\.`)

// TestMeasureKilled kills the command at random moments while figures stream
// in, and goes on with the same file. It always is a check, and holds every
// entry that was acknowledged: what it has is what the entries told of come to,
// with the one after them or without.
func TestMeasureKilled(t *testing.T) {
	effort.Long(t)
	t.Parallel()
	e, engine, order := kittiwake(t)
	name := filepath.Join(t.TempDir(), "check.csv")
	rng := rand.New(rand.NewPCG(3, 5))
	state := map[string]string{}
	kills, told, ahead := 40, 0, 0
	for kill := range kills {
		// All valves but the last are measured over and over.
		cmd := exec.Command("shimwright", "measure", engine, "--out", name, "--shims", "later", "--only", strings.Join(order, ","))
		in, err := cmd.StdinPipe()
		require.NoError(t, err)
		talk, err := cmd.StderrPipe()
		require.NoError(t, err)
		require.NoError(t, cmd.Start())
		seed := rng.Uint64()
		go stream(in, len(order)-1, seed)
		entries := values(len(order)-1, seed)
		n := 0
		var timer *time.Timer
		for scanner := bufio.NewScanner(talk); scanner.Scan(); {
			if timer == nil { // it is up, and entries come in
				timer = time.AfterFunc(time.Duration(rng.IntN(60_000))*time.Microsecond, func() { _ = cmd.Process.Kill() })
			}
			if ackedClearance.MatchString(scanner.Text()) {
				valve, value := entries(order)
				state[valve] = shown(t, e, value)
				n++
			}
		}
		assert.Error(t, cmd.Wait(), "it was to be killed, not to end")
		told += n
		got := readings(t, e, name)
		if !assert.ObjectsAreEqual(state, got) {
			valve, value := entries(order)
			state[valve] = shown(t, e, value)
			ahead++
		}
		require.Equal(t, state, got, "kill %d after %d entries", kill, n)
	}
	require.NotZero(t, told, "no entry was ever acknowledged")
	t.Logf("%d kills, %d entries acknowledged, 0 lost; %d times one more was on the disk", kills, told, ahead)
}

// stream types figures for the first n valves, goes back and begins again.
func stream(in io.WriteCloser, n int, seed uint64) {
	rng := rand.New(rand.NewPCG(seed, 0))
	for {
		for range n {
			if _, err := fmt.Fprintf(in, "%s\n", figure(rng)); err != nil {
				return
			}
		}
		if _, err := fmt.Fprint(in, strings.Repeat("back\n", n)); err != nil {
			return
		}
	}
}

// values gives the entries of a stream one after the other.
func values(n int, seed uint64) func(order []string) (valve, value string) {
	rng := rand.New(rand.NewPCG(seed, 0))
	at := -1
	return func(order []string) (string, string) {
		at = (at + 1) % n
		return order[at], figure(rng)
	}
}

func figure(rng *rand.Rand) string { return fmt.Sprintf("0.%03d", 101+rng.IntN(200)) }
