package report

import (
	"fmt"
	"math"
	"slices"
	"strings"

	"shimwright/shim/plan"
)

// MeasureFirst is the heading of what is worth measuring before the work begins.
const MeasureFirst = "Measure first, and plan again (gains on average)"

// nextSection says what is worth measuring before the work begins, a line each:
// what it gains on average, and how likely the plan is another one then.
func nextSection(p *plan.Plan) Section {
	s := Section{Level: 2, Heading: MeasureFirst}
	for i := range p.Next {
		s.Notes = append(s.Notes, nextLine(p, &p.Next[i]))
	}
	return s
}

func nextLine(p *plan.Plan, n *plan.Next) string {
	j := &p.Jobs[n.Job]
	valve := n.Valve.String()
	if len(p.Jobs) > 1 {
		valve += " of " + jobName(j)
	}
	what := "Mic " + valve + "'s shim"
	if n.Leaves != 0 {
		u := j.Units.Clearance
		what = "Read " + valve + " with leaves " + bare{u}.Show(n.Leaves, places(u)-1, places(u)) + " apart"
	}
	var gains []string
	if math.Abs(n.After-n.Before) >= 0.005 {
		gains = append(gains, "all inside "+short(n.After)+", not "+short(n.Before))
	}
	switch saved := math.Round(100*n.Saved) / 100; {
	case saved >= 0.05: // before a chance that falls for it
		gains = slices.Insert(gains, 0, fmt.Sprintf("%.1f fewer to buy", saved))
	case saved <= -0.05:
		gains = append(gains, fmt.Sprintf("%.1f more to buy", -saved))
	}
	return what + ": " + strings.Join(append(gains, "new plan in "+short(n.Changes)), "; ") + "."
}
