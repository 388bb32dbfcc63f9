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
	what := "Mic the shim of " + valve
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
		text += "all inside " + short(n.After) + " instead of " + short(n.Before) + "; "
	}
	text += "plan changes in " + short(n.Changes)
	switch saved := math.Round(100*n.Saved) / 100; {
	case saved >= 0.05:
		text += fmt.Sprintf("; %.1f fewer to buy on average", saved)
	case saved <= -0.05:
		text += fmt.Sprintf("; %.1f more to buy on average", -saved)
	}
	return text + "."
}
