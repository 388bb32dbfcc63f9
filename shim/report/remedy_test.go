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
		"outside":      {"0.05", "0.16", "strong", []string{"If in1a reads the same, mic its shim: if that is not 2.425, record", "plan again (shimwright solve)"}, []string{"too."}},
		"outside, too": {"0.05", "0.09", "strong", []string{"would leave in1a outside its limits, too."}, []string{"Put right"}},
		"likely":       {"0.05", "0.09", "likely", []string{"mic its shim: if that is not 2.425", "would leave in1a outside its limits, too.", "whatever else is wrong"}, nil},
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
