package report

import (
	"bytes"
	"encoding/csv"
	"encoding/json"
	"errors"
	"fmt"
	"slices"
	"strings"
	"testing"

	"github.com/jedib0t/go-pretty/v6/text"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"shimwright/shim"
	"shimwright/shim/internal/plantest"
	"shimwright/shim/plan"
	"shimwright/shim/recheck"
)

// compared is a comparison of [plantest.FittedTwin] with what was moved.
func compared(t testing.TB, moved map[string]shim.Length) *recheck.Comparison {
	p := plantest.FittedTwin()
	return &recheck.Comparison{Jobs: []recheck.ComparedJob{recheck.Compare(p, 0, plantest.AsExpected(&p.Jobs[0], moved), recheck.Measuring{})}}
}

func TestRecheckOfAWellJob(t *testing.T) {
	c := compared(t, nil)
	require.True(t, c.Well())
	out := textOf(t, Recheck(c), false)
	assert.Contains(t, out, "\nAll 8 valves are inside their limits and, within the doubt, as expected.\n")
	assert.Contains(t, out, "by hand")
	assert.Contains(t, strings.Join(strings.Fields(out), " "), "The manual rules")
	for _, alarm := range []string{"OFF", "TIGHT", "LOOSE", "NOT READY", "happened"} {
		assert.NotContains(t, out, alarm)
	}
}

func TestRecheckSaysWhatHappened(t *testing.T) {
	for name, c := range map[string]struct {
		moved map[string]shim.Length
		want  []string
	}{
		"exchanged":  {map[string]shim.Length{"ex1a": -100, "ex2a": 100}, []string{"OFF by more than the doubt explains: ex1a, ex2a.", "the shims of ex1a and ex2a are exchanged", "ex1a holds 2.600", "ex2a holds 2.500", "Look first: take these shims out"}},
		"two kinds":  {map[string]shim.Length{"in1a": -75}, []string{"(strong): in1a: not seated or wrong size (2.500 for 2.425)", "mic it: if it is not 2.425, record what it is", "Look first: set this valve on its base circle and measure it again"}},
		"two things": {map[string]shim.Length{"in1a": -52, "ex2a": 50}, []string{"the likelier first", "1. ", "2. "}},
		"the gauge":  {map[string]shim.Length{"in1a": 45, "in1b": 45, "ex1a": 45, "ex1b": 45, "in2a": 45, "in2b": 45, "ex2a": 45, "ex2b": 45}, []string{"every reading is off by about +0.045"}},
		"just tight": {map[string]shim.Length{"ex2b": -21}, []string{"1 outside", "None is off by more than the doubt explains.", "no fault shows", "plan again"}},
	} {
		list := compared(t, c.moved)
		require.False(t, list.Well(), name)
		out := strings.Join(strings.Fields(textOf(t, Recheck(list), false)), " ")
		assert.Contains(t, out, "NOT READY: do not start the engine.", name)
		for _, want := range c.want {
			assert.Contains(t, out, want, name)
		}
		// Markdown says the same.
		marked := markdownOf(t, Recheck(list))
		assert.Contains(t, marked, "| in2b |", name)
		assert.Contains(t, marked, "## What comes next", name)
	}
}

