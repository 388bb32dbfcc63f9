package main

import (
	"bytes"
	"math/rand/v2"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"shimwright/testdata/effort"
)

// answer is what a command said on standard output, and its exit status.
type answer struct {
	status   int
	out, err string
}

// ask runs a command on a shop file in this process.
func ask(shop string, args ...string) answer {
	return askPlain(append(args, "--shop", shop, "--who", "R. Example")...)
}

// askPlain runs a command in this process.
func askPlain(args ...string) answer {
	var out, err bytes.Buffer
	status := run(args, &app{in: strings.NewReader(""), out: &out, err: &err})
	return answer{status, out.String(), err.String()}
}

// worked gives a shop file in which every command has something to do: a fitted
// job, one with a plan that buys, one that was measured, one that was mended.
func worked(t *testing.T) []byte {
	t.Helper()
	shop := filepath.Join(t.TempDir(), "shop.db")
	engine, check := demo("sandpiper.toml"), demo("sandpiper-check.csv")
	for _, args := range [][]string{
		{"shop", "init"},
		{"box", "import", demo("box.csv")},
		{"job", "open", "--engine", engine, "--tag", "T-1"},
		{"job", "read", "1", check},
		{"job", "plan", "1"},
		{"job", "fit", "1"},
		{"job", "open", "--engine", engine, "--tag", "T-2", "--meter", "18200 km"},
		{"job", "read", "2", check},
		{"job", "plan", "2"},
		{"job", "open", "--engine", engine, "--tag", "T-3", "--note", "ticks"},
		{"job", "edit", "3", "--tag", "T-4"},
		{"job", "read", "3", check},
		{"box", "receive", "2.350", "2.400", "--diameter", "8.9", "--bin", "A3"},
	} {
		a := ask(shop, args...)
		require.Contains(t, []int{0, 3}, a.status, "%v: %s", args, a.err)
	}
	data, err := os.ReadFile(shop)
	require.NoError(t, err)
	return data
}

// ordinary are the commands that a shop gives every day.
var ordinary = [][]string{
	{"box", "list"}, {"box", "list", "--lots"}, {"box", "list", "2.250"}, {"box", "history"}, {"box", "history", "2.350", "--output", "json"}, {"box", "export"},
	{"shop", "info", "--output", "csv"}, {"job", "list"}, {"job", "list", "--output", "json"}, {"job", "list", "--tag", "T-2"},
	{"job", "show", "1"}, {"job", "show", "2", "--output", "json"}, {"job", "show", "3"}, {"job", "order"},
	{"job", "plan", "3"}, {"job", "fit", "2"}, {"job", "recheck", "1", demo("sandpiper-check.csv"), "--yes"}, {"job", "cancel", "2", "--yes"},
	{"job", "open", "--engine", demo("sandpiper.toml"), "--tag", "T-9"}, {"job", "read", "3", demo("sandpiper-check.csv")},
	{"box", "receive", "2.350x2", "--diameter", "8.9", "--bin", "A3"}, {"box", "scrap", "2.750", "--diameter", "8.9"}, {"box", "undo", "--yes"},
}

// TestFlippedBit flips one bit of a shop file at a random place. Each ordinary
// command then gives the same answer as on the sound file, or refuses.
func TestFlippedBit(t *testing.T) {
	effort.Long(t)
	data := worked(t)
	shop := filepath.Join(t.TempDir(), "shop.db")
	place := func(content []byte) {
		require.NoError(t, os.WriteFile(shop, content, 0o644))
		_ = os.Remove(shop + "-journal")
	}
	want := make([]answer, len(ordinary))
	for i, args := range ordinary {
		place(data)
		want[i] = ask(shop, args...)
		require.Contains(t, []int{0, 3}, want[i].status, "%v: %s", args, want[i].err)
	}
	rng := rand.New(rand.NewPCG(11, 12))
	flips, refused, same, altered := effort.Of(500), 0, 0, 0
	for range flips {
		spoilt := bytes.Clone(data)
		at, bit := rng.IntN(len(data)), byte(1)<<rng.IntN(8)
		spoilt[at] ^= bit
		for i, args := range ordinary {
			place(spoilt)
			got := ask(shop, args...)
			switch {
			case got.status == want[i].status && got.out == want[i].out:
				same++
			case got.status != 0 && got.status != 3 && strings.HasPrefix(want[i].out, got.out):
				refused++
				assert.Contains(t, got.err, shop, "byte %d bit %08b: %v", at, bit, args)
				assert.Contains(t, got.err, "hint:", "byte %d bit %08b: %v", at, bit, args)
			default:
				altered++
				t.Errorf("byte %d bit %08b: %v: status %d, not %d\n%s\n%s", at, bit, args, got.status, want[i].status, got.out, got.err)
			}
		}
	}
	t.Logf("%d flips, %d commands each: %d answers the same, %d refused, %d altered, bound 0", flips, len(ordinary), same, refused, altered)
	require.Zero(t, altered)
	require.NotZero(t, same)
}
