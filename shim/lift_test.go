package shim

import (
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

func TestParseLift(t *testing.T) {
	for text, want := range map[string]Lift{
		"needed":              LiftNeeded,
		" ALL ":               LiftAll,
		"intake":              {Named: []string{"intake"}},
		"Exhaust-2, intake-1": {Named: []string{"exhaust-2", "intake-1"}},
		"in1a IN2b":           {Named: []string{"in1a", "in2b"}},
	} {
		got, err := ParseLift(text)
		require.NoError(t, err, "%q", text)
		assert.Equal(t, want, got, "%q", text)
		again, err := ParseLift(got.String())
		require.NoError(t, err, "%q", text)
		assert.Equal(t, want, again, "%q written as %q", text, got)
	}
	for _, text := range []string{"", " , ", "needed,all", "all intake", "intake,needed"} {
		_, err := ParseLift(text)
		assert.Error(t, err, "%q", text)
	}
}

// inside is a check of the whole engine with every clearance at its aim; the
// readings given by valve name replace theirs.
func inside(t *testing.T, e *Engine, readings map[string]Reading) []Measurement {
	t.Helper()
	require.Empty(t, e.Validate())
	var check []Measurement
	for _, v := range e.Valves() {
		check = append(check, Measurement{Valve: v, Reading: ReadingOf(e.Train(v.Side).Aim()), Marks: Marks{Stamp: mm("2.50")}})
	}
	for name, reading := range readings {
		v, err := ParseValve(name)
		require.NoError(t, err)
		place, found := e.Find(v)
		require.True(t, found, name)
		check[place].Reading = reading
	}
	return check
}

// opened gives the names of the open valves.
func opened(e *Engine, open []bool) string {
	var list []string
	for place, v := range e.Valves() {
		if open[place] {
			list = append(list, v.String())
		}
	}
	return strings.Join(list, " ")
}

func TestOpenByCamshaft(t *testing.T) {
	inline := func() *Engine { return sound(2, 2, 1) }
	vee := func() *Engine {
		e := sound(4, 1, 1)
		e.Banks = [][]int{{1, 3}, {2, 4}}
		return e
	}
	sharedVee := func() *Engine {
		e := vee()
		e.SharedCams = true
		return e
	}
	shared := func() *Engine {
		e := sound(2, 1, 1)
		e.SharedCams = true
		return e
	}
	tight, loose := ReadingOf(mm("0.10")), ReadingOf(mm("0.30"))
	for _, c := range []struct {
		name     string
		engine   *Engine
		lift     string
		readings map[string]Reading
		lifted   string
		open     string
	}{
		{"nothing is out", inline(), "needed", nil, "", ""},
		{"an intake valve is tight", inline(), "needed", map[string]Reading{"in2b": tight}, "intake", "in1a in1b in2a in2b"},
		{"an exhaust valve is loose", inline(), "needed", map[string]Reading{"ex1": loose}, "exhaust", "ex1 ex2"},
		{"both", inline(), "needed", map[string]Reading{"ex1": loose, "in1a": tight}, "intake exhaust", "in1a in1b ex1 in2a in2b ex2"},
		{"at the limits", inline(), "needed", map[string]Reading{"in1a": ReadingOf(mm("0.14")), "ex1": ReadingOf(mm("0.27"))}, "", ""},
		{"no reading proves nothing", inline(), "needed", map[string]Reading{"in1a": {}}, "", ""},
		{"a leaf below the tight limit does not go", inline(), "needed", map[string]Reading{"in1a": {Kind: Below, High: mm("0.05")}}, "intake", "in1a in1b in2a in2b"},
		{"a leaf inside the limits does not go", inline(), "needed", map[string]Reading{"in1a": {Kind: Below, High: mm("0.15")}}, "", ""},
		{"all", inline(), "all", nil, "intake exhaust", "in1a in1b ex1 in2a in2b ex2"},
		{"named though nothing is out", inline(), "exhaust", nil, "exhaust", "ex1 ex2"},
		{"named though another is out", inline(), "exhaust", map[string]Reading{"in1a": tight}, "exhaust", "ex1 ex2"},
		{"named twice, in the engine's order", inline(), "exhaust,intake,exhaust", nil, "intake exhaust", "in1a in1b ex1 in2a in2b ex2"},

		{"the only bank is the first", inline(), "intake-1", nil, "intake", "in1a in1b in2a in2b"},
		{"also of a shared camshaft", shared(), "exhaust-1", nil, "shared", "in1 ex1 in2 ex2"},

		{"one bank is out", vee(), "needed", map[string]Reading{"ex4": loose}, "exhaust-2", "ex2 ex4"},
		{"a side of both banks", vee(), "intake", nil, "intake-1 intake-2", "in1 in2 in3 in4"},
		{"a side of one bank", vee(), "exhaust-1", nil, "exhaust-1", "ex1 ex3"},
		{"one of each", vee(), "exhaust-1 intake-2", nil, "exhaust-1 intake-2", "ex1 in2 ex3 in4"},
		{"all banks", vee(), "all", nil, "intake-1 exhaust-1 intake-2 exhaust-2", "in1 ex1 in2 ex2 in3 ex3 in4 ex4"},

		{"a shared camshaft opens both sides", shared(), "needed", map[string]Reading{"in1": tight}, "shared", "in1 ex1 in2 ex2"},
		{"a side stands for its shared camshaft", shared(), "intake", nil, "shared", "in1 ex1 in2 ex2"},
		{"by its own name", shared(), "shared", nil, "shared", "in1 ex1 in2 ex2"},
		{"shared, one bank is out", sharedVee(), "needed", map[string]Reading{"ex3": loose}, "shared-1", "in1 ex1 in3 ex3"},
		{"shared, both banks by side", sharedVee(), "exhaust", nil, "shared-1 shared-2", "in1 ex1 in2 ex2 in3 ex3 in4 ex4"},
		{"shared, one bank by side", sharedVee(), "exhaust-2", nil, "shared-2", "in2 ex2 in4 ex4"},
		{"shared, both banks by name", sharedVee(), "shared", nil, "shared-1 shared-2", "in1 ex1 in2 ex2 in3 ex3 in4 ex4"},
	} {
		lift, err := ParseLift(c.lift)
		require.NoError(t, err, c.name)
		open, lifted, err := c.engine.Open(lift, inside(t, c.engine, c.readings))
		require.NoError(t, err, c.name)
		assert.Equal(t, c.lifted, strings.Join(lifted, " "), c.name)
		assert.Equal(t, c.open, opened(c.engine, open), c.name)
	}
}

func TestOpenByValve(t *testing.T) {
	e := sound(2, 2, 1)
	e.Access = ByValve
	check := inside(t, e, nil)
	for text, want := range map[string]string{
		"needed":             "in1a in1b ex1 in2a in2b ex2", // every valve is open to a swap
		"all":                "in1a in1b ex1 in2a in2b ex2",
		"IN2B,in1a":          "in1a in2b",
		"ex2":                "ex2",
		"ex2a, ex2":          "ex2",
		"ex1 in1a ex1a in1b": "in1a in1b ex1",
		"intake":             "in1a in1b in2a in2b",
		"exhaust-1,in1b":     "in1b ex1 ex2",
	} {
		lift, err := ParseLift(text)
		require.NoError(t, err, "%q", text)
		open, lifted, err := e.Open(lift, check)
		require.NoError(t, err, "%q", text)
		assert.Equal(t, want, opened(e, open), "%q", text)
		assert.Equal(t, want, strings.Join(lifted, " "), "%q", text)
	}
}

func TestOpenRefuses(t *testing.T) {
	inline, vee, byValve := sound(2, 2, 1), sound(2, 2, 1), sound(2, 2, 1)
	vee.Banks = [][]int{{1}, {2}}
	byValve.Access = ByValve
	shared := sound(2, 1, 1)
	shared.SharedCams = true
	for _, c := range []struct {
		engine *Engine
		lift   string
		bad    string
	}{
		{inline, "intake-2", "intake-2"},
		{inline, "shared", "shared"},
		{inline, "in1a", "in1a"},
		{inline, "intake,rear", "rear"},
		{vee, "intake-3", "intake-3"},
		{vee, "int", "int"},
		{sound(2, 0, 1), "intake", "intake"},
		{shared, "rear", "rear"},
		{byValve, "intake-2", "intake-2"},
		{byValve, "shared", "shared"},
		{byValve, "in1a,in3a", "in3a"},
		{byValve, "in1", "in1"}, // which of two?
		{byValve, "ex1b", "ex1b"},
	} {
		lift, err := ParseLift(c.lift)
		require.NoError(t, err)
		open, lifted, err := c.engine.Open(lift, inside(t, c.engine, nil))
		if assert.Error(t, err, c.lift) {
			assert.Contains(t, err.Error(), `"`+c.bad+`"`)
		}
		assert.Nil(t, open, c.lift)
		assert.Nil(t, lifted, c.lift)
	}
}

func TestAccess(t *testing.T) {
	assert.Equal(t, "camshaft", ByCamshaft.String())
	assert.Equal(t, "valve", ByValve.String())
}
