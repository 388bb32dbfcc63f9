package report

import (
	"fmt"
	"math"

	"shimwright/shim"
	"shimwright/shim/plan"
)

// MeasureFirst is the heading of what is worth measuring before the work begins.
const MeasureFirst = "Measure first, and plan again"

// nextSection says what is worth measuring before the work begins, a line each,
// how likely all valves end inside then, on average, and how likely the plan is
// another one then.
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
	what := "Measure the shim of " + valve + " with a micrometer"
	if n.Leaves != 0 {
		u := j.Units.Clearance
		what = "Read " + valve + " again"
		if j.Engine.Access == shim.ByCamshaft && !j.Build {
			what = "Before teardown read " + valve + " again"
		}
		what += " with leaves " + bare{u}.Show(n.Leaves, places(u)-1, places(u)) + " apart"
	}
	text := what + ": "
	if math.Abs(n.After-n.Before) >= 0.005 {
		text += "chance that all end inside " + short(n.After) + " instead of " + short(n.Before) + "; "
	}
	text += "chance of a new plan " + short(n.Changes)
	switch saved := math.Round(100*n.Saved) / 100; {
	case saved >= 0.05:
		text += fmt.Sprintf("; on average %.1f fewer shims to buy", saved)
	case saved <= -0.05:
		text += fmt.Sprintf("; on average %.1f more shims to buy", -saved)
	}
	return text + "."
}
