package plan_test

import (
	"testing"

	"github.com/stretchr/testify/assert"

	"shimwright/shim"
	"shimwright/shim/plan"
)

// Two engines exchange a shim each; the chain within the first goes on from it.
// Every fitting list stands alone: its rows name valves of other jobs as such,
// and what comes from there waits for nothing in the list.
func TestSharedShimsCrossJobs(t *testing.T) {
	e := inline(3)
	first := check(t, e, "in1 0.38 2.40", "in2 0.07 2.64")
	second := check(t, e, "in1 0.02 2.55")
	q := plan.Request{NoBuy: true, SharePulled: true, Jobs: []plan.JobRequest{
		{Name: "3", Engine: e, Check: first}, {Name: "4", Engine: e, Check: second},
	}}
	// In job 3 in1 needs 2.57 to 2.64, in2 2.50 to 2.57; in job 4 in1 needs 2.36 to 2.43.
	p := made(t, q)
	in := func(job int, cylinder int) *plan.Place {
		return &plan.Place{Job: job, Valve: shim.Valve{Side: shim.Intake, Cylinder: cylinder}}
	}
	size := func(text string) shim.Length { return length(t, text) }
	assert.Equal(t, []plan.Move{
		{Step: 1, Valve: in(0, 2).Valve, Out: size("2.64"), To: in(0, 1), In: size("2.55"), By: plan.Swap, From: in(1, 1)},
		{Step: 2, Valve: in(0, 1).Valve, Out: size("2.40"), To: in(1, 1), In: size("2.64"), By: plan.Swap, From: in(0, 2)},
	}, p.Jobs[0].Moves)
	assert.Equal(t, []plan.Move{
		{Step: 3, Valve: in(1, 1).Valve, Out: size("2.55"), To: in(0, 2), In: size("2.40"), By: plan.Swap, From: in(0, 1)},
	}, p.Jobs[1].Moves)
	assert.True(t, p.Served())
	assert.Empty(t, p.LeftOver)

	q.SharePulled = false
	p = made(t, q)
	assert.False(t, p.Served())
	for _, j := range p.Jobs {
		for _, m := range j.Moves {
			assert.True(t, m.From == nil || p.Jobs[m.From.Job].Job == j.Job, "%+v", m)
		}
	}
}
