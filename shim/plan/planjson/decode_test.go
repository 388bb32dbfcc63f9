package planjson

import (
	"bytes"
	"errors"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"shimwright/shim"
	"shimwright/shim/plan"
	"shimwright/shim/recheck"
)

// onePlan is the plan of a single with two valves, by hand; its ratio is 0.7.
const onePlan = `{"jobs": [{"job": "7", "engine": "Plover 250", "lifted": ["intake", "exhaust"], "valves": [
{"valve": "ex1", "tight_mm": 0.1, "loose_mm": 0.2, "clearance_mm": 0.15, "installed_mm": 2.5, "open": true, "action": "keep", "shim_mm": 2.5, "from": null, "predicted_mm": 0.15},
{"valve": "in1", "tight_mm": 0.1, "loose_mm": 0.2, "clearance_mm": 0.08, "installed_mm": 2.5, "open": true, "action": "buy", "shim_mm": 2.4, "from": null, "predicted_mm": 0.15}
]}]}`

func TestDecode(t *testing.T) {
	p, err := Decode("plan.json", strings.NewReader(onePlan))
	require.NoError(t, err)
	require.Len(t, p.Jobs, 1)
	j := p.Jobs[0]
	assert.Equal(t, "7", j.Job)
	e := j.Engine
	assert.Empty(t, e.Validate(), "the engine must be sound")
	assert.Equal(t, shim.Ratio{Times: 700_000}, e.Intake.Ratio, "0.07 mm by 0.1 mm of shim")
	assert.Equal(t, shim.Ratio{Times: shim.One}, e.Exhaust.Ratio, "nothing changes there")
	assert.Equal(t, shim.Limits{Tight: 100_000, Loose: 200_000}, e.Intake.Limits)
	in := j.Valves[0]
	assert.Equal(t, "in1", in.Valve.String(), "in the engine's order")
	assert.True(t, in.Changed() && in.Open && in.Measured)
	assert.Equal(t, shim.ReadingOf(80_000), in.Reading)
	assert.Equal(t, 2400*shim.Micrometre, in.Size)
	assert.False(t, j.Valves[1].Changed())
}

// Fields that a plan may have or not: what is not known is skipped.
func TestDecodeOptional(t *testing.T) {
	text := strings.Replace(onePlan, `"predicted_mm": 0.15}
]`, `"predicted_mm": 0.15, "uncertainty_mm": 0.031, "probability": 0.9, "reading": "0.07-0.09", "miked": true, "colour": {"of": ["the", 1]}}
]`, 1)
	text = strings.Replace(text, `{"jobs"`, `{"provisional": true, "more": null, "jobs"`, 1)
	p, err := Decode("plan.json", strings.NewReader(text))
	require.NoError(t, err)
	v := p.Jobs[0].Valves[0]
	assert.True(t, p.Jobs[0].Provisional)
	assert.Equal(t, shim.Reading{Kind: shim.Bracket, Low: 70_000, High: 90_000}, v.Reading)
	assert.Equal(t, shim.Length(31_000), v.Uncertainty)
	assert.True(t, v.Miked)

	// 0.003 and 0.0033 in; their middle in mm.
	text = strings.NewReplacer(`"clearance_mm": 0.08`, `"clearance_mm": 0.08001`, `"predicted_mm": 0.15}
]`, `"predicted_mm": 0.15001, "reading": "0.003-0.0033"}
]`).Replace(onePlan)
	p, err = Decode("plan.json", strings.NewReader(text))
	require.NoError(t, err)
	assert.Equal(t, shim.Reading{Kind: shim.Bracket, Low: 76_200, High: 83_820}, p.Jobs[0].Valves[0].Reading)
}

