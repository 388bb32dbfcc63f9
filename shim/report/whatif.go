package report

import (
	"fmt"
	"strings"

	"shimwright/shim"
	"shimwright/shim/plan"
)

// WhatIfs says what else could have been done, a line each.
func WhatIfs(p *plan.Plan, list []plan.WhatIf) Section {
	s := Section{Level: 2, Heading: "What if"}
	for i := range list {
		s.Notes = append(s.Notes, whatIf(p, &list[i]))
	}
	if len(s.Notes) > 0 {
		all := strings.Join(s.Notes, " ")
		s.RunIn, s.Screen = true, s.Heading+": "+strings.ToLower(all[:1])+all[1:]
	}
	return s
}

func whatIf(p *plan.Plan, w *plan.WhatIf) string {
	j := &p.Jobs[w.Job]
	u := j.Units.Size
	of := ""
	if len(p.Jobs) > 1 && w.What != plan.InBox {
		of = " of " + jobName(j)
	}
	change := change(p, w)
	switch w.What {
	case plan.LiftToo:
		return "Lifting the " + w.Camshaft + " camshaft" + of + " as well would " + change + "."
	case plan.LeaveIn:
		if change == "" {
			return "The " + w.Camshaft + " camshaft" + of + " could stay in: nothing is bought or left outside for it."
		}
		return "Leaving the " + w.Camshaft + " camshaft" + of + " in would " + change + "."
	case plan.InBox:
		kind := ""
		if w.Family.Kind != "" {
			kind = w.Family.Kind + " "
		}
		return "One more " + kind + anyOf(p.Units().Size, w.Sizes, func(l shim.Length) string { return p.Mark(w.Family.Of(l)) }) + " in the box would " + change + "."
	case plan.FinerStep:
		if len(p.Jobs[w.Job].Engine.Catalogue) == 1 {
			return "Sizes in steps of " + size(u, w.Step) + " on sale" + of + " would " + change + "."
		}
	}
	return "Sizes from " + size(u, w.From) + " to " + size(u, w.To) + " in steps of " + size(u, w.Step) + " on sale" + of + " would " + change + "."
}

// change says what the plan would gain and what that would take.
func change(p *plan.Plan, w *plan.WhatIf) string {
	var parts []string
	was, is := &p.Criteria, &w.Criteria
	if n := p.Outside() - w.Outside; n > 0 {
		parts = append(parts, "bring "+shim.Count(n, "more valve")+" inside")
	}
	switch n := was.Bought - is.Bought; {
	case n > 0:
		parts = append(parts, fmt.Sprintf("save buying %d", n))
	case n < 0:
		parts = append(parts, "take "+shim.Count(-n, "purchase more", "purchases more"))
	}
	switch saved := was.Cost - is.Cost; {
	case saved > 0 && was.Bought > is.Bought:
		parts[len(parts)-1] += " (" + saved.String() + ")"
	case saved > 0:
		parts = append(parts, "cost "+saved.String()+" less")
	case saved < 0:
		parts = append(parts, "cost "+(-saved).String()+" more")
	}
	if len(parts) > 0 {
		switch n := is.Disturbed - was.Disturbed; {
		case n > 0:
			parts = append(parts, "touch "+shim.Count(n, "valve that is fine", "valves that are fine"))
		case n < 0:
			parts = append(parts, "spare "+shim.Count(-n, "valve that is fine", "valves that are fine"))
		}
	}
	return list(parts, "and")
}

// list joins words as a sentence does.
func list(parts []string, last string) string {
	if len(parts) < 2 {
		return strings.Join(parts, "")
	}
	return strings.Join(parts[:len(parts)-1], ", ") + " " + last + " " + parts[len(parts)-1]
}

// mostRuns bounds how many sizes, or runs of them, a sentence names.
const mostRuns = 3

// anyOf names sizes: three and more in even steps as a run, so that nothing is
// said of a size that was not asked about or does not do. Of many the first
// ones are named. A run names no marks.
func anyOf(u shim.Unit, sizes []shim.Length, mark func(shim.Length) string) string {
	var names []string
	for at := 0; at < len(sizes) && len(names) < mostRuns; {
		end := at + 1
		for end < len(sizes) && sizes[end]-sizes[end-1] == sizes[at+1]-sizes[at] {
			end++
		}
		if end-at < 4 { // as short in full
			names = append(names, shim.WithMark(size(u, sizes[at]), mark(sizes[at])))
			at++
			continue
		}
		names = append(names, size(u, sizes[at])+" to "+size(u, sizes[end-1])+" in steps of "+size(u, sizes[at+1]-sizes[at]))
		at = end
	}
	return list(names, "or")
}

func jobName(j *plan.JobPlan) string {
	if j.Job != "" {
		return "job " + j.Job
	}
	return j.Engine.Name
}

// Together says what planning several jobs together saves against planning
// them one after another.
func Together(p *plan.Plan, alone plan.Criteria) Section {
	s := Section{Level: 2, Heading: "Planned together"}
	line := func(what string, together, after string) {
		s.Table.Rows = append(s.Table.Rows, []string{what, together, after})
	}
	s.Table = &Table{Kind: "together", Header: []string{"", "together", "one after another"}, Right: []int{1, 2}}
	number := func(what string, together, after int) {
		line(what, fmt.Sprint(together), fmt.Sprint(after))
	}
	number("valves left outside", p.Criteria.Unserved, alone.Unserved)
	number("to buy", p.Criteria.Bought, alone.Bought)
	line("cost", p.Criteria.Cost.String(), alone.Cost.String())
	number("near a limit", p.Criteria.Near, alone.Near)
	number("from the box", p.Criteria.Drawn, alone.Drawn)
	return s
}
