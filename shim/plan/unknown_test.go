package plan_test

import (
	"context"
	"math/rand/v2"
	"regexp"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"shimwright/shim"
	"shimwright/shim/plan"
	"shimwright/testdata/effort"
)

// Before teardown nobody knows the shims: by how much they are wrong can be
// said all the same. The figures are worked out by hand from c' = c + k (s - x).
func TestUnknownShimsSayHowMuch(t *testing.T) {
	half, inches := inline(1), inline(1)
	half.Intake.Ratio = shim.RockerRatio(2 * shim.One)
	inches.Units, inches.Intake.Limits = shim.IN.Both(), shim.Limits{Tight: 6 * shim.Inch / 1000, Loose: 8 * shim.Inch / 1000}
	for name, c := range map[string]struct {
		engine        *shim.Engine
		reading, says string
	}{
		"tight":            {inline(1), "in1 0.10 0", "0.075 thinner (0.040 to 0.110)"},
		"loose":            {inline(1), "ex1 0.30 0", "0.065 thicker (0.030 to 0.100)"},
		"half the ratio":   {half, "in1 0.10 0", "0.150 thinner (0.080 to 0.220)"},
		"inches":           {inches, "in1 0.1016 0", "0.0030 thinner (0.0020 to 0.0040)"}, // 0.004 in
		"a shim for none":  {inline(1), "in1 <0.05 0", "not known yet"},
		"a hair's breadth": {inline(1), "in1 0.139 0", "0.036 thinner (0.001 to 0.071)"},
	} {
		p := made(t, plan.Request{
			Jobs:   []plan.JobRequest{{Engine: c.engine, Check: check(t, c.engine, c.reading), Provisional: true}},
			Box:    box(t, "2.50"),
			Offers: catalogue(t, "2.40", "2.60"),
		})
		v := valve(t, p, c.reading[:3])
		assert.Contains(t, said(v, c.engine.Units.Size), c.says, name)
		assert.Equal(t, plan.Leave, v.Action, name)
		assert.True(t, p.Provisional(), name)
		assert.Equal(t, 1, p.Criteria.Unserved, name)
		assert.Empty(t, p.Shopping, name)
	}
}

// Whatever the job, the range that is named is the one that serves the valve:
// its ends inside the limits, and beyond them outside.
func TestUnknownShimsNameTheWholeRange(t *testing.T) {
	figures := regexp.MustCompile(`^needs a shim ([\d.]+) (thinner|thicker) \(([\d.]+) to ([\d.]+)\)`)
	named := 0
	each(t, 12, 600, func(_ *rand.Rand, q plan.Request, p *plan.Plan) {
		order := map[int]int{} // valves so far, by job
		for _, s := range seats(&q) {
			v := &p.Jobs[s.job].Valves[order[s.job]]
			order[s.job]++
			if s.own != 0 || !s.open || !s.measured || s.inside() {
				continue
			}
			named++
			found := figures.FindStringSubmatch(said(v))
			require.NotNil(t, found, said(v))
			expect := func(by shim.Length) shim.Length {
				if found[2] == "thinner" {
					by = -by
				}
				return s.expect(s.own + by)
			}
			ideal, from, to := length(t, found[1]), length(t, found[3]), length(t, found[4])
			reach := shim.Length(200) // two of the last place that is shown
			require.True(t, s.holds(expect(from)) && s.holds(expect(to)), "%s: %s", said(v), show(&q))
			require.False(t, s.holds(expect(from-reach)) || s.holds(expect(to+reach)), "%s: %s", said(v), show(&q))
			require.LessOrEqual(t, (expect(ideal) - s.aim).Abs(), reach, "%s: %s", said(v), show(&q))
		}
	})
	require.Greater(t, named, effort.Share(50))
}

// A shim that nobody knows goes nowhere, and is no size to choose from.
func TestUnknownShimsAreNotLent(t *testing.T) {
	e := inline(3)
	p := made(t, plan.Request{NoBuy: true, Box: box(t, "2.60"), Jobs: []plan.JobRequest{{
		Engine: e, Provisional: true,
		Check: check(t, e, "in1 0.07 2.65", "in2 0.30 0", "in3 0.15 0"),
	}}})
	// in1 needs 2.545, 2.51 to 2.58.
	assert.Contains(t, said(valve(t, p, "in1")), "thinner than any available shim (2.60)")
	assert.Contains(t, said(valve(t, p, "in2")), "0.125 thicker (0.090 to 0.160)")
	assert.Equal(t, plan.Leave, valve(t, p, "in2").Action)
	assert.Equal(t, plan.Keep, valve(t, p, "in3").Action)
	assert.Equal(t, plan.Criteria{Unserved: 2, Deviation: 105*um + 125*um + 25*um}, p.Criteria)
	assert.Empty(t, p.Jobs[0].Moves)

	// One that is not opened says that first.
	named := plan.JobRequest{Engine: e, Provisional: true, Lift: shim.Lift{Named: []string{"exhaust"}}, Check: check(t, e, "in2 0.30 0")}
	p = made(t, plan.Request{NoBuy: true, Jobs: []plan.JobRequest{named}})
	assert.Contains(t, said(valve(t, p, "in2")), "not opened")
	assert.Zero(t, p.Criteria.Unserved)
}

// A thicker shim gives less clearance, at a closing shim too (ducatitech.com;
// st3slife.blogspot.com): an engine kept by an earlier version with a negative
// ratio is not planned, since its valve would bind.
func TestNegativeRatioIsRefused(t *testing.T) {
	e := inline(1)
	e.Exhaust.Ratio = shim.Ratio{Times: -shim.One}
	_, err := plan.Make(context.Background(), plan.Request{Jobs: []plan.JobRequest{{Engine: e, Check: check(t, e, "in1 0.10 2.5")}}, Offers: catalogue(t, "2.60")})
	require.ErrorIs(t, err, plan.ErrRequest)
}
