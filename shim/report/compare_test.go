package report

import (
	"fmt"
	"math"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"shimwright/shim"
	"shimwright/shim/doubt"
	"shimwright/shim/recheck"
)

// fittedTwin is a job by hand on a twin with eight valves: ex1a and ex2a swap
// their shims, in1a gets a bought one, the rest stays. Invented.
func fittedTwin(t testing.TB) *PlannedJob {
	var rows []string
	row := func(valve, clearance, installed, action, shim, from, predicted string) {
		rows = append(rows, fmt.Sprintf(`{"valve": %q, "tight_mm": 0.1, "loose_mm": 0.2, "clearance_mm": %s, "installed_mm": %s, "open": true, "action": %q, "shim_mm": %s, "from": %s, "predicted_mm": %s}`,
			valve, clearance, installed, action, shim, from, predicted))
	}
	row("in1a", "0.07", "2.5", "buy", "2.425", "null", "0.145")
	row("in1b", "0.15", "2.45", "keep", "2.45", "null", "0.15")
	row("ex1a", "0.05", "2.6", "swap", "2.5", `"ex2a"`, "0.15")
	row("ex1b", "0.15", "2.55", "keep", "2.55", "null", "0.15")
	row("in2a", "0.14", "2.4", "keep", "2.4", "null", "0.14")
	row("in2b", "0.16", "2.5", "keep", "2.5", "null", "0.16")
	row("ex2a", "0.25", "2.5", "swap", "2.6", `"ex1a"`, "0.15")
	row("ex2b", "0.12", "2.5", "keep", "2.5", "null", "0.12")
	p, err := ReadPlan("plan.json", strings.NewReader(`{"jobs": [{"job": "", "engine": "Dunlin 500", "lifted": ["intake", "exhaust"], "valves": [`+strings.Join(rows, ",\n")+`]}]}`))
	require.NoError(t, err)
	return &p.Jobs[0]
}

// asExpected is a check that finds what the plan expects, moved by some um.
func asExpected(j *PlannedJob, moved map[string]shim.Length) []shim.Measurement {
	check := make([]shim.Measurement, len(j.Valves))
	for i, v := range j.Valves {
		check[i] = shim.Measurement{Valve: v.Valve, Reading: shim.ReadingOf(v.Predicted + moved[v.Valve.String()]*shim.Micrometre)}
	}
	return check
}

// named gives the compared valve of that name.
func named(t testing.TB, c *ComparedJob, name string) *ComparedValve {
	for i := range c.Valves {
		if c.Valves[i].Valve.String() == name {
			return &c.Valves[i]
		}
	}
	require.Fail(t, "no valve "+name)
	return nil
}

func TestCompareClean(t *testing.T) {
	j := fittedTwin(t)
	c := j.Compare(asExpected(j, nil), Measuring{})
	assert.True(t, c.Well())
	assert.False(t, c.Faulty())
	assert.Empty(t, c.Suspects)
	for _, v := range c.Valves {
		assert.True(t, v.Compared && v.Planned && !v.Off, v.Valve)
		assert.Equal(t, shim.OK, v.Verdict, v.Valve)
		assert.Zero(t, v.Difference, v.Valve)
		assert.Positive(t, v.Bound, v.Valve)
	}
	changed, kept := named(t, &c, "in1a"), named(t, &c, "in1b")
	assert.Greater(t, changed.Bound, kept.Bound, "two shims leave more open than none")
}

// The bound of every valve is where package recheck begins to call it off: one
// micrometre below it does not, one above it does.
func TestCompareBound(t *testing.T) {
	j := fittedTwin(t)
	bounds := map[string]shim.Length{}
	clean := j.Compare(asExpected(j, nil), Measuring{})
	for _, v := range clean.Valves {
		bounds[v.Valve.String()] = v.Bound / shim.Micrometre
	}
	for name, bound := range bounds {
		c := j.Compare(asExpected(j, map[string]shim.Length{name: -bound}), Measuring{})
		v := named(t, &c, name)
		assert.False(t, v.Off || v.Beyond, name)
		c = j.Compare(asExpected(j, map[string]shim.Length{name: -bound - 1}), Measuring{})
		v = named(t, &c, name)
		assert.True(t, v.Beyond, name)
		assert.Equal(t, bound, v.Bound/shim.Micrometre, name)
		c = j.Compare(asExpected(j, map[string]shim.Length{name: -bound - 20}), Measuring{})
		assert.True(t, named(t, &c, name).Off, name)
	}
}

// The head and the verdict agree: a valve is off only where a fault is the
// likeliest, and a job with all valves inside their limits is done.
func TestHeadAndVerdictAgree(t *testing.T) {
	j := fittedTwin(t)
	for by := shim.Length(0); by < 100; by += 3 {
		for _, name := range []string{"in1a", "in1b", "ex1a"} {
			for _, sign := range []shim.Length{-1, 1} {
				c := j.Compare(asExpected(j, map[string]shim.Length{name: sign * by}), Measuring{})
				v := named(t, &c, name)
				assert.False(t, v.Off && !c.Faulty(), "%s %d: OFF over nothing went wrong", name, sign*by)
				assert.False(t, v.Off && !v.Beyond, "%s %d", name, sign*by)
				assert.Equal(t, v.Verdict == shim.OK, c.Well(), "%s %d", name, sign*by)
			}
		}
	}
}

