package shim

import (
	"encoding/json"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

func celsius(t *testing.T, text string) Temperature {
	t.Helper()
	got, err := ParseCelsius(text)
	require.NoError(t, err)
	return got
}

// Volvo B5254T2: clearance against 20 C by the temperature of the engine: 15 -0.01,
// 25 +0.01, 30 +0.02, 35 +0.03, 45 +0.04 mm (seen; nothing is said of 40). That
// between two rows it is in proportion, and open by half of what they differ by, is
// the project's own rule.
func TestVolvoTable(t *testing.T) {
	e := &Engine{Before: &Before{Temperature: &Window{celsius(t, "18"), celsius(t, "22")}}}
	for _, row := range [][2]string{{"15", "-0.01"}, {"20", "0"}, {"25", "0.01"}, {"30", "0.02"}, {"35", "0.03"}, {"45", "0.04"}} {
		e.Before.Corrections = append(e.Before.Corrections, Correction{celsius(t, row[0]), mm(row[1])})
	}
	key, err := e.Before.validate()
	require.NoError(t, err, key)
	for _, c := range []struct {
		at, reading, want, open string
		note                    TemperatureNote
	}{
		{"15", "0.19", "0.20", "0.005", Converted},
		{"20", "0.20", "0.20", "0", InsideWindow},
		{"22", "0.20", "0.20", "0", InsideWindow}, // inside the window nothing is converted
		{"25", "0.21", "0.20", "0.005", Converted},
		{"30", "0.22", "0.20", "0.005", Converted},
		{"31", "0.222", "0.20", "0.005", Converted},
		{"35", "0.23", "0.20", "0.005", Converted},
		{"40", "0.235", "0.20", "0.005", Converted},
		{"45", "0.24", "0.20", "0.005", Converted},
		{"30", "0.20-0.24", "0.18-0.22", "0.005", Converted},
		{"30", "0.22/0.23", "0.20/0.21", "0.005", Converted},
		{"30", "<0.05", "<0.03", "0.005", Converted},
		{"30", ">0.60", ">0.58", "0.005", Converted},
		{"46", "0.24", "0.24", "0.048", NotConverted}, // the table does not reach: 24 K outside, 0.002 for each
		{"-5", "0.24", "0.24", "0.046", NotConverted},
	} {
		r, err := ParseReading(c.reading, MM)
		require.NoError(t, err)
		got, note := e.AtLimits(Measurement{Reading: r, Temperature: celsius(t, c.at)})
		assert.Equal(t, c.note, note, c.at)
		assert.Equal(t, c.want, got.Reading.AsCounted().Format(MM), c.at)
		assert.Equal(t, mm(c.open), got.Reading.Open, c.at)
		again, _ := e.AtLimits(got)
		assert.Equal(t, got, again, "%s: converting twice changes nothing", c.at)
	}
	e.Before.Corrections = nil
	got, note := e.AtLimits(Measurement{Reading: ReadingOf(mm("0.22")), Temperature: celsius(t, "30")})
	assert.Equal(t, NotConverted, note)
	assert.Equal(t, "0.22", got.Reading.Format(MM), "without a table nothing is converted")
	assert.Equal(t, mm("0.016"), got.Reading.Open, "and the doubt is wider")
	assert.False(t, got.Reading.Converted())
	got, note = e.AtLimits(Measurement{Reading: ReadingOf(mm("0.22"))})
	assert.Equal(t, InsideWindow, note, "nobody knows the temperature")
	assert.Equal(t, ReadingOf(mm("0.22")), got.Reading)
}

// Audi DR: cold 0.20 and 0.40 mm, warm 0.25 and 0.45, each plus or minus 0.05 (seen).
func TestStates(t *testing.T) {
	warm := limits("0.20", "0.30")
	e := &Engine{Name: "DR", Intake: Train{Valves: 1, Limits: limits("0.15", "0.25"), OtherLimits: &warm}, Exhaust: Train{Valves: 1, Limits: limits("0.35", "0.45")}}
	_, err := e.In(Warm)
	assert.ErrorContains(t, err, "no exhaust limits for a warm engine")
	assert.Contains(t, HintOf(err), "[exhaust.warm]")
	exhaust := limits("0.40", "0.50")
	e.Exhaust.OtherLimits = &exhaust
	same, err := e.In(Cold)
	require.NoError(t, err)
	assert.Same(t, e, same)
	w, err := e.In(Warm)
	require.NoError(t, err)
	r := ReadingOf(mm("0.17"))
	assert.Equal(t, OK, e.Train(Intake).Judge(r))
	assert.Equal(t, Tight, w.Train(Intake).Judge(r))
	assert.Equal(t, limits("0.15", "0.25"), e.Intake.Limits, "the engine itself stays")
	back, err := w.In(Cold)
	require.NoError(t, err)
	assert.Equal(t, e, back)

	data, err := json.Marshal(w)
	require.NoError(t, err)
	assert.Contains(t, string(data), `"State":"warm"`)
	var read Engine
	require.NoError(t, json.Unmarshal(data, &read))
	assert.Equal(t, *w, read)
}

func TestCelsius(t *testing.T) {
	for _, text := range []string{"-40", "0", "20", "31.5", "200"} {
		at := celsius(t, text)
		assert.Equal(t, text, at.Celsius())
		data, err := json.Marshal(at)
		require.NoError(t, err)
		assert.Equal(t, text, string(data))
		var back Temperature
		require.NoError(t, json.Unmarshal(data, &back))
		assert.Equal(t, at, back)
	}
	for _, text := range []string{"", "warm", "-41", "201", "20 C", "1e1"} {
		_, err := ParseCelsius(text)
		assert.Error(t, err, text)
	}
}

// The maker's table is of gaps that a cam or rocker leaves; a closer's is not
// converted, and one file has no limits for closers in another state.
func TestClosersKeepTheirState(t *testing.T) {
	warm := limits("0.20", "0.30")
	e := &Engine{Name: "closed", Intake: Train{Valves: 1, Limits: limits("0.15", "0.25"), OtherLimits: &warm, Closer: &Closer{Limits: limits("0", "0.05")}},
		Before: &Before{Temperature: &Window{celsius(t, "15"), celsius(t, "25")}, Corrections: []Correction{{celsius(t, "20"), 0}, {celsius(t, "40"), mm("0.04")}}}}
	_, err := e.In(Warm)
	assert.ErrorContains(t, err, "closers for a cold engine alone")
	opener := Measurement{Valve: Valve{Side: Intake, Cylinder: 1}, Reading: ReadingOf(mm("0.20")), Temperature: celsius(t, "30")}
	got, note := e.AtLimits(opener)
	assert.Equal(t, Converted, note)
	assert.Equal(t, "0.18", got.Reading.AsCounted().Format(MM))
	opener.Valve.Closer = true
	got, note = e.AtLimits(opener)
	assert.Equal(t, NotConverted, note)
	assert.Equal(t, "0.2", MM.Format(got.Reading.Low), "by nobody knows how much")
	assert.Equal(t, mm("0.01"), got.Reading.Open)
}

// A loaded gap keeps the opener's gap that it is reduced by, whatever is asked of it.
func TestLoadedGapStays(t *testing.T) {
	loaded, ok := LoadedLess(ReadingOf(mm("0.152")), ReadingOf(mm("0.101")), UsualGauge)
	require.True(t, ok)
	for _, r := range []Reading{loaded, loaded.Joined(), loaded.Against(UsualGauge), loaded.Shift(0)} {
		got, number := r.Estimate()
		assert.True(t, number)
		assert.Equal(t, mm("0.051"), got) // ducatitech.com, 2v maintenance
	}
}

// What is shown is what was read, and the leaf that decides is that of the engine
// as warm as it was: at 28 °C the tight limit of 0.10 is a gap of 0.116 (Volvo
// B5254T2: 0.01 at 25 °C, 0.02 at 30).
func TestDecidingLeafWhereItWasRead(t *testing.T) {
	e := &Engine{Before: &Before{
		Temperature: &Window{celsius(t, "15"), celsius(t, "25")},
		Corrections: []Correction{{celsius(t, "15"), -mm("0.01")}, {celsius(t, "25"), mm("0.01")}, {celsius(t, "30"), mm("0.02")}},
	}}
	r, err := ParseReading("0.10-0.14", MM)
	require.NoError(t, err)
	m, note := e.AtLimits(Measurement{Reading: r, Temperature: celsius(t, "28")})
	require.Equal(t, Converted, note)
	limits := Limits{mm("0.10"), mm("0.20")}
	assert.Equal(t, "try the 0.116 leaf with the engine as warm as it was, or the 0.10 leaf inside the window: inside if it goes, tight if not", limits.Deciding(m.Reading, MM))
	assert.Equal(t, "0.10-0.14", m.Reading.Format(MM))
	assert.Equal(t, r, m.Reading.AsRead())
	second, err := ParseReading("0.09/0.15", MM)
	require.NoError(t, err)
	m, _ = e.AtLimits(Measurement{Reading: second, Temperature: celsius(t, "28")})
	assert.Equal(t, "a third reading decides: 0.09 (counts as 0.074) is tight, 0.15 (counts as 0.134) is inside", limits.Deciding(m.Reading, MM))
}

// Gaps at two temperatures are taken off each other inside the window, or at one; where
// the file has no window, as far apart as a cold shop is from itself.
func TestAsWarm(t *testing.T) {
	window := &Before{Temperature: &Window{celsius(t, "15"), celsius(t, "25")}}
	for _, c := range []struct {
		before     *Before
		one, other string // "" is not known
		want       bool
	}{
		{window, "15", "25", true}, {window, "20", "26", false}, {window, "26", "26", true}, {window, "", "20", true}, {window, "", "26", false},
		{nil, "15", "25", true}, {nil, "15", "25.001", false}, {nil, "5", "60", false}, {nil, "60", "60", true}, {nil, "", "60", true}, {nil, "", "", true},
		{&Before{Turns: 2}, "25.001", "15", false}, {&Before{Turns: 2}, "25", "15", true},
	} {
		at := func(text string) (got Temperature) {
			if text != "" {
				got = celsius(t, text)
			}
			return got
		}
		e := &Engine{Before: c.before}
		assert.Equal(t, c.want, e.AsWarm(at(c.one), at(c.other)), "%q %q", c.one, c.other)
		assert.Equal(t, c.want, e.AsWarm(at(c.other), at(c.one)), "%q %q", c.other, c.one)
	}
}
