package walk_test

import (
	"bytes"
	"errors"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"shimwright/shim"
	"shimwright/shim/files"
	"shimwright/shim/recheck"
	"shimwright/shim/walk"
)

// kittiwake is the demo's four.
func kittiwake(t *testing.T) *shim.Engine {
	t.Helper()
	name := filepath.Join("..", "..", "testdata", "demo", "kittiwake.toml")
	text, err := os.ReadFile(name)
	require.NoError(t, err)
	e, _, err := files.ReadEngine(name, bytes.NewReader(text))
	require.NoError(t, err)
	return e
}

// A desk keeps what a walk hands over.
type desk struct {
	*walk.Walk
	t    *testing.T
	kept []shim.Measurement // nil until something is kept
	fail error
}

func begin(t *testing.T, e *shim.Engine, measured []shim.Measurement, o walk.Options) *desk {
	d := &desk{t: t}
	o.Keep = func(all []shim.Measurement) error {
		if d.fail == nil {
			d.kept = all
		}
		return d.fail
	}
	d.Walk = walk.New(e, measured, o)
	return d
}

// types types lines, and gives what came of the last one without headings.
func (d *desk) types(lines ...string) []walk.Event {
	d.t.Helper()
	var last []walk.Event
	for _, line := range lines {
		came, err := d.Type(line)
		require.NoError(d.t, err)
		last = nil
		for _, e := range came {
			if _, heading := e.(walk.Heading); !heading {
				last = append(last, e)
			}
		}
	}
	return last
}

func (d *desk) asks() string { return d.Asks().Now.Valve.String() }

// of is what is kept of a valve.
func (d *desk) of(valve string) shim.Measurement {
	d.t.Helper()
	for _, m := range d.kept {
		if m.Valve.String() == valve {
			return m
		}
	}
	require.Fail(d.t, "nothing is kept of "+valve)
	return shim.Measurement{}
}

// steps walks to the end by skipping, and names the steps.
func (d *desk) steps() string {
	var names []string
	for !d.Done() {
		names = append(names, d.asks())
		d.types("skip")
	}
	return strings.Join(names, " ")
}

// The order of the clearances is that of the printed positions for a four (US
// Army TM 5-3895-383-24 has the like); the shims follow by camshaft.
func TestOrder(t *testing.T) {
	e := kittiwake(t)
	const clearances = "in1a in1b ex1a ex1b ex2a ex2b in3a in3b in2a in2b ex3a ex3b in4a in4b ex4a ex4b"
	const shims = "in1a in1b in2a in2b in3a in3b in4a in4b ex1a ex1b ex2a ex2b ex3a ex3b ex4a ex4b"
	assert.Equal(t, clearances, begin(t, e, nil, walk.Options{}).steps())
	both := begin(t, e, nil, walk.Options{Shims: true})
	assert.Equal(t, clearances+" "+shims, both.steps())

	d := begin(t, e, nil, walk.Options{Shims: true})
	place, changed := d.Heading()
	assert.Equal(t, walk.Place{Position: 1}, place)
	assert.True(t, changed)
	_, changed = d.Heading()
	assert.False(t, changed, "the same position")
	for range 16 {
		d.types("skip")
	}
	place, changed = d.Heading()
	assert.True(t, changed)
	assert.True(t, place.Shims)
	assert.Equal(t, e.CamshaftList()[0].Name, place.Camshaft)

	e.FiringOrder = nil
	d = begin(t, e, nil, walk.Options{})
	assert.Nil(t, d.Positions)
	assert.Equal(t, "in1a in1b ex1a ex1b in2a in2b ex2a ex2b in3a in3b ex3a ex3b in4a in4b ex4a ex4b", d.steps(), "without a firing order the engine's own")
}

// What is measured is not asked again, but where it is named.
func TestOnlyWhatLacks(t *testing.T) {
	e := kittiwake(t)
	mm := func(text string) shim.Reading {
		l, err := e.Units.Size.Parse(text)
		require.NoError(t, err)
		return shim.ReadingOf(l)
	}
	measured := []shim.Measurement{{Valve: e.Valves()[0], Reading: mm("0.15")}, {Valve: e.Valves()[15], Reading: mm("0.24")}}
	d := begin(t, e, measured, walk.Options{})
	assert.Equal(t, "in1b", d.asks())
	clearances, shims := d.Missing()
	assert.Len(t, clearances, 14)
	assert.Len(t, shims, 16)
	assert.NotContains(t, d.steps(), "ex4b")

	again := begin(t, e, measured, walk.Options{Only: map[int]bool{0: true, 15: true}})
	assert.Equal(t, "in1a", again.asks())
	assert.Equal(t, mm("0.15"), again.Asks().Now.Reading)
	again.types("")
	assert.Equal(t, "ex4b", again.asks(), "Enter keeps what stands there")
	again.types("back")
	assert.Equal(t, "in1a", again.asks(), "back goes to filled ones too")
	assert.Equal(t, []walk.Event{walk.First{}}, again.types("back"))
	again.types("", ".22")
	assert.True(t, again.Done())
	assert.False(t, again.Left())
	assert.Equal(t, mm("0.22"), again.of("ex4b").Reading)
}