// A text that is no plan of ours gives one line that says what and where.
func TestDecodeFaults(t *testing.T) {
	swap := func(old, new string) string {
		require.Contains(t, onePlan, old)
		return strings.Replace(onePlan, old, new, 1)
	}
	for name, c := range map[string]struct{ text, want string }{
		"nothing":         {"", "line 1 is not JSON"},
		"a check":         {"valve,clearance\nin1,0.15\n", "line 1 is not JSON"},
		"two plans":       {onePlan + onePlan, "line 4 is not JSON"},
		"a list":          {"[]", "found array, want an object"},
		"other JSON":      {`{"name": "x"}`, "it has no jobs"},
		"null":            {"null", "it has no jobs"},
		"no jobs":         {`{"jobs": []}`, "it has no jobs"},
		"a job of text":   {`{"jobs": ["x"]}`, "jobs[0]: found string, want an object"},
		"nameless":        {swap(`"Plover 250"`, `" "`), "jobs[0]: it names no engine"},
		"engine a number": {swap(`"Plover 250"`, `250`), "jobs[0]: found number, want engine"},
		"no valves":       {`{"jobs": [{"engine": "x", "valves": []}]}`, "jobs[0]: it has no valves"},
		"units":           {swap(`"job": "7"`, `"units": "ell"`), "jobs[0]: "},
		"no limits":       {swap(`"tight_mm": 0.1, `, ""), "jobs[0]: valves[0]: tight_mm is missing"},
		"null limits":     {swap(`"tight_mm": 0.1`, `"tight_mm": null`), "jobs[0]: valves[0]: tight_mm is missing"},
		"limits as text":  {swap(`"tight_mm": 0.1`, `"tight_mm": "0.1"`), "jobs[0]: valves[0]: "},
		"limits crossed":  {swap(`"tight_mm": 0.1`, `"tight_mm": 0.3`), "jobs[0]: exhaust"},
		"no valve":        {swap(`"valve": "in1"`, `"valve": "inlet"`), "jobs[0]: valves[1]: "},
		"valve twice":     {swap(`"valve": "in1"`, `"valve": "ex1"`), "jobs[0]: ex1 is there twice"},
		"valve missing":   {swap(`"valve": "in1"`, `"valve": "in2"`), "jobs[0]: valve in1 is missing"},
		"cylinder 999999": {swap(`"valve": "in1"`, `"valve": "in999999"`), "jobs[0]: "},
		"no shim":         {swap(`"open": true, "action": "buy", "shim_mm": 2.4`, `"open": true, "action": "buy", "shim_mm": null`), "jobs[0]: valves[1]: in1: its shim changes but is not known"},
		"shim of 25":      {swap(`"installed_mm": 2.5`, `"installed_mm": 25`), "jobs[0]: valves[0]: ex1: 25 mm is not a plausible shim size"},
		"keep another":    {swap(`"shim_mm": 2.5`, `"shim_mm": 2.6`), "jobs[0]: valves[0]: ex1: its shim stays but changes"},
		"action":          {swap(`"keep"`, `"grind"`), `jobs[0]: valves[0]: ex1: unknown action "grind"`},
		"swap from none":  {swap(`"buy"`, `"swap"`), "jobs[0]: valves[1]: in1: from is missing"},
		"closed":          {swap(`"open": true, "action": "buy"`, `"open": false, "action": "buy"`), "jobs[0]: valves[1]: in1: its shim changes but the valve is not open"},
		"half measured":   {swap(`"predicted_mm": 0.15`, `"predicted_mm": null`), "jobs[0]: valves[0]: ex1: of clearance_mm and predicted_mm one is missing"},
		"clearance":       {swap(`"clearance_mm": 0.15`, `"clearance_mm": 1.5`), "jobs[0]: valves[0]: ex1: 1.5 mm is not a plausible clearance"},
		"predicted far":   {swap(`"predicted_mm": 0.15}`+"\n", `"predicted_mm": 150}`+"\n"), "jobs[0]: valves[1]: in1: 150 mm is not a plausible clearance"},
		"no follow":       {swap(`"predicted_mm": 0.15}`, `"predicted_mm": 0.16}`), "ex1: a clearance of 0.16 mm does not follow"},
		"no effect":       {swap(`"clearance_mm": 0.08`, `"clearance_mm": 0.15`), "Plover 250: a ratio of 0 is not possible"},
		"reading":         {swap(`"predicted_mm": 0.15}`, `"predicted_mm": 0.15, "reading": "0.1-0.12"}`), `the reading "0.1-0.12" is not the clearance of 0.15 mm`},
		"uncertainty":     {swap(`"predicted_mm": 0.15}`, `"predicted_mm": 0.15, "uncertainty_mm": -1}`), "-1 mm is not a plausible uncertainty"},
	} {
		p, err := Decode("plan.json", strings.NewReader(c.text))
		assert.Nil(t, p, name)
		require.ErrorIs(t, err, ErrNotPlan, name)
		assert.Contains(t, err.Error(), c.want, name)
		assert.True(t, strings.HasPrefix(err.Error(), "plan.json: this is not a plan: "), "%s: %v", name, err)
		assert.NotContains(t, err.Error(), "\n", name)
	}
	twice := strings.Replace(onePlan, `]}]}`, `]},`+onePlan[strings.Index(onePlan, `{"job": "7"`):strings.LastIndex(onePlan, `]}`)]+`]}`, 1)
	_, err := Decode("plan.json", strings.NewReader(twice))
	require.ErrorContains(t, err, "jobs[1]: duplicate job")
	other := strings.Replace(strings.Replace(twice, `"7"`, `"6"`, 1), `"loose_mm": 0.2`, `"loose_mm": 0.3`, 1)
	_, err = Decode("plan.json", strings.NewReader(other))
	require.ErrorContains(t, err, "jobs[1]: Plover 250 is another engine than in the job before")

	failing := errors.New("the disk is gone")
	_, err = Decode("plan.json", &failingReader{failing})
	require.ErrorIs(t, err, failing)
	assert.NotErrorIs(t, err, ErrNotPlan)
}

