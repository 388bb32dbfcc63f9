package report

import (
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"

	"shimwright/shim"
	"shimwright/shim/internal/plantest"
	"shimwright/shim/recheck"
)

// What to do about a shim of a wrong size is held against the limits: it may stay in a
// valve that is inside with it, and one of the record's size is not the cure where that
// would leave the valve outside, too.
func TestRecheckNextOfAWrongSize(t *testing.T) {
	for name, c := range map[string]struct {
		reading, expected, sure string
		says, not               []string
	}{
		"may stay":     {"0.17", "0.20", "strong", []string{"The shim in in1a may stay: the valve is inside its limits with it."}, []string{"Put right", "by micrometer"}},
		"outside":      {"0.05", "0.16", "strong", []string{"If in1a reads the same, read the mark of its shim and mic it: if it is not 2.425, record", "plan again (shimwright solve)"}, []string{"too."}},
		"outside, too": {"0.05", "0.09", "strong", []string{"would leave in1a outside its limits, too."}, []string{"Put right"}},
		"likely":       {"0.05", "0.09", "likely", []string{"mic it: if it is not 2.425", "would leave in1a outside its limits, too.", "whatever else is wrong"}, nil},
	} {
		t.Run(name, func(t *testing.T) {
			p := plantest.FittedTwin()
			check := plantest.AsExpected(&p.Jobs[0], nil)
			check[6].Reading = shim.ReadingOf(p.Jobs[0].Valves[6].Limits.Loose + 5_000) // no fault of it
			j := recheck.Compare(p, 0, check, recheck.Measuring{})
			v := &j.Valves[0]
			v.Reading, v.Expected = shim.ReadingOf(plantest.MM(t, c.reading)), plantest.MM(t, c.expected)
			if v.Verdict = shim.OK; c.reading == "0.05" {
				v.Verdict = shim.Tight
			}
			assert.Equal(t, shim.Limits{Tight: plantest.MM(t, "0.10"), Loose: plantest.MM(t, "0.20")}, v.Limits)
			j.Report.Explanations = []recheck.Explanation{{
				Faults:      []recheck.Fault{{Kind: recheck.WrongSize, Valves: []shim.Valve{v.Valve}, Sizes: []shim.Length{v.Size + v.Expected - v.Reading.Low}}},
				Probability: map[string]float64{"strong": 0.99, "likely": 0.7}[c.sure],
			}}
			out := strings.Join(strings.Fields(textOf(t, Recheck(&recheck.Comparison{Jobs: []recheck.ComparedJob{j}}), false)), " ")
			_, out, _ = strings.Cut(out, "What comes next")
			for _, words := range c.says {
				assert.Contains(t, out, words)
			}
			for _, words := range c.not {
				assert.NotContains(t, out, words)
			}
		})
	}
}

// Exchanged shims on top go where they belong as hands can do it: together where one
// position of the crank opens their valves, else with another shim in between.
func TestRecheckNextOfShimsOnTop(t *testing.T) {
	for name, c := range map[string]struct {
		order     []int
		round     []int // each holds the shim of the next one
		says, not string
	}{
		"together": {[]int{1, 3, 4, 2}, []int{0, 1}, "in1, ex1 can be opened together with the crank at 0°, firing TDC of cylinder 1. Never turn the crank while", "let another shim"},
		"apart":    {[]int{1, 3, 4, 2}, []int{0, 2, 4, 6}, "No crank position opens all of in1, in2, in3, in4: let another shim that leaves a clearance sit in one of them meanwhile. Never turn", "can be opened"},
		"unknown":  {nil, []int{0, 1}, "Let another shim that leaves a clearance sit in a valve while its own is out. Never turn", "can be opened"},
	} {
		t.Run(name, func(t *testing.T) {
			p := goesRound(t, c.order, "2.35")
			j := recheck.Compare(p, 0, plantest.AsExpected(&p.Jobs[0], nil), recheck.Measuring{})
			f := recheck.Fault{Kind: recheck.Exchanged}
			for i, at := range c.round {
				v, held := &j.Valves[at], j.Valves[c.round[(i+1)%len(c.round)]].Size
				v.Reading = shim.ReadingOf(max(v.Expected+v.Size-held, 0))
				v.Verdict = v.Limits.Judge(v.Reading)
				f.Valves, f.Sizes = append(f.Valves, v.Valve), append(f.Sizes, held)
			}
			j.Report.Explanations = []recheck.Explanation{{Probability: 0.99, Faults: []recheck.Fault{f}}}
			out := strings.Join(strings.Fields(textOf(t, Recheck(&recheck.Comparison{Jobs: []recheck.ComparedJob{j}}), false)), " ")
			assert.Contains(t, out, "into in1")
			assert.Contains(t, out, c.says)
			assert.NotContains(t, out, c.not)
		})
	}
}

// A gauge that is off is checked, and no valve blamed; where to look is said once for
// faults of a kind, and else with the valves.
func TestRecheckLooks(t *testing.T) {
	p := plantest.FittedTwin()
	of := func(faults ...recheck.Fault) string {
		j := recheck.Compare(p, 0, plantest.AsExpected(&p.Jobs[0], map[string]shim.Length{"in1a": -90}), recheck.Measuring{})
		j.Report.Explanations = []recheck.Explanation{{Probability: 0.8, Faults: faults}}
		return strings.Join(strings.Fields(textOf(t, Recheck(&recheck.Comparison{Jobs: []recheck.ComparedJob{j}}), false)), " ")
	}
	v := p.Jobs[0].Valves
	gauge := of(recheck.Fault{Kind: recheck.GaugeOffset, Shift: -90_000})
	assert.Contains(t, gauge, "Check the gauge before you take anything apart. Then measure every valve again, and recheck.")
	assert.NotContains(t, gauge, "named here")
	pair := func(a, b int) recheck.Fault {
		return recheck.Fault{Kind: recheck.Exchanged, Valves: []shim.Valve{v[a].Valve, v[b].Valve}, Sizes: []shim.Length{v[b].Size, v[a].Size}}
	}
	assert.Equal(t, 1, strings.Count(of(pair(0, 1), pair(4, 5)), "take these shims out"))
	loose := recheck.Fault{Kind: recheck.Unseated, Valves: []shim.Valve{v[6].Valve}, Shift: 80_000}
	both := of(pair(0, 1), loose)
	assert.Contains(t, both, "Look first: in1a, in1b: take these shims out")
	assert.Contains(t, both, "; ex2a: measure this valve again")
	assert.Contains(t, both, "Measure in1a, in1b, ex2a again before you take anything apart.")
}
