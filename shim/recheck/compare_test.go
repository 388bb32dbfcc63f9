package recheck

import (
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"shimwright/shim"
	"shimwright/shim/doubt"
	"shimwright/shim/internal/plantest"
	"shimwright/shim/plan"
)

// A fittedJob is the first job of a plan.
type fittedJob struct {
	*plan.JobPlan
	p *plan.Plan
}

func (j fittedJob) Compare(check []shim.Measurement, m Measuring) ComparedJob {
	return Compare(j.p, 0, check, m)
}

func fittedTwin() fittedJob {
	p := plantest.FittedTwin()
	return fittedJob{&p.Jobs[0], p}
}

func asExpected(j fittedJob, moved map[string]shim.Length) []shim.Measurement {
	return plantest.AsExpected(j.JobPlan, moved)
}

// comparedAt gives the compared valve of that name.
func comparedAt(t testing.TB, c *ComparedJob, name string) *ComparedValve {
	for i := range c.Valves {
		if c.Valves[i].Valve.String() == name {
			return &c.Valves[i]
		}
	}
	require.Fail(t, "no valve "+name)
	return nil
}

func TestCompareClean(t *testing.T) {
	j := fittedTwin()
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
	changed, kept := comparedAt(t, &c, "in1a"), comparedAt(t, &c, "in1b")
	assert.Greater(t, changed.Bound, kept.Bound, "two shims leave more open than none")
}

// The bound of every valve is where package recheck begins to call it off: one
// micrometre below it does not, one above it does.
func TestCompareBound(t *testing.T) {
	j := fittedTwin()
	bounds := map[string]shim.Length{}
	clean := j.Compare(asExpected(j, nil), Measuring{})
	for _, v := range clean.Valves {
		bounds[v.Valve.String()] = v.Bound / shim.Micrometre
	}
	for name, bound := range bounds {
		c := j.Compare(asExpected(j, map[string]shim.Length{name: -bound}), Measuring{})
		v := comparedAt(t, &c, name)
		assert.False(t, v.Off || v.Beyond, name)
		c = j.Compare(asExpected(j, map[string]shim.Length{name: -bound - 1}), Measuring{})
		v = comparedAt(t, &c, name)
		assert.True(t, v.Beyond, name)
		assert.Equal(t, bound, v.Bound/shim.Micrometre, name)
		c = j.Compare(asExpected(j, map[string]shim.Length{name: -bound - 20}), Measuring{})
		assert.True(t, comparedAt(t, &c, name).Off, name)
	}
}

// The head and the verdict agree: a valve is off only where a fault is the
// likeliest, and a job with all valves inside their limits is done.
func TestHeadAndVerdictAgree(t *testing.T) {
	j := fittedTwin()
	for by := shim.Length(0); by < 100; by += 3 {
		for _, name := range []string{"in1a", "in1b", "ex1a"} {
			for _, sign := range []shim.Length{-1, 1} {
				c := j.Compare(asExpected(j, map[string]shim.Length{name: sign * by}), Measuring{})
				v := comparedAt(t, &c, name)
				assert.False(t, v.Off && !c.Faulty(), "%s %d: OFF over nothing went wrong", name, sign*by)
				assert.False(t, v.Off && !v.Beyond, "%s %d", name, sign*by)
				assert.Equal(t, v.Verdict == shim.OK, c.Well(), "%s %d", name, sign*by)
			}
		}
	}
}

