package report

import (
	"strings"

	"shimwright/shim"
	"shimwright/shim/plan"
	"shimwright/shim/recheck"
)

// mostPairs is the most pairs a note names; of more than that it names one fewer,
// to stay short.
const mostPairs = 3

// alikeNote says which pairs are not to be mixed up, since a recheck would not
// show it. It is empty where there are none.
func alikeNote(j *plan.JobPlan) string {
	pairs := recheck.Alike(j)
	if len(pairs) == 0 {
		return ""
	}
	named, more := pairs, ""
	if len(pairs) > mostPairs {
		named = pairs[:mostPairs-1]
		more = " (" + shim.Count(len(pairs)-len(named), "more pair") + ")"
	}
	var names []string
	for _, p := range named {
		names = append(names, p.Valves[0].String()+"/"+p.Valves[1].String())
	}
	return "Keep apart, a recheck cannot tell: " + strings.Join(names, ", ") + more + "."
}
