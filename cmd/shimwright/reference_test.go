package main

import (
	"bytes"
	"fmt"
	"os"
	"path/filepath"
	"regexp"
	"strings"
	"testing"
	"time"

	"github.com/spf13/cobra"
	"github.com/spf13/cobra/doc"
	"github.com/spf13/pflag"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"shimwright/shim/report"
)

// TestReference makes the command reference and the man pages from the
// commands and compares them with what stands in docs/. With -update it writes them.
func TestReference(t *testing.T) {
	const remake = "go test ./cmd/shimwright -run TestReference -update"
	docs := filepath.Join("..", "..", "docs")
	want := manPages(t)
	want[filepath.Join(docs, "commands.md")] = reference()

	old, err := filepath.Glob(filepath.Join(docs, "man", "*"))
	require.NoError(t, err)
	for _, file := range old {
		if _, wanted := want[file]; wanted {
			continue
		}
		if *update {
			require.NoError(t, os.Remove(file))
		} else {
			assert.Fail(t, "there is no such command any more", "%s; %s", file, remake)
		}
	}
	for file, text := range want {
		if *update {
			require.NoError(t, os.MkdirAll(filepath.Dir(file), 0o777))
			require.NoError(t, os.WriteFile(file, []byte(text), 0o666))
			continue
		}
		have, err := os.ReadFile(file)
		if !assert.NoError(t, err, remake) {
			continue
		}
		assert.True(t, string(have) == text, "%s is not what the commands say; %s", file, remake)
	}
}

// reference is one page with the help of every command.
func reference() string {
	var page strings.Builder
	page.WriteString(`# Commands

Made from the commands themselves; ` + "`shimwright COMMAND --help`" + ` shows the same. The
man pages in docs/man say it once more: ` + "`man docs/man/shimwright-solve.1`" + `.

`)
	root, out := testRoot()
	var bodies strings.Builder
	everyCommand(root, func(cmd *cobra.Command) {
		path := cmd.CommandPath()
		depth := strings.Count(path, " ")
		fmt.Fprintf(&page, "%s- [%s](#%s): %s\n", strings.Repeat("  ", max(0, depth-1)), path, strings.ReplaceAll(path, " ", "-"), cmd.Short)
		out.Reset()
		cmd.InitDefaultHelpFlag()
		cmd.InitDefaultVersionFlag()
		_ = cmd.Help() // it writes to memory
		fmt.Fprintf(&bodies, "\n## %s\n\n```text\n%s\n```\n", path, strings.TrimSpace(stable(out.String())))
	})
	return page.String() + bodies.String()
}

// stable takes out what differs from build to build.
func stable(text string) string { return strings.ReplaceAll(text, versionText(), "VERSION") }

// manPages are the man pages, by file.
func manPages(t *testing.T) map[string]string {
	t.Helper()
	root, _ := testRoot()
	var commands []*cobra.Command // listed first: the making adds help commands to groups
	everyCommand(root, func(cmd *cobra.Command) { commands = append(commands, cmd) })
	pages := map[string]string{}
	for _, cmd := range commands {
		cmd.DisableAutoGenTag = true
		cmd.InitDefaultHelpFlag()
		cmd.Long = literal(fill(cmd.Long, report.LineWidth))
		var page bytes.Buffer
		header := &doc.GenManHeader{Section: "1", Date: &time.Time{}, Source: "shimwright", Manual: "Shimwright"}
		require.NoError(t, doc.GenMan(cmd, header, &page))
		name := strings.ReplaceAll(cmd.CommandPath(), " ", "-")
		pages[filepath.Join("..", "..", "docs", "man", name+".1")] = strings.ReplaceAll(page.String(), time.Time{}.Format("Jan 2006"), "")
	}
	return pages
}

var setIn = regexp.MustCompile(`(?m)^  (.*)$`)

// literal keeps lines that are set in from being filled: Markdown, by way of
// which man pages are made, wants four spaces for that.
func literal(text string) string { return setIn.ReplaceAllString(text, "    $1") }

// TestReferenceIsWhole looks for every command and flag in the page and in the
// man pages.
func TestReferenceIsWhole(t *testing.T) {
	page, pages := reference(), manPages(t)
	root, _ := testRoot()
	n := 0
	everyCommand(root, func(cmd *cobra.Command) {
		n++
		name := strings.ReplaceAll(cmd.CommandPath(), " ", "-")
		man, found := pages[filepath.Join("..", "..", "docs", "man", name+".1")]
		require.True(t, found, name)
		assert.True(t, strings.Contains(page, "\n## "+cmd.CommandPath()+"\n"), name)
		for _, section := range []string{".SH NAME", ".SH SYNOPSIS", ".SH EXAMPLE"} {
			assert.True(t, strings.Contains(man, section), "%s: %s", name, section)
		}
		cmd.LocalFlags().VisitAll(func(flag *pflag.Flag) {
			assert.True(t, strings.Contains(page, "--"+flag.Name), "%s --%s in the page", name, flag.Name)
			assert.True(t, strings.Contains(man, "--"+flag.Name), "%s --%s in the man page", name, flag.Name)
		})
		_, title, _ := strings.Cut(man, ".TH ")
		assert.Contains(t, firstLine(title), `"1" "" "shimwright"`, "%s: no date, or it would change by itself", name)
	})
	assert.Len(t, pages, n)
}