func TestWords(t *testing.T) {
	d := begin(t, kittiwake(t), nil, walk.Options{Attended: true})
	assert.Empty(t, d.types(""))
	assert.Equal(t, "in1a", d.asks(), "Enter with nothing there goes nowhere")
	assert.Equal(t, []walk.Event{walk.List{}}, d.types("list"))
	assert.Equal(t, []walk.Event{walk.Help{}}, d.types("?"))
	assert.IsType(t, walk.Refused{}, d.types("yes")[0], "nothing was asked")
	assert.IsType(t, walk.Refused{}, d.types("0.1.5")[0])
	assert.Nil(t, d.kept)
	assert.IsType(t, walk.Taken{}, d.types("0")[0], "0 is no guess; whoever keeps it decides")
	d.types("quit")
	assert.True(t, d.Done())
	assert.True(t, d.Left())
}

// A bare number is a guess, kept once it is confirmed.
func TestGuess(t *testing.T) {
	for _, attended := range []bool{true, false} {
		d := begin(t, kittiwake(t), nil, walk.Options{Attended: attended})
		guess := d.types("15")[0].(walk.Guess)
		assert.Equal(t, "15", guess.Typed)
		assert.Nil(t, d.kept)
		assert.True(t, d.Asks().Question)
		d.types("")
		assert.True(t, d.Asks().Question, "Enter is no yes")
		d.types("n")
		assert.False(t, d.Asks().Question)
		assert.Equal(t, "in1a", d.asks())
		taken := d.types("15", "y")[0].(walk.Taken)
		assert.Equal(t, guess.As, taken.As)
		assert.Equal(t, "in1b", d.asks())
		if attended {
			d.types("16", ".17")
			assert.Equal(t, "0.17", d.of("in1b").Reading.Format(shim.MM), "a figure in place of the answer")
			assert.Equal(t, "ex1a", d.asks())
		}
	}
}

// Where all was written before, a line that is not taken ends the walk at its valve: the
// next one is most likely the next valve's. So does a guess without an answer.
func TestOutOfStep(t *testing.T) {
	for _, lines := range [][]string{{"lots"}, {"1.6"}, {".18-.15"}, {"16", ".17"}, {"16", "<.05"}} {
		d := begin(t, kittiwake(t), nil, walk.Options{})
		d.types(".15")
		kept := d.kept
		d.types(lines[:len(lines)-1]...)
		_, err := d.Type(lines[len(lines)-1])
		assert.ErrorIs(t, err, walk.ErrOutOfStep, "%q", lines)
		assert.Equal(t, kept, d.kept, "%q", lines)
		assert.Equal(t, "in1b", d.asks(), "%q", lines)
	}
	for _, word := range []string{"again", "n", "No"} { // what follows would be one valve too far
		d := begin(t, kittiwake(t), nil, walk.Options{})
		d.types(".15")
		_, err := d.Type(word)
		assert.ErrorIs(t, err, walk.ErrOutOfStep, word)
		assert.Equal(t, "in1b", d.asks())
		attended := begin(t, kittiwake(t), nil, walk.Options{Attended: true})
		assert.IsType(t, walk.Refused{}, attended.types(".15", word)[0], word)
	}
	d := begin(t, whimbrel(t), nil, walk.Options{})
	d.types("yes", ".12")
	_, err := d.Type("loaded .02")
	assert.ErrorIs(t, err, walk.ErrOutOfStep)
	assert.Equal(t, "in1.closer", d.asks())
}

// Whoever attends is asked about a reading far from its siblings.
func TestDoubtAttended(t *testing.T) {
	d := begin(t, kittiwake(t), nil, walk.Options{Attended: true})
	d.types(".15", ".16", ".25", ".24")
	came := d.types(".85")
	require.Len(t, came, 3)
	assert.IsType(t, walk.Taken{}, came[0])
	assert.Equal(t, recheck.FarClearance, came[1].(walk.Doubt).Reason)
	assert.Equal(t, walk.KeepOrAgain{}, came[2])
	assert.Equal(t, "ex2a", d.asks())
	d.types(".23")
	assert.Equal(t, "0.23", d.of("ex2a").Reading.Format(shim.MM), "typed again, for the same valve")
	assert.Equal(t, "ex2b", d.asks())
	d.types(".85", "keep")
	assert.Equal(t, "in3a", d.asks())
	assert.NotContains(t, d.types(".86", "again", ".15"), walk.KeepOrAgain{})
	assert.Equal(t, "in3b", d.asks())
	d.types(".85", "again")
	assert.IsType(t, walk.Doubt{}, d.types(".85")[1], "named again where it is typed again")
	d.types("again")
	assert.Equal(t, shim.Unread, d.of("in3b").Reading.Kind, "taken back")
	require.Len(t, d.Suspicions(), 1)
	assert.Equal(t, "ex2b", d.Suspicions()[0].Valve.String())
}