func TestCompareFindsFaults(t *testing.T) {
	j := fittedTwin(t)
	for name, c := range map[string]struct {
		moved  map[string]shim.Length
		kind   recheck.Kind
		valves []string
	}{
		"swap undone":       {map[string]shim.Length{"ex1a": -100, "ex2a": 100}, recheck.Exchanged, []string{"ex1a", "ex2a"}},
		"one valve":         {map[string]shim.Length{"in1b": -120}, recheck.Unseated, []string{"in1b"}},
		"the gauge":         {map[string]shim.Length{"in1a": 50, "in1b": 50, "ex1a": 50, "ex1b": 50, "in2a": 50, "in2b": 50, "ex2a": 50, "ex2b": 50}, recheck.GaugeOffset, nil},
		"the crank's place": {map[string]shim.Length{"in1a": -70, "in1b": -80, "ex1b": -60}, recheck.OffBase, []string{"in1a", "in1b", "ex1b"}},
	} {
		m := Measuring{Position: []int{1, 1, 1, 1, 2, 2, 2, 2}}
		got := j.Compare(asExpected(j, c.moved), m)
		require.True(t, got.Faulty(), name)
		require.Len(t, got.Report.Explanations[0].Faults, 1, name)
		f := got.Report.Explanations[0].Faults[0]
		assert.Equal(t, c.kind, f.Kind, name)
		var names []string
		for _, v := range f.Valves {
			names = append(names, v.String())
		}
		assert.ElementsMatch(t, c.valves, names, name)
	}
}

// Readings without a number say what they can.
func TestCompareLeaves(t *testing.T) {
	j := fittedTwin(t)
	check := asExpected(j, nil)
	check[0].Reading = shim.Reading{Kind: shim.Below, High: 50_000}
	check[1].Reading = shim.Reading{}
	check[2].Reading = shim.Reading{Kind: shim.Above, Low: 150_000}
	check[3].Reading = shim.ReadingOf(0)
	c := j.Compare(check, Measuring{})
	assert.Equal(t, shim.Tight, c.Valves[0].Verdict, "a leaf below the tight limit that does not go")
	assert.True(t, c.Valves[0].Off)
	assert.Equal(t, shim.Unmeasured, c.Valves[1].Verdict)
	assert.False(t, c.Valves[1].Compared)
	assert.Equal(t, shim.Unmeasured, c.Valves[2].Verdict, "the leaf may have fallen through at 0.16 or at 0.26")
	assert.False(t, c.Valves[2].Off)
	assert.Equal(t, shim.Tight, c.Valves[3].Verdict)
	assert.True(t, c.Valves[3].Off, "no gap at all")
	assert.False(t, c.Well())

	// A valve that is not measured is enough not to be well.
	check = asExpected(j, nil)
	check[1].Reading = shim.Reading{}
	c = j.Compare(check, Measuring{})
	assert.False(t, c.Well())
	assert.False(t, c.Faulty())
}

// What the check says of the shims that are in counts more than the plan.
func TestCompareShimsOfTheCheck(t *testing.T) {
	j := fittedTwin(t)
	compare := func(valve int, stamp, mic shim.Length) *ComparedValve {
		check := asExpected(j, nil)
		check[valve].Stamp, check[valve].Mic = stamp, mic
		c := j.Compare(check, Measuring{})
		return &c.Valves[valve]
	}
	assert.Equal(t, 145*shim.Micrometre, compare(0, 2_425_000, 0).Expected, "the plan's shim")
	assert.Equal(t, 95*shim.Micrometre, compare(0, 2_475_000, 0).Expected, "another shim")
	assert.Equal(t, 149*shim.Micrometre, compare(0, 2_425_000, 2_421_000).Expected, "the plan's, measured")
	assert.Equal(t, 70*shim.Micrometre, compare(0, 2_500_000, 0).Expected, "its own shim again")
	assert.Equal(t, 150*shim.Micrometre, compare(1, 2_450_000, 2_446_000).Expected, "a shim that stays cancels")
	assert.Equal(t, 175*shim.Micrometre, compare(1, 2_425_000, 0).Expected, "it did not stay")

	own, kept := compare(0, 2_500_000, 0), compare(1, 0, 0)
	assert.Equal(t, kept.Bound, own.Bound, "a shim that stays brings no doubt")
	marked, measured := compare(0, 0, 0), compare(0, 2_425_000, 2_425_000)
	assert.Less(t, measured.Bound, marked.Bound, "a micrometer leaves less open than a mark")

	// A mark says nothing against the micrometer that the plan went by.
	j.Valves[0].Miked = true
	assert.Equal(t, 145*shim.Micrometre, compare(0, 2_430_000, 0).Expected)
	assert.Equal(t, 120*shim.Micrometre, compare(0, 2_450_000, 0).Expected)
}

