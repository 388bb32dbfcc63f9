package main

import (
	"bytes"
	"strings"
	"testing"
	"unicode/utf8"

	"github.com/spf13/cobra"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// everyCommand calls a function for every command that the help shows.
func everyCommand(cmd *cobra.Command, do func(cmd *cobra.Command)) {
	do(cmd)
	for _, child := range cmd.Commands() {
		if !child.Hidden {
			everyCommand(child, do)
		}
	}
}

// testRoot is the command tree on an app that writes into a buffer.
func testRoot() (*cobra.Command, *bytes.Buffer) {
	var out bytes.Buffer
	return newRoot(&app{in: strings.NewReader(""), out: &out, err: &out}), &out
}

func TestHelp(t *testing.T) {
	const widest = 80
	root, out := testRoot()
	everyCommand(root, func(cmd *cobra.Command) {
		name := cmd.CommandPath()
		out.Reset()
		cmd.InitDefaultHelpFlag()
		cmd.InitDefaultVersionFlag()
		require.NoError(t, cmd.Help(), name)
		for _, line := range strings.Split(out.String(), "\n") {
			assert.LessOrEqual(t, utf8.RuneCountInString(line), widest, "%s --help: %q", name, line)
			assert.NotContains(t, line, "\t", "%s --help", name)
		}

		assert.NotEmpty(t, cmd.Short, name)
		assert.False(t, strings.HasSuffix(cmd.Short, "."), "%s: the short text is no sentence: %q", name, cmd.Short)
		assert.Less(t, strings.Index(out.String(), "Examples:"), strings.Index(out.String(), "Usage:"), "%s: examples come first", name)
		require.NotEmpty(t, cmd.Example, name)
		for _, line := range strings.Split(cmd.Example, "\n") {
			assert.True(t, strings.HasPrefix(line, "  "), "%s: an example is set in by two spaces: %q", name, line)
		}
		assert.Contains(t, cmd.Example, root.Name(), "%s: an example of the command itself", name)
	})
}

// TestExamples looks that every command line of an example names a command and
// flags that exist.
func TestExamples(t *testing.T) {
	lines := 0
	root, _ := testRoot()
	everyCommand(root, func(cmd *cobra.Command) {
		for _, line := range strings.Split(cmd.Example, "\n") {
			_, call, found := strings.Cut(line, "shimwright ")
			call, _, _ = strings.Cut(call, " > ")
			call, _, _ = strings.Cut(call, " | ")
			call, _, _ = strings.Cut(call, " < ")
			if !found {
				continue
			}
			lines++
			fresh, _ := testRoot()
			named, args, err := fresh.Find(strings.Fields(strings.TrimSuffix(call, ")")))
			if assert.NoError(t, err, "%s: %s", cmd.CommandPath(), line) {
				assert.NoError(t, named.ParseFlags(args), "%s: %s", cmd.CommandPath(), line)
				assert.True(t, named == fresh || named.Name() != fresh.Name(), "%s: %s", cmd.CommandPath(), line)
			}
		}
	})
	assert.Greater(t, lines, 20)
}
