package report

import (
	"context"
	"encoding/json"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"shimwright/shim"
	"shimwright/shim/plan"
	"shimwright/shim/recheck"
)

// What is worth measuring stands on the screen and in the JSON, at most two lines.
func TestMeasureNextIsSaid(t *testing.T) {
	e := single(t, "Plover 250")
	q := plan.Request{Margin: plan.DefaultMargin, Jobs: []plan.JobRequest{{Engine: e, Check: check(t, e, "0.09-0.12 2.5", "0.21-0.24 2.7"), Lift: shim.LiftAll}},
		Box: []shim.BoxRow{{Marks: shim.Marks{Stamp: mm(t, "2.475")}, Count: 1}, {Marks: shim.Marks{Stamp: mm(t, "2.525")}, Count: 1}}}
	p := made(t, q)
	var err error
	p.Next, err = plan.MeasureNext(context.Background(), q, p)
	require.NoError(t, err)
	require.NotEmpty(t, p.Next)
	found := keys(t, jsonOf(t, p))
	for _, names := range found["measure_next[]"] {
		assert.Equal(t, []string{"job", "valve", "what", "leaves_mm", "changes", "all_inside_before", "all_inside_after", "purchases_saved"}, names)
	}
	require.Len(t, found["measure_next[]"], len(p.Next))
	said := 0
	for _, s := range Plan(p, Options{}).Sections {
		if s.Heading == MeasureFirst {
			said = len(s.Notes)
		}
	}
	assert.Equal(t, len(p.Next), said)
	p.Next = nil
	assert.NotContains(t, keys(t, jsonOf(t, p)), "measure_next[]", "nothing is said where nothing is gained")
}

// Two new shims 0.025 apart cannot be told apart by leaves 0.03 apart, and can
// by leaves 0.005 apart between better marks. Equal ones need not be.
func TestAlike(t *testing.T) {
	e := single(t, "Plover 250")
	e.Cylinders = 2
	gauge := func(step, leaf, stamp shim.Length) *shim.Gauge {
		return &shim.Gauge{Step: step, Leaf: leaf, Stamp: stamp, Mic: 1000}
	}
	for _, c := range []struct {
		gauge *shim.Gauge
		found bool
	}{{gauge(30_000, 5_000, 5_000), true}, {gauge(5_000, 1_000, 1_000), false}} {
		p := made(t, plan.Request{
			Gauge: c.gauge,
			Jobs:  []plan.JobRequest{{Engine: e, Check: check(t, e, "0.03 2.500", "0.23 2.700", "0.03 2.525", "0.23 2.700"), Lift: shim.LiftAll}},
			Box:   []shim.BoxRow{{Marks: shim.Marks{Stamp: mm(t, "2.405")}, Count: 1}, {Marks: shim.Marks{Stamp: mm(t, "2.43")}, Count: 1}},
		})
		j := &p.Jobs[0]
		require.Equal(t, 2, j.Criteria.Changed)
		var out struct {
			Jobs []struct{ Alike []recheck.Pair }
		}
		require.NoError(t, json.Unmarshal(jsonOf(t, p), &out))
		if !c.found {
			assert.Empty(t, out.Jobs[0].Alike)
			assert.Empty(t, alikeNote(j))
			continue
		}
		require.Len(t, out.Jobs[0].Alike, 1)
		assert.Equal(t, "in1", out.Jobs[0].Alike[0].Valves[0].String())
		assert.Equal(t, "in2", out.Jobs[0].Alike[0].Valves[1].String())
		assert.Contains(t, alikeNote(j), "in1/in2")
	}
}