// Everything that a fault can be has words, and the sureness too.
func TestRecheckWords(t *testing.T) {
	c := compared(t, nil)
	j := comparison{&c.Jobs[0]}
	v := func(names ...string) (list []shim.Valve) {
		for _, name := range names {
			valve, err := shim.ParseValve(name)
			require.NoError(t, err)
			list = append(list, valve)
		}
		return list
	}
	for want, f := range map[string]recheck.Fault{
		"3 shims lie in each other's valves: in1a holds 2.400, in1b holds 2.500, ex1a holds 2.600":  {Kind: recheck.Exchanged, Valves: v("in1a", "in1b", "ex1a"), Sizes: []shim.Length{2_400_000, 2_500_000, 2_600_000}},
		"the shim that went from ex2a to ex1a is not 2.500 but 2.475":                               {Kind: recheck.WrongSize, Valves: v("ex1a", "ex2a"), Sizes: []shim.Length{2_475_000}},
		"in1a, in1b, of one crank position, are tight together, by about +0.050":                    {Kind: recheck.OffBase, Valves: v("in1a", "in1b"), Shift: 50_400},
		"in1a, in1b, of one crank position, are tight together, by about -0.050: cams off the base": {Kind: recheck.OffBase, Valves: v("in1a", "in1b"), Shift: -50_400},
		"in1a, ex1a, which got a new shim, are too tight by about the same, -0.040: the old shims":  {Kind: recheck.Hollow, Valves: v("in1a", "ex1a"), Shift: -40_400},
	} {
		assert.Contains(t, j.what([]recheck.Fault{f}), want)
	}
	wrong := recheck.Fault{Kind: recheck.WrongSize, Valves: v("ex1a"), Sizes: []shim.Length{2_475_000}, Shift: 25_000}
	loose, tight := recheck.Fault{Kind: recheck.Unseated, Valves: v("ex1a"), Shift: 30_000}, recheck.Fault{Kind: recheck.Unseated, Valves: v("ex1a"), Shift: -30_000}
	assert.Equal(t, "ex1a: wrong size (2.475 for 2.500) or held off its seat", j.what([]recheck.Fault{wrong, loose}))
	assert.Contains(t, j.what([]recheck.Fault{tight, wrong}), "ex1a: not seated or wrong size (2.475 for 2.500)")
	wrong.AtLeast = true
	assert.Contains(t, j.what([]recheck.Fault{wrong, loose}), "wrong size (2.475 or thinner for 2.500)")
	assert.Equal(t, "strong likely possible weak", strings.Join([]string{recheck.Sureness(0.9), recheck.Sureness(0.6), recheck.Sureness(0.25), recheck.Sureness(0.2)}, " "))
	assert.Equal(t, "over 99 %, 99 %, 50 %, under 1 %", strings.Join([]string{percent(0.999), percent(0.99), percent(0.5), percent(0.001)}, ", "))
}

// What recheck prints fits a line, whatever the names and the units are.
func TestRecheckFitsALine(t *testing.T) {
	eachAwkward(t, func(t *testing.T, p *plan.Plan) {
		c := &recheck.Comparison{}
		for i := range p.Jobs {
			if i > 0 && testing.Short() {
				break // the search among 16 cylinders is the long part
			}
			check := plantest.AsExpected(&p.Jobs[i], nil)
			for k := range min(8, len(check)) {
				switch k % 4 {
				case 0:
					check[k].Reading = shim.Reading{Kind: shim.Bracket, Low: 123_456, High: 234_567}
				case 1:
					check[k].Reading = shim.Reading{Kind: shim.Below, High: 101_600}
					check[k].Stamp, check[k].Mic = 2_512_345, 2_412_345
				case 2:
					check[k].Reading = shim.Reading{}
				}
			}
			c.Jobs = append(c.Jobs, recheck.Compare(p, i, check, recheck.Measuring{}))
		}
		plain := textOf(t, Recheck(c), false)
		for _, line := range strings.Split(plain, "\n") {
			assert.LessOrEqual(t, text.StringWidth(line), LineWidth, "%q", line)
			assert.Equal(t, strings.TrimRight(line, " "), line, "%q", line)
		}
		colored := textOf(t, Recheck(c), true)
		assert.Equal(t, plain, escapes.ReplaceAllString(colored, ""))
	})
}

// The contract of docs/recheck.md: these fields in this order, no others.
var recheckContract = map[string][]string{
	"":       {"well", "jobs", "cautions"},
	"jobs[]": {"job", "engine", "well", "valves", "explanations", "suspects"},
	"jobs[].valves[]": {
		"valve", "tight_mm", "loose_mm", "shim_mm", "expected_mm", "measured_mm", "reading", "difference_mm", "bound_mm", "off", "beyond", "verdict",
	},
	"jobs[].explanations[]":          {"probability", "sure", "faults"},
	"jobs[].explanations[].faults[]": {"kind", "valves", "sizes_mm", "shift_mm", "look"},
	"jobs[].suspects[]":              {"valve", "reason", "value_mm", "look"},
}

