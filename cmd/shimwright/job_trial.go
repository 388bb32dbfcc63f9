package main

import (
	"fmt"
	"strings"

	"shimwright/inventory"
	"shimwright/inventory/work"
	"shimwright/shim"
	"shimwright/shim/plan"
)

// fitTrials says how to fit, book and measure the trial shims of a plan. Those of a
// valve that keeps its own are booked alone, before the rest of the plan.
func fitTrials(f inventory.File, list []work.Trial) string {
	e := &f.Engine.Spec
	var what, buy, valves, instead, read []string
	var bought shim.Valve
	whole := len(f.Left) == 0
	put := func(v shim.Valve, size shim.Length) {
		valves = append(valves, v.String())
		instead = append(instead, fmt.Sprintf("--instead %s=%s", v, e.Units.Size.FormatAtLeast(size, 3)))
		read = append(read, v.String()+"=CLEARANCE")
	}
	for _, t := range list {
		size := ofEngine(e).size(e.FamilyOf(t.Valve).Of(t.Size))
		switch t.Where {
		case "":
			size, bought = size+" to buy", t.Valve
			buy = append(buy, e.Units.Size.FormatAtLeast(t.Size, 3))
		case plan.PulledFrom:
			size += " from " + t.Lends.String()
			whole = true // it comes out with the rest of the plan
		case plan.Borrowed:
			size += fmt.Sprintf(" from %s, which gets this one meanwhile", t.Lends)
		default:
			size += " from the box"
		}
		what = append(what, fmt.Sprintf("%s: %s", t.Valve, size))
		put(t.Valve, t.Size)
		if t.Where == plan.Borrowed {
			for _, s := range f.Seats {
				if s.Valve == t.Valve {
					put(t.Lends, s.Size())
				}
			}
		}
	}
	text := "fit as a trial (" + strings.Join(what, "; ") + ")"
	if len(buy) > 0 {
		family := e.FamilyOf(bought)
		receive := fmt.Sprintf("shimwright box receive %s --diameter %s", strings.Join(buy, " "), e.Units.Size.FormatAtLeast(family.Diameter, 1))
		if family.Kind != "" {
			receive += " --family " + argument(family.Kind)
		}
		if e.Units.Size.String() == shim.IN.String() {
			receive += " --units in"
		}
		text = "book in what is bought: " + receive + "; " + text
	}
	command, again := "", "read"
	if len(f.Left) == 0 || whole {
		again = "recheck"
	}
	if whole && len(f.Left) > 0 {
		text += " with the rest of the plan"
	} else {
		command = " " + strings.Join(valves, " ")
	}
	if len(read) > maxReasons {
		read = []string{"VALVE=CLEARANCE …"}
	}
	if again == "recheck" && len(f.Left) > 0 {
		read = []string{"CHECK.csv"}
	}
	return fmt.Sprintf("%s and book it: shimwright job fit %d%s %s; then measure: shimwright job %s %[2]d %[6]s",
		text, f.Job.ID, command, strings.Join(instead, " "), again, strings.Join(read, " "))
}

// afterPlan is the next step once a plan was made: [next], but where it leaves
// nothing to fit, never to make it again.
func afterPlan(f inventory.File, made *plan.JobPlan) string {
	s := work.Next(f)
	switch s.Kind {
	case work.ReadValves, work.RecheckValves, work.RecheckOrPlan:
	case work.LookAt:
		if list := work.Trials(made); len(list) > 0 {
			return next(f) + "; if it stays without a number, " + fitTrials(f, list)
		}
		return next(f)
	default:
		return next(f)
	}
	if list := work.Trials(made); len(list) > 0 {
		return fitTrials(f, list)
	}
	command := "read"
	if f.Fitted != nil {
		command = "recheck"
	}
	text := remeasure(s, command)
	var want []string
	e := &f.Engine.Spec
	for i := range made.Valves {
		v := &made.Valves[i]
		if r := v.Reason; r == nil {
			continue
		} else if r.Kind == plan.NotOpened {
			text += fmt.Sprintf("; %s was not to be opened: shimwright job plan %d --lift all", v.Valve, f.Job.ID)
		} else if r.From != 0 && r.To >= r.From {
			u := e.Units.Size
			want = append(want, fmt.Sprintf("%s needs %s to %s", v.Valve, u.FormatAtLeast(r.From, 2), u.FormatAtLeast(r.To, 2)))
		} else if r.Kind == plan.NoTrial {
			want = append(want, fmt.Sprintf("%s about %s to be measured", v.Valve, e.Units.Size.FormatAtLeast(r.Size, 2)))
		}
	}
	if len(want) > 0 {
		text += "; if it stays so, no shim to be had serves: get one (" + strings.Join(short(want), "; ") + ") and book it in: shimwright box receive SIZE"
	}
	if !f.Job.Build {
		text += fmt.Sprintf("; or close the job as it is: shimwright job close %d --anyway", f.Job.ID)
	}
	return text
}
