package main

import (
	"fmt"
	"os"
	"os/exec"
	"testing"

	"github.com/stretchr/testify/require"
)

// BenchmarkJobs times whole job commands, process start included, on the shop
// named by SHIMWRIGHT_BENCH_SHOP; docs/jobs.md says how to make one.
func BenchmarkJobs(b *testing.B) {
	shop := os.Getenv("SHIMWRIGHT_BENCH_SHOP")
	if _, err := os.Stat(shop); err != nil {
		b.Skip("SHIMWRIGHT_BENCH_SHOP names no shop file")
	}
	command := func(b *testing.B, args ...string) string {
		cmd := exec.Command("shimwright", append(args, "--shop", shop)...)
		out, err := cmd.CombinedOutput()
		require.NoError(b, err, "%v: %s", args, out)
		return string(out)
	}
	// These bring a job to the state before the timed command.
	open := func(b *testing.B) string {
		var id int
		_, err := fmt.Sscanf(command(b, "job", "open", "--engine", demo("sandpiper.toml")), "Job %d", &id)
		require.NoError(b, err)
		return fmt.Sprint(id)
	}
	read := func(b *testing.B) string {
		id := open(b)
		command(b, "job", "read", id, demo("sandpiper-check.csv"))
		return id
	}
	plan := func(b *testing.B) string {
		id := read(b)
		command(b, "job", "plan", id, "--lift", "all", "--policy", "target")
		return id
	}
	none := func(*testing.B) string { return "" }
	for _, c := range []struct {
		name    string
		prepare func(*testing.B) string
		args    func(id string) []string
	}{
		{"list", none, func(string) []string { return []string{"job", "list"} }},
		{"order", none, func(string) []string { return []string{"job", "order"} }},
		{"open", none, func(string) []string { return []string{"job", "open", "--engine", demo("sandpiper.toml")} }},
		{"read", open, func(id string) []string { return []string{"job", "read", id, demo("sandpiper-check.csv")} }},
		{"plan", read, func(id string) []string { return []string{"job", "plan", id} }},
		{"plan all", read, func(id string) []string { return []string{"job", "plan", id, "--lift", "all", "--policy", "target"} }},
		{"fit", plan, func(id string) []string { return []string{"job", "fit", id} }},
		{"show", plan, func(id string) []string { return []string{"job", "show", id} }},
		{"complete", none, func(string) []string { return []string{"__complete", "job", "fit", ""} }},
	} {
		b.Run(c.name, func(b *testing.B) {
			for b.Loop() {
				b.StopTimer()
				args := c.args(c.prepare(b))
				b.StartTimer()
				command(b, args...)
			}
		})
	}
}
