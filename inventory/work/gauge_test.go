package work

import (
	"context"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"shimwright/inventory"
	"shimwright/shim"
)

// What a recheck says when it is entered is what is said of it later: it goes by the
// set that it was made with, and the plan's readings by theirs.
func TestRecheckBySets(t *testing.T) {
	ctx := context.Background()
	bounds := func(before, after string) (now, later shim.Length) {
		shop, id := measured(t, []string{"2.325"}, nil)
		sets := map[string]inventory.Gauge{"": {}}
		for name, step := range map[string]shim.Length{"fine": 5, "coarse": 50} {
			spec := shim.UsualGauge
			spec.Step = step * shim.Micrometre
			set, err := shop.PutGauge(ctx, inventory.Gauge{Name: name, Spec: spec})
			require.NoError(t, err)
			sets[name] = set
		}
		_, err := shop.ReadWith(ctx, id, []shim.Measurement{{Valve: valve(t, "ex1a"), Reading: shim.ReadingOf(mm(t, "0.17")), Marks: shim.Marks{Stamp: mm(t, "2.4")}}}, "", sets[before].ID)
		require.NoError(t, err)
		planned(t, shop, id, true)
		f, err := shop.Job(ctx, id)
		require.NoError(t, err)
		_, err = Fit(ctx, shop, f, inventory.Fit{})
		require.NoError(t, err)
		f, err = shop.Job(ctx, id)
		require.NoError(t, err)
		c, f, err := Recheck(ctx, shop, f, []shim.Measurement{{Valve: valve(t, "ex1a"), Reading: shim.ReadingOf(mm(t, "0.25"))}}, nil, "", sets[after])
		require.NoError(t, err)
		again := Diagnose(f)
		require.NotNil(t, again)
		assert.Equal(t, c.Valves, again.Valves, "%q, then %q", before, after)
		at, _ := f.Engine.Spec.Find(valve(t, "ex1a"))
		return c.Valves[at].Bound, again.Valves[at].Bound
	}
	usual, _ := bounds("", "")
	coarse, _ := bounds("coarse", "coarse")
	first, _ := bounds("coarse", "fine")
	last, _ := bounds("fine", "coarse")
	fine, _ := bounds("fine", "fine")
	assert.Less(t, fine, usual)
	assert.Less(t, usual, coarse)
	assert.InDelta(t, float64(first), float64(last), 1, "one coarse reading, whichever")
	assert.Greater(t, first, fine)
	assert.Less(t, first, coarse)
}

// Jobs planned together go each by its own set.
func TestTogetherBySets(t *testing.T) {
	ctx := context.Background()
	shop, first := measured(t, nil, nil)
	spec := shim.UsualGauge
	spec.Step = 5 * shim.Micrometre
	set, err := shop.PutGauge(ctx, inventory.Gauge{Name: "fine", Spec: spec})
	require.NoError(t, err)
	f, err := shop.Job(ctx, first)
	require.NoError(t, err)
	second, err := shop.OpenJob(ctx, inventory.Opening{Spec: f.Engine.Spec, Source: "invented"})
	require.NoError(t, err)
	_, err = shop.ReadWith(ctx, second.ID, f.Found, "", set.ID)
	require.NoError(t, err)
	made, _, _, err := Planner{}.PlanAll(ctx, shop)
	require.NoError(t, err)
	require.Len(t, made.Jobs, 2)
	assert.Equal(t, shim.UsualGauge, made.Jobs[0].Gauge)
	assert.False(t, made.Jobs[0].GaugeStated)
	assert.Equal(t, spec, made.Jobs[1].Gauge)
	assert.True(t, made.Jobs[1].GaugeStated)
	a, _ := made.Jobs[0].Forecast(&made.Jobs[0].Valves[0])
	b, _ := made.Jobs[1].Forecast(&made.Jobs[1].Valves[0])
	assert.Greater(t, a.Expanded, b.Expanded)
}