func TestRecheckJSONFields(t *testing.T) {
	c := compared(t, map[string]shim.Length{"ex1a": -100, "ex2a": 100})
	v, err := shim.ParseValve("in1a")
	require.NoError(t, err)
	c.Jobs[0].Suspects = []recheck.Suspicion{{Valve: v, Reason: recheck.FarClearance, Value: 300_000}}
	var out bytes.Buffer
	require.NoError(t, RecheckJSON(&out, c))
	found := keys(t, out.Bytes())
	for path, objects := range found {
		for _, names := range objects {
			assert.Equal(t, recheckContract[path], names, "in %q", path)
		}
	}
	for path := range recheckContract {
		assert.NotEmpty(t, found[path], "no %q in the example", path)
	}
}

func TestRecheckJSONValues(t *testing.T) {
	p := plantest.FittedTwin()
	check := plantest.AsExpected(&p.Jobs[0], map[string]shim.Length{"ex1a": -100, "ex2a": 100})
	check[0].Reading = shim.Reading{Kind: shim.Below, High: 90_000}
	check[1].Reading = shim.Reading{}
	var out bytes.Buffer
	require.NoError(t, RecheckJSON(&out, &recheck.Comparison{Jobs: []recheck.ComparedJob{recheck.Compare(p, 0, check, recheck.Measuring{})}}))
	var got struct {
		Well bool
		Jobs []struct {
			Job, Engine  string
			Well         bool
			Valves       []map[string]any
			Explanations []struct {
				Probability float64
				Sure        string
				Faults      []map[string]any
			}
			Suspects []any
		}
		Cautions []string
	}
	require.NoError(t, json.Unmarshal(out.Bytes(), &got))
	require.Len(t, got.Jobs, 1)
	job := got.Jobs[0]
	assert.False(t, got.Well || job.Well)
	assert.Equal(t, "Dunlin 500", job.Engine)
	assert.Equal(t, shim.Cautions, got.Cautions)
	assert.NotNil(t, job.Suspects)
	valve := func(i int) map[string]any {
		delete(job.Valves[i], "bound_mm") // its figure is package recheck's
		return job.Valves[i]
	}
	require.Positive(t, job.Valves[2]["bound_mm"])
	require.Nil(t, job.Valves[1]["bound_mm"])
	assert.Equal(t, map[string]any{"valve": "ex1a", "tight_mm": 0.1, "loose_mm": 0.2, "shim_mm": 2.5, "expected_mm": 0.15, "measured_mm": 0.05, "reading": "0.05", "difference_mm": -0.1, "off": true, "beyond": true, "verdict": "tight"}, valve(2))
	assert.Equal(t, map[string]any{"valve": "in1a", "tight_mm": 0.1, "loose_mm": 0.2, "shim_mm": 2.425, "expected_mm": 0.145, "measured_mm": nil, "reading": "<0.09", "difference_mm": nil, "off": true, "beyond": true, "verdict": "tight"}, valve(0))
	assert.Equal(t, map[string]any{"valve": "in1b", "tight_mm": 0.1, "loose_mm": 0.2, "shim_mm": 2.45, "expected_mm": 0.15, "measured_mm": nil, "reading": "", "difference_mm": nil, "off": false, "beyond": false, "verdict": "unmeasured"}, valve(1))
	require.NotEmpty(t, job.Explanations)
	e := job.Explanations[0]
	assert.True(t, e.Probability > 0 && e.Probability <= 1, e.Probability)
	found := false
	for _, f := range e.Faults {
		if f["kind"] == "exchanged" {
			found = true
			assert.Equal(t, []any{"ex1a", "ex2a"}, f["valves"])
			assert.Equal(t, []any{2.6, 2.5}, f["sizes_mm"])
			assert.InDelta(t, -0.1, f["shift_mm"], 1e-9)
			assert.NotEmpty(t, f["look"])
		}
	}
	assert.True(t, found, "%v", e.Faults)
}

