package report

import (
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"

	"shimwright/shim"
	"shimwright/shim/doubt"
	"shimwright/shim/plan"
)

// The screen calls nothing certain that is not, nor impossible what may be.
func TestWholeIsNeverRoundedToCertainty(t *testing.T) {
	of := func(p, e float64) plan.Whole {
		return plan.Whole{Chance: doubt.Chance{Probability: p, Error: e, Sampled: e > 0}, Valves: 8}
	}
	for _, c := range []struct {
		p    float64
		says string
	}{
		{0.9, "90%"}, {0.896, "90%"}, {0.67341, "67%"}, {0.9999999, ">99%"},
		{0.995, ">99%"}, {1e-12, "<1%"}, {0, "0%"},
	} {
		assert.Contains(t, wholeLine(of(c.p, 0)), ": "+c.says+".")
	}
	certain := of(1, 0)
	assert.NotContains(t, wholeLine(certain), "100")
	left := of(0.9, 0)
	left.Others = 2
	assert.Contains(t, wholeLine(left), "the other 8", "said only of those that can be inside")
}

// The head says it once, and of the same valves as the plan.
func TestHeadSaysHowSureTheWholeIs(t *testing.T) {
	e := single(t, "Plover 250")
	p := made(t, plan.Request{Jobs: []plan.JobRequest{{Engine: e, Check: check(t, e, "0.12 2.5", "0.23 2.7"), Lift: shim.LiftAll}}})
	w := p.AllInside(0)
	assert.Equal(t, 2, w.Valves)
	lines := 0
	for _, s := range Plan(p, Options{}).Sections {
		for _, l := range s.Lines {
			if strings.HasPrefix(l, wholeLine(w)) {
				lines++
			}
		}
	}
	assert.Equal(t, 1, lines)
}