// The plan's own uncertainty counts where its gauge is not at hand.
func TestCompareUncertainty(t *testing.T) {
	j := fittedTwin(t)
	bound := func(uncertainty shim.Length, g *shim.Gauge) shim.Length {
		j.Valves[0].Uncertainty = uncertainty
		c := j.Compare(asExpected(j, nil), Measuring{Gauge: g})
		return c.Valves[0].Bound
	}
	plain := bound(0, nil)
	parts := doubt.Parts{Reading: j.Valves[0].Reading, Ratio: shim.Ratio{Times: shim.One}}
	usual := doubt.Model{Gauge: doubt.Usual}.Spread(parts)
	assert.Equal(t, plain, bound(usual.Expanded(), nil), "the usual gauge, said again")
	assert.Less(t, bound(usual.Expanded()/2, nil), plain)
	assert.Greater(t, bound(usual.Expanded()*2, nil), plain)
	fine := doubt.Usual
	fine.Step = 10 * shim.Micrometre
	assert.Equal(t, bound(0, &fine), bound(usual.Expanded()*2, &fine), "a gauge that is at hand tells more")
	assert.Less(t, bound(0, &fine), plain)

	// The second reading's own doubt is added as the GUM adds (JCGM 100:2008,
	// 5.1.2).
	m := Measuring{}
	j.Valves[0].Uncertainty = 2 * usual.Expanded()
	second := doubt.Model{Gauge: doubt.Usual}.Spread(doubt.Parts{Reading: shim.ReadingOf(145_000), Ratio: shim.Ratio{Times: shim.One}, Kept: true})
	want := math.Hypot(2*float64(usual.Standard()), float64(second.Standard()))
	assert.InDelta(t, want, float64(m.spread(&j.Valves[0], shim.Ratio{Times: shim.One}, shim.ReadingOf(145_000)).Standard()), 1)
}

// Where the shim came from another job, the valve of that name here is not its
// source.
func TestCompareFromAnotherJob(t *testing.T) {
	j := fittedTwin(t)
	r := j.refit(&j.Valves[2], shim.ReadingOf(150_000), Measuring{})
	assert.Equal(t, "ex2a", r.From.String())
	j.Valves[6].Installed += 25_000
	r = j.refit(&j.Valves[2], shim.ReadingOf(150_000), Measuring{})
	assert.Zero(t, r.From)
	r = j.refit(&j.Valves[1], shim.ReadingOf(150_000), Measuring{})
	assert.Equal(t, "in1b", r.From.String(), "a shim that stays comes from its own valve")
}

// Shims that are reached one by one come out one by one.
func TestCompareAccessByValve(t *testing.T) {
	text := strings.Replace(onePlan, `["intake", "exhaust"]`, `["in1", "ex1"]`, 1)
	p, err := ReadPlan("plan.json", strings.NewReader(text))
	require.NoError(t, err)
	assert.True(t, p.Jobs[0].Valves[0].Out)
	assert.False(t, p.Jobs[0].Valves[1].Out)
}

func TestCompareSuspects(t *testing.T) {
	j := fittedTwin(t)
	check := asExpected(j, nil)
	check[0].Stamp, check[0].Mic = 2_425_000, 2_380_000
	c := j.Compare(check, Measuring{})
	require.Len(t, c.Suspects, 1)
	assert.Equal(t, recheck.MarkDiffers, c.Suspects[0].Reason)
	// A valve that nobody expects anything of is held against its siblings.
	j.Valves[5].Measured = false
	check = asExpected(j, nil)
	check[5].Reading = shim.ReadingOf(390_000)
	c = j.Compare(check, Measuring{})
	require.Len(t, c.Suspects, 1)
	assert.Equal(t, recheck.FarClearance, c.Suspects[0].Reason)
	assert.Equal(t, "in2b", c.Suspects[0].Valve.String())
}

// The old shim's micrometer counts as well: a plan says that it was used, and
// the bound stays within the most that sound work can give. Old plans do not say.
func TestCompareInstalledMiked(t *testing.T) {
	bound := func(more string) shim.Length {
		row := `{"valve": "in1", "tight_mm": 0.1, "loose_mm": 0.2, "clearance_mm": 0.07, "installed_mm": 2.5, "open": true, "action": "buy",
			"shim_mm": 2.425, "from": null, "predicted_mm": 0.145` + more + `}`
		p, err := ReadPlan("plan.json", strings.NewReader(`{"jobs": [{"job": "", "engine": "single", "lifted": ["intake"], "valves": [`+row+`]}]}`))
		require.NoError(t, err)
		gauge := shim.Gauge{Step: 10_000, Leaf: 2_000, Stamp: 10_000, Mic: 1_000}
		c := p.Jobs[0].Compare(asExpected(&p.Jobs[0], nil), Measuring{Gauge: &gauge})
		return c.Valves[0].Bound
	}
	old, one, both := bound(``), bound(`, "miked": true`), bound(`, "miked": true, "installed_miked": true`)
	assert.Greater(t, old, one)
	assert.Greater(t, one, both)
	assert.LessOrEqual(t, both, shim.Length(2*5_000+2*2_000+2*1_000), "two readings, two leaves, two mic readings")
}