func TestRecheckCSV(t *testing.T) {
	c := compared(t, map[string]shim.Length{"in1b": -120})
	c.Jobs[0].Job = "7"
	var out bytes.Buffer
	require.NoError(t, RecheckCSV(&out, c))
	rows, err := csv.NewReader(&out).ReadAll()
	require.NoError(t, err)
	require.Len(t, rows, 9)
	valve := slices.DeleteFunc(slices.Clone(recheckContract["jobs[].valves[]"]), func(name string) bool { return name == "beyond" })
	assert.Equal(t, slices.Concat([]string{"job", "engine"}, valve, []string{"undecided", "beyond"}), rows[0], "columns that came later stand last")
	bound := c.Jobs[0].Valves[1].Bound.String()
	assert.Equal(t, []string{"7", "Dunlin 500", "in1b", "0.1", "0.2", "2.45", "0.15", "0.03", "0.03", "-0.12", bound, "true", "tight", "false", "true"}, rows[2])
	full := errors.New("no space left")
	for n := range 3 {
		assert.ErrorIs(t, RecheckCSV(&failingWriter{n * 1000, full}, longComparison(t)), full, fmt.Sprint(n))
	}
	assert.ErrorIs(t, RecheckJSON(&failingWriter{0, full}, c), full)
}

// longComparison is one that no buffer holds.
func longComparison(t testing.TB) *recheck.Comparison {
	c := compared(t, nil)
	for len(c.Jobs) < 100 {
		c.Jobs = append(c.Jobs, c.Jobs[0])
	}
	return c
}

// A failingWriter takes so many bytes and no more.
type failingWriter struct {
	left int
	err  error
}

func (w *failingWriter) Write(p []byte) (int, error) {
	if w.left -= len(p); w.left < 0 {
		return 0, w.err
	}
	return len(p), nil
}

// One leaf beyond the doubt, where none going wrong is still the likeliest: the
// table has ok?, and head, next step, JSON and CSV say the same.
func TestRecheckBeyondTheDoubtWithoutAFault(t *testing.T) {
	found := false
	for by := shim.Length(1); by < 40 && !found; by++ {
		p, gauge := plantest.FittedTwin(), shim.UsualGauge
		gauge.Used = 0 // stated, for used shims too
		c := &recheck.Comparison{Jobs: []recheck.ComparedJob{recheck.Compare(p, 0,
			plantest.AsExpected(&p.Jobs[0], map[string]shim.Length{"ex2a": -by}), recheck.Measuring{Gauge: &gauge})}}
		v := &c.Jobs[0].Valves[6]
		require.Equal(t, "ex2a", v.Valve.String())
		if !v.Beyond || v.Off || v.Verdict != shim.OK {
			continue
		}
		found = true
		require.True(t, c.Well())
		out := strings.Join(strings.Fields(textOf(t, Recheck(c), false)), " ")
		assert.NotContains(t, out, "within the doubt, as expected")
		assert.Contains(t, out, "further from the plan than the doubt explains, but most likely no fault: ex2a.")
		assert.Contains(t, out, "Measure ex2a once more")
		assert.Contains(t, out, " ok?")
		var doc, rows bytes.Buffer
		require.NoError(t, RecheckJSON(&doc, c))
		assert.Contains(t, doc.String(), `"beyond": true`)
		require.NoError(t, RecheckCSV(&rows, c))
		list, err := csv.NewReader(&rows).ReadAll()
		require.NoError(t, err)
		assert.Equal(t, "beyond", list[0][len(list[0])-1])
		assert.Equal(t, "true", list[7][len(list[7])-1])
		assert.Equal(t, "false", list[1][len(list[1])-1])
	}
	require.True(t, found)
}

