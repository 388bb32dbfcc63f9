package plan_test

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"shimwright/shim"
	"shimwright/shim/plan"
)

// With a confidence a shim is what is known of it: of two of one size a valve
// at the edge takes the one that a micrometer measured, wherever it lies, and
// the valve with room takes the other.
func TestConfidenceTellsEqualSizesApart(t *testing.T) {
	e := inline(2)
	// A stamp is open by 20 µm, a micrometer exact, the reading too.
	gauge := &shim.Gauge{Stamp: 20 * um}
	stamped := shim.BoxRow{Marks: shim.Marks{Stamp: 2450 * um}, Count: 1}
	miked := shim.BoxRow{Marks: shim.Marks{Stamp: 2450 * um, Mic: 2450 * um}, Count: 1}
	// in1 ends at 0.20, 10 µm from its limit: with a rectangle of ±20 µm it is
	// inside with 0.75. in2 ends at 0.18.
	edge := check(t, e, "in1 0.25 2.40", "in2 0.23 2.40")
	for i := range edge {
		edge[i].Mic = edge[i].Stamp
	}
	q := plan.Request{NoBuy: true, Box: []shim.BoxRow{stamped, miked}, Gauge: gauge, Jobs: []plan.JobRequest{{Engine: e, Check: edge}}}
	for confidence, near := range map[float64]int{0.7: 0, 0.8: 1} {
		q.Confidence, q.Box = confidence, []shim.BoxRow{stamped, stamped}
		p := made(t, q)
		assert.Equal(t, near, p.Criteria.Near, "%g, by mark", confidence)
		q.Box = []shim.BoxRow{stamped, miked}
		p = made(t, q)
		assert.Zero(t, p.Criteria.Near, "%g, one of each", confidence)
		if confidence > 0.75 {
			assert.True(t, valve(t, p, "in1").Miked)
			assert.False(t, valve(t, p, "in2").Miked)
		}
		f, known := p.Jobs[0].Forecast(valve(t, p, "in2"))
		require.True(t, known)
		assert.Equal(t, 1.0, f.Inside, "30 µm inside, open by 20")
	}
}

// Of two equal clearances the one that is the middle of a wide bracket gets the
// shim that leads to the middle; the other one has room for either.
func TestConfidenceTellsReadingsApart(t *testing.T) {
	e := inline(2)
	for _, wide := range []string{"in1", "in2"} {
		rows := check(t, e, "in1 0.24 2.40", "in2 0.24 2.40")
		for i := range rows {
			if rows[i].Valve.String() == wide {
				rows[i].Reading = shim.Reading{Kind: shim.Bracket, Low: 200 * um, High: 280 * um}
			}
		}
		p := made(t, plan.Request{
			NoBuy: true, Box: box(t, "2.45", "2.465"), Confidence: 0.85, Gauge: &shim.Gauge{Step: 10 * um},
			Jobs: []plan.JobRequest{{Engine: e, Check: rows}},
		})
		// Open by 40 µm, within limits of 70: 0.875 in the middle, 0.75 at 0.19.
		assert.Equal(t, length(t, "2.465"), valve(t, p, wide).Size, wide)
		assert.Zero(t, p.Criteria.Near, wide)
	}
}
