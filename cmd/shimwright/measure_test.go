package main

import (
	"bufio"
	"bytes"
	"fmt"
	"math/rand/v2"
	"os"
	"os/exec"
	"path/filepath"
	"runtime"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"shimwright/shim"
	"shimwright/shim/files"
	"shimwright/shim/walk"
)

// kittiwake is the demo's four, its file's name, and its valves in the order
// in which they are measured. The order is that of the printed positions: US
// Army TM 5-3895-383-24 has the like for a four.
func kittiwake(t *testing.T) (e *shim.Engine, name string, order []string) {
	t.Helper()
	name = filepath.Join("..", "..", "testdata", "demo", "kittiwake.toml")
	text, err := os.ReadFile(name)
	require.NoError(t, err)
	e, _, err = files.ReadEngine(name, bytes.NewReader(text))
	require.NoError(t, err)
	return e, name, strings.Fields("in1a in1b ex1a ex1b ex2a ex2b in3a in3b in2a in2b ex3a ex3b in4a in4b ex4a ex4b")
}

// readings is the clearances in a check file, by valve; nothing of a file that
// is not there.
func readings(t *testing.T, e *shim.Engine, name string) map[string]string {
	t.Helper()
	text, err := os.ReadFile(name)
	if os.IsNotExist(err) {
		return map[string]string{}
	}
	require.NoError(t, err)
	checks, _, err := files.ReadCheck(name, bytes.NewReader(text), []*shim.Engine{e}, files.CheckOptions{AllowUnmeasured: true})
	require.NoError(t, err, "%s", text)
	require.Len(t, checks, 1)
	got := map[string]string{}
	for _, m := range checks[0].Measurements {
		if m.Reading.Kind != shim.Unread {
			got[m.Valve.String()] = m.Reading.Format(e.Units.Clearance)
		}
	}
	return got
}

// model is what a walk through clearances has to do, without files, questions
// or words around it.
type measured struct {
	order []string
	file  map[string]string
	at    int
}

func (m *measured) advance() {
	for m.at++; m.at < len(m.order) && m.file[m.order[m.at]] != ""; m.at++ {
	}
}

func (m *measured) resume() { m.at = -1; m.advance() }

// TestMeasureModel types random entries, words and slips, stops at random and
// goes on, and compares the file with the model's after each run.
func TestMeasureModel(t *testing.T) {
	t.Parallel()
	e, engine, order := kittiwake(t)
	rng := rand.New(rand.NewPCG(7, 11))
	for round := range 20 {
		name := filepath.Join(t.TempDir(), "check.csv")
		m := &measured{order: order, file: map[string]string{}}
		var typed []string
		for range 1 + rng.IntN(4) {
			m.resume()
			var lines []string
			for range rng.IntN(24) {
				if m.at >= len(order) {
					break
				}
				valve := order[m.at]
				value := fmt.Sprintf("0.%03d", 50+rng.IntN(400))
				trimmed := shown(t, e, value)
				switch rng.IntN(12) {
				case 0:
					lines = append(lines, "back")
					m.at = max(0, m.at-1)
				case 1:
					lines = append(lines, "skip")
					m.advance()
				case 2:
					lines = append(lines, "")
					if m.file[valve] != "" {
						m.advance()
					}
				case 3:
					lines = append(lines, "help", "list")
				case 4: // hundredths, refused and taken
					n := 5 + rng.IntN(40)
					lines = append(lines, fmt.Sprint(n+1), "n", fmt.Sprint(n), "y")
					m.file[valve] = shown(t, e, fmt.Sprintf("0.%02d", n))
					m.advance()
				case 5: // hundredths, meant and not confirmed
					lines = append(lines, "15", "n", strings.Replace(value, ".", ",", 1))
					m.file[valve] = trimmed
					m.advance()
				case 6:
					lines = append(lines, "<.05")
					m.file[valve] = "<0.05"
					m.advance()
				default:
					lines = append(lines, strings.TrimPrefix(value, "0"))
					m.file[valve] = trimmed
					m.advance()
				}
			}
			// An empty line after a suspicious reading is an answer to nothing;
			// so that the model need not know suspicion, none follows a figure.
			lines = parted(lines)
			want := 0
			switch rng.IntN(4) {
			case 0, 1:
				lines = append(lines, "quit", ".99")
			case 2: // a line that is not taken, or a question without an answer: nothing after it is read
				if m.at < len(order) {
					lines = append(lines, [][]string{{"0.1.5"}, {"1.7"}, {"15", ".98"}}[rng.IntN(3)]...)
					lines = append(lines, ".97", ".96")
					want = 1
				}
			}
			typed = append(typed, "--")
			typed = append(typed, lines...)
			var talk bytes.Buffer
			status := run([]string{"measure", engine, "--out", name, "--shims", "later"},
				&app{in: strings.NewReader(strings.Join(lines, "\n")), out: &talk, err: &talk})
			require.Equal(t, want, status, "walk %d\n%s", round, talk.String())
			require.Equal(t, m.file, readings(t, e, name), "walk %d\n%s\n%s", round, strings.Join(typed, "\n"), talk.String())
		}
	}
}

// shown is a figure as the file has it.
func shown(t *testing.T, e *shim.Engine, value string) string {
	t.Helper()
	l, err := e.Units.Size.Parse(value)
	require.NoError(t, err)
	return e.Units.Size.FormatAtLeast(l, 2)
}