// A valve held off its seat is lower, so what opens the gap at the opener closes it at
// the closer (geometry, from memory).
func TestRecheckWordsOfACloser(t *testing.T) {
	c := compared(t, nil)
	j := comparison{&c.Jobs[0]}
	opener := j.Valves[0].Valve
	closer := opener
	closer.Closer = true
	of := func(v shim.Valve, shift shim.Length) (string, string) {
		f := recheck.Fault{Kind: recheck.Unseated, Valves: []shim.Valve{v}, Shift: shift}
		return j.what([]recheck.Fault{f}), f.Look()
	}
	for _, c := range []struct {
		valve shim.Valve
		shift shim.Length
		seat  bool // whether the valve may hang open
		rings bool
	}{
		{opener, 80_000, true, false}, {opener, -80_000, false, false}, {closer, 80_000, false, false}, {closer, -80_000, true, true},
	} {
		what, look := of(c.valve, c.shift)
		assert.Equal(t, c.seat, strings.Contains(what, "held off its seat"), what)
		assert.Equal(t, c.seat, strings.Contains(look, "dirt on the"), look)
		assert.Equal(t, c.rings, strings.Contains(what, "half rings"), what)
		assert.Equal(t, c.rings, strings.Contains(look, "half rings"), look)
		if c.valve.Closer {
			assert.NotContains(t, what+look, "bucket")
		}
	}
}

// On a terminal too narrow for columns a row reads as a sentence.
func TestNarrowRecheck(t *testing.T) {
	c := compared(t, map[string]shim.Length{"in1a": -90})
	d := Recheck(c)
	for i := range d.Sections {
		if t := d.Sections[i].Table; t != nil {
			t.Rows[1][1], t.Narrower[1].Rows[1][1] = "in1b.closer", "in1b.closer" // too long for 30 places
		}
	}
	var b strings.Builder
	require.NoError(t, d.Narrow(30).Text(&b, false))
	assert.NotContains(t, b.String(), "as expected ok")
	assert.Regexp(t, `(?m)^> in1a: 0\.\d+, (TIGHT|ok);`, b.String())
	assert.Contains(t, strings.Join(strings.Fields(b.String()), " "), ", OFF")
	assert.Regexp(t, `(?m)^in1b\.closer: 0\.\d+, ok;`, b.String())
}

// A leaf that does not go says that the gap is smaller, not by how much.
func TestRecheckOfABoundSaysOrMore(t *testing.T) {
	p := plantest.FittedTwin()
	check := plantest.AsExpected(&p.Jobs[0], nil)
	check[6].Reading = shim.Reading{Kind: shim.Below, High: 40_000}
	c := &recheck.Comparison{Jobs: []recheck.ComparedJob{recheck.Compare(p, 0, check, recheck.Measuring{})}}
	out := strings.Join(strings.Fields(textOf(t, Recheck(c), false)), " ")
	assert.Regexp(t, `ex2a is off on its own, by -0\.1[0-9]* or more:`, out)
	var doc bytes.Buffer
	require.NoError(t, RecheckJSON(&doc, c))
	assert.Contains(t, doc.String(), `"at_least": true`)
}

// What comes next names the leaf to try where a bracket lies across a limit, and
// asks for a number only where there is none.
func TestRecheckNextOfAnUndecidedValve(t *testing.T) {
	p := plantest.FittedTwin()
	check := plantest.AsExpected(&p.Jobs[0], nil)
	l := p.Jobs[0].Valves[6].Limits
	check[6].Reading = shim.Reading{Kind: shim.Bracket, Low: l.Tight - 10_000, High: l.Tight + 40_000}
	c := &recheck.Comparison{Jobs: []recheck.ComparedJob{recheck.Compare(p, 0, check, recheck.Measuring{})}}
	require.False(t, c.Jobs[0].Faulty())
	out := strings.Join(strings.Fields(textOf(t, Recheck(c), false)), " ")
	assert.Contains(t, out, "Try the leaf that decides at ex2a, and recheck again.")
	assert.NotContains(t, out, "without a number")
}
