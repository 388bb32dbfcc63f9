package main

import (
	"os"
	"os/exec"
	"path/filepath"
	"regexp"
	"slices"
	"strings"
	"sync/atomic"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"shimwright/testdata/effort"
)

// fence is a block of a document that shows a session: lines that begin with
// "$ " are commands, what follows them is their output. A line of "…" stands
// for any lines.
var fence = regexp.MustCompile("(?ms)^```console\n(.*?)^```$")

const elision = "…"

// TestDocuments runs every session that the documents show, in a folder with a
// copy of testdata, compares what comes out, and follows the links. With -update it rewrites
// those that leave nothing out.
func TestDocuments(t *testing.T) {
	effort.Long(t)
	root, err := filepath.Abs(filepath.Join("..", ".."))
	require.NoError(t, err)
	documents, err := filepath.Glob(filepath.Join(root, "docs", "*.md"))
	require.NoError(t, err)
	documents = append(documents, filepath.Join(root, "README.md"), filepath.Join(root, "DEVELOPERS.md"))
	t.Parallel()
	var sessions atomic.Int32
	t.Cleanup(func() { assert.NotZero(t, sessions.Load(), "no document shows a session") })
	for _, document := range documents {
		name, err := filepath.Rel(root, document)
		require.NoError(t, err)
		t.Run(name, func(t *testing.T) {
			t.Parallel()
			old, err := os.ReadFile(document)
			require.NoError(t, err)
			follow(t, filepath.Dir(document), string(old))
			if !fence.Match(old) {
				return
			}
			folder := t.TempDir()
			require.NoError(t, os.CopyFS(filepath.Join(folder, "testdata"), os.DirFS(filepath.Join(root, "testdata"))))
			text := fence.ReplaceAllStringFunc(string(old), func(block string) string {
				sessions.Add(1)
				return "```console\n" + session(t, folder, fence.FindStringSubmatch(block)[1]) + "```"
			})
			if *update && text != string(old) {
				require.NoError(t, os.WriteFile(document, []byte(text), 0o666))
			}
		})
	}
}

var link = regexp.MustCompile(`\]\(([^)#:]+)(?:#[^)]*)?\)`)

// follow looks for what the document links to in the project.
func follow(t *testing.T, folder, text string) {
	t.Helper()
	for _, l := range link.FindAllStringSubmatch(text, -1) {
		assert.FileExists(t, filepath.Join(folder, filepath.FromSlash(l[1])))
	}
}

// session runs the commands of a block and gives the block with their real output.
func session(t *testing.T, folder, block string) string {
	t.Helper()
	var out strings.Builder
	lines := strings.SplitAfter(strings.TrimRight(block, "\n"), "\n")
	for len(lines) > 0 {
		command, shown, found := strings.Cut(lines[0], "$ ")
		require.True(t, found && command == "", "a session begins with a command: %q", lines[0])
		n := 1
		for strings.HasSuffix(strings.TrimRight(lines[n-1], "\n"), `\`) && n < len(lines) {
			shown += lines[n]
			n++
		}
		end := n
		for end < len(lines) && !strings.HasPrefix(lines[end], "$ ") {
			end++
		}
		want := ended(strings.Join(lines[n:end], ""))
		got := ended(shell(t, folder, shown))
		written := got
		if slices.Contains(strings.Split(want, "\n"), elision) {
			written = want
			assert.Regexp(t, pattern(want), got, "%s", shown)
		} else if !*update {
			assert.Equal(t, want, got, "%s", shown)
		}
		out.WriteString("$ " + strings.TrimRight(shown, "\n") + "\n" + written)
		lines = lines[end:]
	}
	return out.String()
}

// ended makes a text end with its last line: blank ones there do not show.
func ended(text string) string {
	if text = strings.TrimRight(text, "\n"); text != "" {
		text += "\n"
	}
	return text
}

// pattern matches a text in which a line of elision stands for any lines.
func pattern(want string) string {
	var b strings.Builder
	b.WriteString(`\A`)
	for _, line := range strings.SplitAfter(want, "\n") {
		if strings.TrimSuffix(line, "\n") == elision {
			b.WriteString(`(?:.*\n)*?`)
		} else {
			b.WriteString(regexp.QuoteMeta(line))
		}
	}
	return b.String() + `\z`
}

// shell runs a command line as a reader would, with the command built for the
// tests in place of go run.
func shell(t *testing.T, folder, line string) string {
	t.Helper()
	cmd := exec.Command("sh", "-c", strings.ReplaceAll(line, "go run ./cmd/shimwright", "shimwright"))
	cmd.Dir = folder
	cmd.Env = append(os.Environ(), "SHIMWRIGHT_SHOP=shop.db", "SHIMWRIGHT_WHO=R. Example", "TZ=UTC")
	out, err := cmd.CombinedOutput()
	if _, failed := err.(*exec.ExitError); err != nil && !failed {
		require.NoError(t, err)
	}
	return string(out)
}
