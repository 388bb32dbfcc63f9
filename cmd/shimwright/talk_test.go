package main

import (
	"bytes"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"unicode/utf8"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// TestTalkFitsTheTerminal holds every line of talk against the width of the
// terminal, measure's and its table of entries, warnings and errors, and sees
// that no word is lost on the way.
func TestTalkFitsTheTerminal(t *testing.T) {
	t.Parallel()
	engine := filepath.Join("..", "..", "testdata", "demo", "kittiwake.toml")
	wrong := filepath.Join(t.TempDir(), "wrong.csv")
	require.NoError(t, os.WriteFile(wrong, []byte("valve,clearance,shim,note\nin1a,0,07,2.300\nex9z,.2,2.30,\n"), 0o666))
	typed := "?\n.15\n.15-.25\n.151\n85\ny\n9\nlist\nquit\n"
	for name, args := range map[string][]string{
		"measure":  {"measure", engine, "--out", "c.csv"},
		"faults":   {"solve", engine, wrong},
		"an error": {"solve", engine, "no-such-file.csv"},
		"a flag":   {"solve", "--no-such-flag"},
	} {
		t.Run(name, func(t *testing.T) {
			talk := func(places int) string {
				own := append([]string{}, args...)
				if own[0] == "measure" {
					own[3] = filepath.Join(t.TempDir(), "c.csv")
					defer os.Remove(own[3])
				}
				var out, talk bytes.Buffer
				run(own, &app{in: strings.NewReader(typed), out: &out, err: &talk, places: places})
				return strings.ReplaceAll(talk.String(), filepath.Dir(own[len(own)-1]), "")
			}
			whole := talk(0)
			require.NotEmpty(t, whole)
			for _, places := range []int{40, 60, 80} {
				narrow := talk(places)
				for _, line := range strings.Split(narrow, "\n") {
					assert.True(t, utf8.RuneCountInString(line) <= places || !strings.Contains(strings.TrimSpace(line), " "), "at %d: %q", places, line)
				}
				assert.Equal(t, strings.Fields(whole), strings.Fields(narrow))
			}
		})
	}
}

// TestTalkLayout shows how a line that is too long is broken.
func TestTalkLayout(t *testing.T) {
	t.Parallel()
	var talk bytes.Buffer
	w := talkWriter{&talk, 30}
	for _, text := range []string{
		"short\n\n",
		"  hint: write that leaf, like <0.05 if it does not go\n",
		"  .15 or 0,15              the leaf that drags\n",
		"a prompt that is longer than the terminal is wide: ",
	} {
		n, err := w.Write([]byte(text))
		require.NoError(t, err)
		assert.Equal(t, len(text), n)
	}
	assert.Equal(t, `short

  hint: write that leaf, like
    <0.05 if it does not go
  .15 or 0,15
    the leaf that drags
a prompt that is longer than
  the terminal is wide: `, talk.String())
}

// TestMeasureHeadingBeforeLine: the last clearance is questioned, and through a
// pipe the first shim is the answer that keeps it.
func TestMeasureHeadingBeforeLine(t *testing.T) {
	t.Parallel()
	_, engine, order := kittiwake(t)
	lines := strings.Repeat(".15\n", len(order)-1) + ".85\n2.40\n2.45\n"
	var out, talk bytes.Buffer
	status := run([]string{"measure", engine, "--out", filepath.Join(t.TempDir(), "c.csv")}, &app{in: strings.NewReader(lines), out: &out, err: &talk})
	require.Equal(t, exitDone, status, talk.String())
	heading, first := strings.Index(talk.String(), "\nShims"), strings.Index(talk.String(), "shim 2.40")
	require.Positive(t, heading, talk.String())
	require.Positive(t, first, talk.String())
	assert.Less(t, heading, first, talk.String())
}
