package plan_test

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"shimwright/shim"
	"shimwright/shim/plan"
)

// A bracket across a limit whose middle lies inside is undecided: the plan goes
// by the middle as ever, but it says which leaf decides, opens no camshaft for
// it, and is not settled while such a valve keeps its shim. The limits of inline
// are 0.14 to 0.21 mm, worked out by hand.
func TestABracketAcrossALimitIsUndecided(t *testing.T) {
	e := inline(2)
	for reading, want := range map[string]string{
		"0.13-0.16": "try the 0.14 leaf",
		"0.14-0.16": "",
		"0.19-0.22": "try the 0.21 leaf",
		"0.19-0.21": "",
		"0.13-0.22": "try the 0.14 leaf: inside if it goes, tight if not; try the 0.21 leaf",
		"0.13":      "", // tight
		"0.11-0.15": "", // its middle is tight
		"0.21":      "",
	} {
		p := made(t, plan.Request{Jobs: []plan.JobRequest{{Engine: e, Check: check(t, e, "in1 "+reading+" 2.50")}}, Box: box(t, "2.40", "2.45")})
		v := valve(t, p, "in1")
		require.Equal(t, want != "", v.Undecided, reading)
		if want == "" {
			assert.NotContains(t, said(v), "leaf", reading)
			continue
		}
		assert.Contains(t, said(v), want, reading)
		assert.Equal(t, shim.OK, v.Verdict, reading)
		assert.Empty(t, p.Jobs[0].Lifted, reading)
		assert.True(t, p.Served(), reading)
		assert.False(t, p.Settled(), reading)
		assert.Equal(t, 1, p.Jobs[0].Undecided(), reading)
	}
	// Where it gets another shim, the leaf is told too: the plan goes by the middle.
	q := plan.Request{Jobs: []plan.JobRequest{{Engine: e, Lift: shim.LiftAll, Check: check(t, e, "in1 0.13-0.16 2.50")}}, Box: box(t, "2.47"), Policy: plan.Blueprint}
	p := made(t, q)
	v := valve(t, p, "in1")
	require.True(t, v.Changed())
	assert.True(t, v.Undecided)
	assert.Contains(t, said(v), "try the 0.14 leaf")
	assert.True(t, p.Settled())
	// The criteria count the middle as today: no valve is left outside for it.
	assert.Zero(t, p.Criteria.Unserved)
}
