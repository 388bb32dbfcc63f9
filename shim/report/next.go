package report

import (
	"fmt"
	"math"
	"strings"

	"shimwright/shim"
	"shimwright/shim/plan"
)

// MeasureFirst is the heading of what is worth measuring before the work begins.
const MeasureFirst = "Measure first, and plan again"

// nextSection says what is worth measuring before the work begins, a line each.
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
		what = "Read " + valve + " again"
		if j.Engine.Access == shim.ByCamshaft {
			what += " before teardown"
		}
		what += ", leaves " + bare{j.Units}.Show(n.Leaves, places(j.Units)-1, places(j.Units)) + " apart"
	}
	text := what + ": " + odds(n.Changes) + " that the plan changes"
	if math.Abs(n.After-n.Before) >= 0.005 {
		text += fmt.Sprintf("; on average %s instead of %s that all end inside", strings.TrimSuffix(in100(n.After), " in 100"), in100(n.Before))
	}
	switch saved := math.Round(100*n.Saved) / 100; {
	case saved >= 0.05:
		text += fmt.Sprintf("; %.1f purchases fewer", saved)
	case saved <= -0.05:
		text += fmt.Sprintf("; %.1f purchases more", -saved)
	}
	return text + "."
}
