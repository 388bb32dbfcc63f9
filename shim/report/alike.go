package report

import (
	"shimwright/shim"
	"shimwright/shim/plan"
	"shimwright/shim/recheck"
)

// mostPairs bounds how many pairs are named.
const mostPairs = 3

// alikeNote says which pairs are not to be mixed up, since a recheck would not
// show it. It is empty where there are none.
func alikeNote(j *plan.JobPlan) string {
	pairs := recheck.Alike(j)
	if len(pairs) == 0 {
		return ""
	}
	var names []string
	for _, p := range pairs[:min(mostPairs, len(pairs))] {
		names = append(names, p.Valves[0].String()+" and "+p.Valves[1].String())
	}
	if more := len(pairs) - len(names); more > 0 {
		names = append(names, shim.Count(more, "more pair"))
	}
	return "Do not mix these up, a recheck could not prove it: " + list(names, "and") + "."
}