// parted puts a help between a figure and an empty line.
func parted(lines []string) []string {
	var out []string
	for _, line := range lines {
		if line == "" {
			out = append(out, "?")
		}
		out = append(out, line)
	}
	return out
}

// TestMeasureOnTerminal shows that a person who is asked about a figure may
// keep it or type it again, and that it stays at its valve.
func TestMeasureOnTerminal(t *testing.T) {
	e, _, _ := kittiwake(t)
	var talk bytes.Buffer
	file := &checkFile{engine: e, name: filepath.Join(t.TempDir(), "check.csv")}
	_, err := file.load(time.Now())
	require.NoError(t, err)
	w := &measureTalk{Walk: walk.New(e, nil, walk.Options{Attended: true, Keep: file.keep}), file: file, say: &talk}
	w.begin()
	next := func(line string) string {
		t.Helper()
		fmt.Fprint(w.say, w.prompt())
		require.NoError(t, w.line(line))
		require.False(t, w.Done())
		return w.Asks().Now.Valve.String()
	}
	assert.Equal(t, "in1b", next(".15"))
	assert.Equal(t, "ex1a", next(".16"))
	assert.Equal(t, "ex1b", next(".25"))
	assert.Equal(t, "ex2a", next(".24"))
	assert.Equal(t, "ex2a", next(".85"), "asked about")
	assert.Equal(t, "ex2b", next(".23"), "typed again, for the same valve")
	assert.Equal(t, "ex2b", next(".85"))
	assert.Equal(t, "in3a", next(""), "Enter keeps it")
	assert.Equal(t, "in3a", next(".85"))
	assert.Equal(t, "in3a", next("again"))
	assert.Empty(t, readings(t, e, file.name)["in3a"], "taken back")
	assert.Equal(t, "in3a", next("15"), "asked about")
	assert.Equal(t, "in3a", next(""), "Enter is no yes to a guess")
	assert.Equal(t, "in3b", next("y"))
	assert.Equal(t, map[string]string{"in1a": "0.15", "in1b": "0.16", "ex1a": "0.25", "ex1b": "0.24", "ex2a": "0.23", "ex2b": "0.85", "in3a": "0.15"},
		readings(t, e, file.name))
	assert.Contains(t, talk.String(), "in1a (0.11-0.19): ", "the prompt names the limits")
}

// TestMeasureInterrupted stops the command as Ctrl-C does.
func TestMeasureInterrupted(t *testing.T) {
	if runtime.GOOS == "windows" {
		t.Skip("no interrupt can be sent to a process there")
	}
	e, engine, _ := kittiwake(t)
	name := filepath.Join(t.TempDir(), "check.csv")
	cmd := exec.Command("shimwright", "measure", engine, "--out", name)
	in, err := cmd.StdinPipe()
	require.NoError(t, err)
	talk, err := cmd.StderrPipe()
	require.NoError(t, err)
	require.NoError(t, cmd.Start())
	_, err = in.Write([]byte(".12\n.13\n.2"))
	require.NoError(t, err)
	scanner := bufio.NewScanner(talk)
	var last string
	for scanner.Scan() {
		if strings.HasPrefix(scanner.Text(), "  in1b") {
			require.NoError(t, cmd.Process.Signal(os.Interrupt))
		}
		last = scanner.Text()
	}
	var failed *exec.ExitError
	require.ErrorAs(t, cmd.Wait(), &failed)
	assert.Equal(t, exitFailed, failed.ExitCode())
	assert.Equal(t, "error: interrupted", last)
	assert.Equal(t, map[string]string{"in1a": "0.12", "in1b": "0.13"}, readings(t, e, name))
}

// A file that changes meanwhile is not written over.
func TestMeasureChangedMeanwhile(t *testing.T) {
	_, engine, _ := kittiwake(t)
	name := filepath.Join(t.TempDir(), "check.csv")
	for _, other := range []string{"somebody else's", ""} {
		_ = os.Remove(name)
		lines := &script{lines: []string{".12\n", ".13\n"}, before: func(line int) {
			if line == 0 {
				return
			}
			for range 1000 { // the walk reads a line ahead of what it saves
				if _, err := os.Stat(name); err == nil {
					break
				}
				time.Sleep(time.Millisecond)
			}
			time.Sleep(20 * time.Millisecond) // for it to take note of what it saved
			if other == "" {
				assert.NoError(t, os.Remove(name))
			} else {
				assert.NoError(t, os.WriteFile(name, []byte(other), 0o666))
			}
		}}
		var talk bytes.Buffer
		status := run([]string{"measure", engine, "--out", name}, &app{in: lines, out: &talk, err: &talk})
		assert.Equal(t, exitFailed, status)
		assert.Contains(t, talk.String(), "changed meanwhile")
		text, _ := os.ReadFile(name)
		assert.Equal(t, other, string(text))
	}
}

// A script gives a line a read, and calls back before each.
type script struct {
	lines  []string
	before func(line int)
	next   int
}

func (s *script) Read(p []byte) (int, error) {
	if s.next == len(s.lines) {
		return 0, fmt.Errorf("the script is over")
	}
	s.before(s.next)
	n := copy(p, s.lines[s.next])
	s.next++
	return n, nil
}
