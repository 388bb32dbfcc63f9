package plan_test

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"shimwright/shim"
	"shimwright/shim/plan"
)

// loadedPair is a request for an opener and its closer, read loaded, both near
// their tight limits, with no other shim at hand.
func loadedPair(t *testing.T) plan.Request {
	t.Helper()
	mm := func(text string) shim.Length {
		l, err := shim.MM.Parse(text)
		require.NoError(t, err)
		return l
	}
	even := shim.Ratio{Times: shim.One}
	e := &shim.Engine{Name: "Dotterel 400", Cylinders: 1, Intake: shim.Train{Valves: 1, Ratio: even, Limits: shim.Limits{Tight: mm("0.115"), Loose: mm("0.2")},
		Closer: &shim.Closer{Ratio: even, Limits: shim.Limits{Tight: mm("0.07"), Loose: mm("0.2")}, Family: shim.Family{Kind: shim.CloserKind, Diameter: mm("7")}}}}
	opener := shim.Measurement{Valve: shim.Valve{Side: shim.Intake, Cylinder: 1}, Reading: shim.ReadingOf(mm("0.12")), Marks: shim.Marks{Stamp: mm("2.5")}}
	closer := shim.Measurement{Valve: opener.Valve.Other(), Marks: shim.Marks{Stamp: mm("2.9")}}
	var known bool
	closer.Reading, known = shim.LoadedLess(shim.ReadingOf(mm("0.20")), opener.Reading, shim.UsualGauge)
	require.True(t, known)
	return plan.Request{Jobs: []plan.JobRequest{{Engine: e, Check: []shim.Measurement{opener, closer}, Lift: shim.LiftAll}}}
}

// The chance that opener and closer end inside together knows that the closer's
// clearance was worked out from the opener's reading; 0.4401 is simulated in
// package doubt. Another reading of the opener since ties them no longer.
func TestLoadedGapCountsInAllInside(t *testing.T) {
	q := loadedPair(t)
	p, err := plan.Make(t.Context(), q)
	require.NoError(t, err)
	w := p.AllInside(0)
	assert.InDelta(t, 0.44, w.Probability, 0.006)
	assert.True(t, w.Sampled, "two errors in common are no exact integral")
	assert.Positive(t, w.Error)

	q.Jobs[0].Check[0].Reading = shim.ReadingOf(q.Jobs[0].Check[0].Reading.Low + shim.Nanometre)
	p, err = plan.Make(t.Context(), q)
	require.NoError(t, err)
	assert.InDelta(t, 0.512, p.AllInside(0).Probability, 0.01, "only a leaf is shared")
}

// Where there is nothing to change for, measuring again gains nothing: neither the
// opener, whose finer reading is taken off the loaded gap too, nor the closer.
func TestMeasureNextAtALoadedGap(t *testing.T) {
	q := loadedPair(t)
	p, err := plan.Make(t.Context(), q)
	require.NoError(t, err)
	next, err := plan.MeasureNext(t.Context(), q, p)
	require.NoError(t, err)
	assert.Empty(t, next)
}
