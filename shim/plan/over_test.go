package plan_test

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"shimwright/shim"
	"shimwright/shim/plan"
)

// A reading that was made over an earlier shim has the doubt of two shims, even
// where the one in place stays; changed once more, the size in between cancels.
func TestReadOverAnEarlierShim(t *testing.T) {
	e := inline(1)
	asRead := check(t, e, "in1 0.10 2.50", "ex1 0.24 2.50")
	carried := check(t, e, "in1 0.175 2.425", "ex1 0.24 2.50")
	forecast := func(q plan.Request, name string) shim.Length {
		p := made(t, q)
		for k := range p.Jobs[0].Valves {
			if v := &p.Jobs[0].Valves[k]; v.Valve.String() == name {
				f, ok := p.Jobs[0].Forecast(v)
				require.True(t, ok)
				return f.Expanded
			}
		}
		t.Fatal(name)
		return 0
	}
	fitted := plan.Request{Jobs: []plan.JobRequest{{Engine: e, Check: asRead, Lift: shim.LiftAll}}, Offers: catalogue(t, "2.425")}
	over := map[shim.Valve]shim.Measurement{asRead[0].Valve: asRead[0]}
	again := plan.Request{Jobs: []plan.JobRequest{{Engine: e, Check: carried, Lift: shim.LiftAll, Over: over}}}
	plain := plan.Request{Jobs: []plan.JobRequest{{Engine: e, Check: carried, Lift: shim.LiftAll}}}
	assert.Less(t, forecast(fitted, "in1"), forecast(again, "in1"), "nobody knows any more whether the one in it was new")
	assert.Less(t, forecast(plain, "in1"), forecast(again, "in1"))
	assert.Equal(t, forecast(plain, "ex1"), forecast(again, "ex1"), "read over the shim that is in")
	fitted.Gauge, again.Gauge = stated(), stated()
	assert.Equal(t, forecast(fitted, "in1"), forecast(again, "in1"), "the same two shims")
}

// stated is the usual gauge of a shop that says itself how far a shim may be from
// its mark, new or used.
func stated() *shim.Gauge {
	g := shim.UsualGauge
	g.Used = 0
	return &g
}