type failingReader struct{ err error }

func (r *failingReader) Read([]byte) (int, error) { return 0, r.err }

func TestDecodeRefusesAnotherEngine(t *testing.T) {
	told, err := Decode("plan.json", strings.NewReader(onePlan))
	require.NoError(t, err)
	like := func(change func(e *shim.Engine)) *shim.Engine {
		e := *told.Jobs[0].Engine
		change(&e)
		return &e
	}
	good := like(func(e *shim.Engine) { e.Name = "  plover   250"; e.Exhaust.Ratio = shim.Ratio{Times: 2 * shim.One} })
	p, err := Decode("plan.json", strings.NewReader(onePlan), good)
	require.NoError(t, err)
	assert.Same(t, good, p.Jobs[0].Engine)
	withRatio := strings.NewReplacer(`"predicted_mm": 0.15}`, `"predicted_mm": 0.15, "ratio": "0.7"}`).Replace(onePlan)
	_, err = Decode("plan.json", strings.NewReader(withRatio), good)
	require.ErrorContains(t, err, "of another ratio: 0.7 at ex1, in the engine file 2", "told, although nothing changes there")
	for want, e := range map[string]*shim.Engine{
		"is of Plover 250, not of Dunlin 500": like(func(e *shim.Engine) { e.Name = "Dunlin 500" }),
		"valve in2 is missing":                like(func(e *shim.Engine) { e.Cylinders = 2 }),
		"limits of 0.1 to 0.2 mm at in1":      like(func(e *shim.Engine) { e.Intake.Loose += 1000 }),
		"of another ratio":                    like(func(e *shim.Engine) { e.Intake.Ratio = shim.Ratio{Times: shim.One} }),
	} {
		_, err := Decode("plan.json", strings.NewReader(onePlan), e)
		require.ErrorContains(t, err, want)
		var other *OtherEngineError
		require.ErrorAs(t, err, &other)
		assert.Same(t, e, other.Engine)
	}
}

func unseen(j *plan.JobPlan) bool {
	return slices.ContainsFunc(j.Valves, func(v plan.ValvePlan) bool { return v.Installed == 0 })
}

func FuzzDecode(f *testing.F) {
	f.Add([]byte(onePlan))
	f.Add([]byte(`{"jobs": [{"engine": "x", "lifted": ["in1"], "valves": [{"valve": "in1"}]}]}`))
	earlier, err := filepath.Glob("../../../cmd/shimwright/testdata/earlier/*/plan.json")
	require.NoError(f, err)
	for _, name := range earlier {
		text, err := os.ReadFile(name)
		require.NoError(f, err)
		f.Add(text)
	}
	f.Fuzz(func(t *testing.T, text []byte) {
		p, err := Decode("plan.json", bytes.NewReader(text))
		if err != nil {
			require.ErrorIs(t, err, ErrNotPlan)
			require.NotContains(t, err.Error(), "\n")
			return
		}
		require.NotEmpty(t, p.Jobs)
		for i := range p.Jobs {
			j := &p.Jobs[i]
			require.Empty(t, j.Engine.Validate())
			if unseen(j) {
				continue
			}
			check := make([]shim.Measurement, len(j.Valves))
			for k, v := range j.Valves {
				check[k] = shim.Measurement{Valve: v.Valve, Reading: shim.ReadingOf(v.Limits.Tight)}
			}
			c := recheck.Compare(p, i, check, recheck.Measuring{})
			require.Len(t, c.Valves, len(j.Engine.Valves()))
		}
		var b bytes.Buffer
		require.NoError(t, Encode(&b, p))
		again, err := Decode("again", bytes.NewReader(b.Bytes()))
		require.NoError(t, err)
		for i := range p.Jobs { // an uncertainty is told by the gauge afterwards
			for k := range p.Jobs[i].Valves {
				p.Jobs[i].Valves[k].Uncertainty = 0
			}
			require.Equal(t, p.Jobs[i].Valves, again.Jobs[i].Valves)
		}
	})
}