// What comes through a pipe was written before the question: the reading is
// kept, and the line is the next valve's.
func TestDoubtUnattended(t *testing.T) {
	d := begin(t, kittiwake(t), nil, walk.Options{})
	came := d.types(".15", ".16", ".25", ".24", ".85")
	require.Len(t, came, 2)
	assert.IsType(t, walk.Doubt{}, came[1])
	assert.Len(t, d.types(".23"), 1, "named once")
	assert.Equal(t, "0.85", d.of("ex2a").Reading.Format(shim.MM))
	assert.Equal(t, "0.23", d.of("ex2b").Reading.Format(shim.MM))

	last := begin(t, kittiwake(t), d.kept, walk.Options{Only: map[int]bool{15: true}})
	assert.Len(t, last.Suspicions(), 1, "of the walk before")
	assert.Len(t, last.types(".85"), 2, "that of the walk before is not named again")
	last.types(".26")
	assert.True(t, last.Done())
	assert.Equal(t, ".26", last.Spare())
}

// A reading that two leaves leave open is asked about where somebody attends.
func TestUndecided(t *testing.T) {
	d := begin(t, kittiwake(t), nil, walk.Options{Attended: true})
	limits := d.Asks().Limits
	came := d.types(".18-.20")
	require.True(t, limits.Undecided(d.of("in1a").Reading))
	assert.Equal(t, walk.TryLeaf{}, came[len(came)-1])
	d.types("")
	assert.Equal(t, "in1b", d.asks())
	assert.NotContains(t, begin(t, kittiwake(t), nil, walk.Options{}).types(".18-.20"), walk.TryLeaf{})
}

// Another shim than before takes the old mic reading with it.
func TestShims(t *testing.T) {
	e := kittiwake(t)
	d := begin(t, e, nil, walk.Options{Shims: true, Only: map[int]bool{0: true, 1: true}})
	d.types("skip", "skip", "2.450 mic 2.447", "back")
	marks := func() string {
		m := d.of("in1a")
		return e.Units.Size.Format(m.Stamp) + " " + e.Units.Size.Format(m.Mic)
	}
	assert.Equal(t, "2.45 2.447", marks())
	d.types("mic 2.446", "back")
	assert.Equal(t, "2.45 2.446", marks())
	d.types("2.50")
	assert.Equal(t, "2.5 0", marks())
}

// Against the last job's check a stack that moved far is named; until a shim is
// seen it is taken for the last one's.
func TestLast(t *testing.T) {
	e := kittiwake(t)
	var last []shim.Measurement
	for _, v := range e.Valves() {
		m := shim.Measurement{Valve: v, Reading: shim.ReadingOf(e.Train(v.Side).Limits.Tight)}
		m.Stamp = 2500 * shim.Micrometre
		last = append(last, m)
	}
	d := begin(t, e, nil, walk.Options{Last: last})
	for _, came := range d.types(".40")[1:] {
		if doubt, ok := came.(walk.Doubt); ok && doubt.Reason == recheck.Moved {
			return
		}
	}
	assert.Fail(t, "nothing was said of a stack that moved")
}

// A check that cannot be kept leaves all as it was.
func TestRefusal(t *testing.T) {
	d := begin(t, kittiwake(t), nil, walk.Options{Attended: true})
	why := walk.Refused{Message: "no", Hint: "another"}
	d.fail = &walk.Refusal{Faults: []walk.Refused{why}}
	assert.Equal(t, []walk.Event{why}, d.types(".15"))
	assert.Equal(t, "in1a", d.asks())
	assert.Equal(t, shim.Unread, d.Asks().Now.Reading.Kind)

	d.fail = errors.New("the disk is full")
	came, err := d.Type(".15")
	assert.ErrorIs(t, err, d.fail)
	assert.Empty(t, came)
	assert.Equal(t, shim.Unread, d.Measurements[0].Reading.Kind)
}

// Two readings that the gauge does not explain are asked about like any figure that
// looks wrong; a pair across a limit asks for a third.
func TestTwoReadings(t *testing.T) {
	w := walk.New(kittiwake(t), nil, walk.Options{Attended: true, Keep: func([]shim.Measurement) error { return nil }})
	came, err := w.Type(".15/.25")
	require.NoError(t, err)
	doubt, asked := false, false
	for _, event := range came {
		if d, ok := event.(walk.Doubt); ok {
			doubt = d.Reason == recheck.ReadingsApart
		}
		_, keep := event.(walk.KeepOrAgain)
		asked = asked || keep
	}
	assert.True(t, doubt)
	assert.True(t, asked)
	first := w.Asks().Now.Valve
	came, err = w.Type(".10/.13")
	require.NoError(t, err)
	assert.Equal(t, first, w.Asks().Now.Valve, "typed again for the same valve")
	assert.Contains(t, came, walk.Event(walk.MeasureThird{}))
	came, err = w.Type(".15/.16")
	require.NoError(t, err)
	assert.NotContains(t, came, walk.Event(walk.MeasureThird{}))
	assert.NotEqual(t, first, w.Asks().Now.Valve)
	came, err = w.Type("15/16")
	require.NoError(t, err)
	guess, ok := came[len(came)-1].(walk.Guess)
	require.True(t, ok)
	assert.Equal(t, "0.15/0.16", guess.As.Reading.Format(shim.MM))
}