func TestCompareFindsFaults(t *testing.T) {
	j := fittedTwin()
	for name, c := range map[string]struct {
		moved  map[string]shim.Length
		kind   Kind
		valves []string
	}{
		"swap undone":       {map[string]shim.Length{"ex1a": -100, "ex2a": 100}, Exchanged, []string{"ex1a", "ex2a"}},
		"one valve":         {map[string]shim.Length{"in1b": -120}, Unseated, []string{"in1b"}},
		"the gauge":         {map[string]shim.Length{"in1a": 50, "in1b": 50, "ex1a": 50, "ex1b": 50, "in2a": 50, "in2b": 50, "ex2a": 50, "ex2b": 50}, GaugeOffset, nil},
		"the crank's place": {map[string]shim.Length{"in1a": -70, "in1b": -80, "ex1b": -60}, OffBase, []string{"in1a", "in1b", "ex1b"}},
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
	j := fittedTwin()
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
	j := fittedTwin()
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
	j := fittedTwin()
	bound := func(uncertainty shim.Length, g *shim.Gauge) shim.Length {
		j.Valves[0].Uncertainty = uncertainty
		c := j.Compare(asExpected(j, nil), Measuring{Gauge: g})
		return c.Valves[0].Bound
	}
	plain := bound(0, nil)
	parts := doubt.Parts{Reading: j.Valves[0].Reading, Ratio: shim.Ratio{Times: shim.One}, Installed: doubt.Used}
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
	assert.InDelta(t, want, float64(m.spread(&closed{ValvePlan: j.Valves[0], changed: true}, shim.Ratio{Times: shim.One}, shim.ReadingOf(145_000)).Standard()), 1)
}

// Where the shim came from another job, the valve of that name here is not its
// source.
func TestCompareFromAnotherJob(t *testing.T) {
	j := fittedTwin()
	m := Measuring{}
	valves := m.close(j.p, 0)
	r := m.refit(j.Engine, valves, &valves[2], shim.ReadingOf(150_000))
	assert.Equal(t, "ex2a", r.From.String())
	valves[6].Installed += 25_000
	r = m.refit(j.Engine, valves, &valves[2], shim.ReadingOf(150_000))
	assert.Zero(t, r.From)
	r = m.refit(j.Engine, valves, &valves[1], shim.ReadingOf(150_000))
	assert.Equal(t, "in1b", r.From.String(), "a shim that stays comes from its own valve")
	j.Valves[2].From.Job = 1
	assert.Zero(t, m.close(j.p, 0)[2].source)
}

// Shims that are reached one by one come out one by one.
func TestCompareAccessByValve(t *testing.T) {
	j := fittedTwin()
	assert.True(t, Measuring{}.close(j.p, 0)[1].out)
	j.Engine.Access = shim.ByValve
	valves := Measuring{}.close(j.p, 0)
	assert.True(t, valves[0].out)
	assert.False(t, valves[1].out)
}

func TestCompareSuspects(t *testing.T) {
	j := fittedTwin()
	check := asExpected(j, nil)
	check[0].Stamp, check[0].Mic = 2_425_000, 2_375_000
	c := j.Compare(check, Measuring{})
	require.Len(t, c.Suspects, 1)
	assert.Equal(t, MarkDiffers, c.Suspects[0].Reason)
	// A valve that nobody expects anything of is held against its siblings.
	j.Valves[5].Measured = false
	check = asExpected(j, nil)
	check[5].Reading = shim.ReadingOf(390_000)
	c = j.Compare(check, Measuring{})
	require.Len(t, c.Suspects, 1)
	assert.Equal(t, FarClearance, c.Suspects[0].Reason)
	assert.Equal(t, "in2b", c.Suspects[0].Valve.String())
}

// The old shim's micrometer counts as well: a plan says that it was used, and
// the bound stays within the most that sound work can give. Old plans do not say.
func TestCompareInstalledMiked(t *testing.T) {
	bound := func(miked, installed bool) shim.Length {
		j := fittedTwin()
		j.Valves[0].Miked, j.Valves[0].InstalledMiked = miked, installed
		gauge := shim.Gauge{Step: 10_000, Leaf: 2_000, Stamp: 10_000, Mic: 1_000}
		c := j.Compare(asExpected(j, nil), Measuring{Gauge: &gauge})
		return c.Valves[0].Bound
	}
	old, one, both := bound(false, false), bound(true, false), bound(true, true)
	assert.Greater(t, old, one)
	assert.Greater(t, one, both)
	assert.LessOrEqual(t, both, shim.Length(2*5_000+2*2_000+2*1_000), "two readings, two leaves, two mic readings")
}

// The gauge that the plan was made with counts where no other is stated.
func TestCompareByThePlansGauge(t *testing.T) {
	j := fittedTwin()
	fine := shim.Gauge{Step: 10_000, Leaf: 1_000, Stamp: 1_000, Mic: 1_000}
	bound := func(m Measuring) shim.Length { return j.Compare(asExpected(j, nil), m).Valves[0].Bound }
	usual, stated := bound(Measuring{}), bound(Measuring{Gauge: &fine})
	require.Less(t, stated, usual)
	j.Gauge = fine
	assert.Equal(t, usual, bound(Measuring{}), "nobody stated it")
	j.GaugeStated = true
	assert.Equal(t, stated, bound(Measuring{}))
	assert.Equal(t, usual, bound(Measuring{Gauge: &shim.UsualGauge}))
}

// Another shim came out than the plan found in place: its readings were made over that one.
func TestCompareCameOut(t *testing.T) {
	j := fittedTwin()
	v := func(i int) shim.Valve { return j.Valves[i].Valve }
	c := j.Compare(asExpected(j, nil), Measuring{CameOut: []shim.Measurement{{Valve: v(0), Marks: shim.Marks{Stamp: 2_525_000}}, {Valve: v(1), Marks: shim.Marks{Mic: 2_455_000}}}})
	assert.Equal(t, shim.Length(170_000), c.Valves[0].Expected)
	assert.Equal(t, shim.Length(155_000), c.Valves[1].Expected)
	valves := Measuring{CameOut: []shim.Measurement{{Valve: v(1), Marks: shim.Marks{Mic: 2_455_000}}}}.close(j.p, 0)
	assert.True(t, valves[1].changed && valves[1].out && valves[1].InstalledMiked)
}

// Each reading is as sure as the set that it was made with, the one before the fit
// and the one after it.
func TestCompareReadWithOtherSets(t *testing.T) {
	coarse := shim.Gauge{Step: 50_000, Leaf: 5_000}
	bounds := func(before, after shim.Gauge) (shim.Length, shim.Length) {
		j := fittedTwin()
		j.Valves[0].With = before
		check := asExpected(j, nil)
		check[0].With = after
		c := j.Compare(check, Measuring{})
		return c.Valves[0].Bound, c.Valves[1].Bound
	}
	usual, other := bounds(shim.Gauge{}, shim.Gauge{})
	first, _ := bounds(coarse, shim.Gauge{})
	second, same := bounds(shim.Gauge{}, coarse)
	both, _ := bounds(coarse, coarse)
	assert.Equal(t, other, same, "the other valves stay")
	assert.Greater(t, first, usual)
	assert.Greater(t, second, usual)
	assert.Greater(t, both, max(first, second))
}
