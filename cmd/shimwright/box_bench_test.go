package main

import (
	"os"
	"os/exec"
	"testing"

	"github.com/stretchr/testify/require"
)

// BenchmarkCommands times whole commands, the start of the process included,
// on the shop that SHIMWRIGHT_BENCH_SHOP names; docs/box.md says how it is made.
func BenchmarkCommands(b *testing.B) {
	shop := os.Getenv("SHIMWRIGHT_BENCH_SHOP")
	if _, err := os.Stat(shop); err != nil {
		b.Skip("SHIMWRIGHT_BENCH_SHOP names no shop file")
	}
	for _, c := range []struct {
		name string
		args []string
	}{
		{"start", []string{"--version"}},
		{"list", []string{"box", "list"}},
		{"list all", []string{"box", "list", "--all"}},
		{"list size", []string{"box", "list", "1.700"}},
		{"history", []string{"box", "history"}},
		{"history size", []string{"box", "history", "1.700"}},
		{"complete", []string{"__complete", "box", "scrap", "1.7"}},
		{"receive", []string{"box", "receive", "1.700"}},
		{"undo", []string{"box", "undo", "--yes"}},
		{"export", []string{"box", "export"}},
	} {
		b.Run(c.name, func(b *testing.B) {
			for b.Loop() {
				cmd := exec.Command("shimwright", c.args...)
				cmd.Env = append(os.Environ(), "SHIMWRIGHT_SHOP="+shop)
				out, err := cmd.CombinedOutput()
				require.NoError(b, err, "%s", out)
			}
		})
	}
}
