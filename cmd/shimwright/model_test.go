package main

import (
	"bufio"
	"bytes"
	"os"
	"os/exec"
	"path/filepath"
	"runtime"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// heronAnswers are all answers for a model of one cylinder.
const heronAnswers = "Heron 250 single|single|||||||under||mm||||||0.10-0.15|y|||0.17-0.22|y||||8.9||||y"

func typedLines(answers string) []string {
	var lines []string
	for _, line := range strings.Split(answers, "|") {
		lines = append(lines, line+"\n")
	}
	return lines
}

// A file that came into being while the questions were asked stays as it is; a
// link to nothing is not replaced either.
func TestModelNewReplacesNothing(t *testing.T) {
	lines := typedLines(heronAnswers)
	for _, come := range []func(name string) error{
		func(name string) error { return os.WriteFile(name, []byte("mine"), 0o666) },
		func(name string) error { return os.Symlink("nowhere", name) },
	} {
		name := filepath.Join(t.TempDir(), "heron.toml")
		in := &script{lines: lines, before: func(line int) {
			if line == len(lines)-1 {
				assert.NoError(t, come(name))
			}
		}}
		var talk bytes.Buffer
		status := run([]string{"model", "new", name}, &app{in: in, out: &talk, err: &talk})
		assert.Equal(t, exitUsage, status)
		assert.Contains(t, talk.String(), "exists already")
		if text, err := os.ReadFile(name); err == nil {
			assert.Equal(t, "mine", string(text))
		} else {
			to, err := os.Readlink(name)
			require.NoError(t, err)
			assert.Equal(t, "nowhere", to)
		}
		left, err := os.ReadDir(filepath.Dir(name))
		require.NoError(t, err)
		assert.Len(t, left, 1, "no temporary file is left")
	}
}

// At a terminal the answers are not lost: another name is asked for.
func TestModelNewTakesAnotherName(t *testing.T) {
	folder := t.TempDir()
	name, other := filepath.Join(folder, "heron.toml"), filepath.Join(folder, "heron-2.toml")
	lines := append(typedLines(heronAnswers), other+"\n")
	in := &script{lines: lines, before: func(line int) {
		if line == len(lines)-2 {
			assert.NoError(t, os.WriteFile(name, []byte("mine"), 0o666))
		}
	}}
	var talk bytes.Buffer
	status := run([]string{"model", "new", name}, &app{in: in, out: &talk, err: &talk, person: true})
	assert.Zero(t, status, talk.String())
	assert.Contains(t, talk.String(), "heron-2.toml is written")
	assert.FileExists(t, other)
}

// Ctrl-C says that nothing was written.
func TestModelNewInterrupted(t *testing.T) {
	if runtime.GOOS == "windows" {
		t.Skip("no interrupt can be sent to a process there")
	}
	name := filepath.Join(t.TempDir(), "heron.toml")
	cmd := exec.Command("shimwright", "model", "new", name)
	in, err := cmd.StdinPipe()
	require.NoError(t, err)
	talk, err := cmd.StderrPipe()
	require.NoError(t, err)
	require.NoError(t, cmd.Start())
	_, err = in.Write([]byte("Heron\nsingle\n"))
	require.NoError(t, err)
	var last string
	for scanner := bufio.NewScanner(talk); scanner.Scan(); last = scanner.Text() {
		if strings.HasPrefix(scanner.Text(), "Layout") {
			require.NoError(t, cmd.Process.Signal(os.Interrupt))
		}
	}
	assert.Error(t, cmd.Wait())
	// Behind the next question, if that came before the signal.
	assert.True(t, strings.HasSuffix(last, "error: interrupted; nothing was written"), "%q", last)
	assert.NoFileExists(t, name)
}
