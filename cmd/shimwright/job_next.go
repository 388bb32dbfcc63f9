package main

import (
	"fmt"
	"strings"

	"shimwright/inventory"
	"shimwright/shim"
)

// nextLine says what comes next in a job, as a line for people.
func nextLine(f inventory.File) string {
	if next := next(f); next != "" {
		return "Next: " + next
	}
	return ""
}

// next says what comes next in a job; nothing where it is at its end.
func next(f inventory.File) string {
	n := f.Job.ID
	do := func(what, command string) string {
		return fmt.Sprintf("%s: shimwright job %s", what, fmt.Sprintf(command, n))
	}
	switch f.Job.State {
	case inventory.Open:
		return do("measure every valve, engine cold", "read %d CHECK.csv")
	case inventory.Measured:
		switch {
		case len(f.Unproven) == 0:
			return do("every valve is inside its limits", "close %d")
		case unread(f) > 0:
			return do(fmt.Sprintf("%s not read yet", count(unread(f), "valve")), "read %d CHECK.csv") + fmt.Sprintf("; or plan the others: shimwright job plan %d", n)
		}
		return do("plan", "plan %d")
	case inventory.Planned, inventory.Fitting:
		return nextFit(f, do)
	case inventory.Complete:
		return do("turn the engine over several times by hand, then measure every valve again", "recheck %d CHECK.csv")
	case inventory.Rechecked:
		if len(f.Unproven) == 0 {
			return do("every valve is inside its limits", "close %d")
		}
		return nextRechecked(f, do)
	}
	return ""
}

// nextFit says what comes next where a plan stands.
func nextFit(f inventory.File, do func(what, command string) string) string {
	missing, coming := 0, 0
	for _, p := range f.Purchases {
		missing += p.Missing()
		coming += p.Coming()
	}
	switch {
	case f.Job.Short > 0:
		return do(count(f.Job.Short, "piece")+" that the plan counts on went from the box; plan again", "plan %d")
	case len(f.Left) == 0 && len(f.Unproven) == 0:
		return do("nothing to change and every valve is inside its limits", "close %d")
	case len(f.Left) == 0 && f.Fitted != nil:
		return do(strings.Join(short(f.Unproven), "; ")+"; measure again", "recheck %d VALVE=CLEARANCE …")
	case len(f.Left) == 0:
		return do(strings.Join(short(f.Unproven), "; ")+"; measure again", "read %d VALVE=CLEARANCE …")
	case missing > 0:
		return fmt.Sprintf("order %s: shimwright job order", count(missing, "piece")) + "; " + do("fit what is here", "fit %d VALVE …")
	case coming > 0:
		return fmt.Sprintf("wait for %s on order: shimwright job order --arrived", count(coming, "piece")) + "; " + do("fit what is here", "fit %d VALVE …")
	case f.Job.State == inventory.Fitting:
		return do("fit what is left", "fit %d")
	}
	return do("fit", "fit %d")
}

// unread counts the valves that no check has.
func unread(f inventory.File) int {
	read := map[shim.Valve]bool{}
	for _, c := range f.Checks {
		for _, m := range c.Readings {
			read[m.Valve] = read[m.Valve] || m.Reading.Kind != shim.Unread
		}
	}
	n := 0
	for _, v := range f.Engine.Spec.Valves() {
		if !read[v] {
			n++
		}
	}
	return n
}

// maxReasons bounds how many valves a line names.
const maxReasons = 4

// short cuts a list of reasons.
func short(reasons []string) []string {
	if len(reasons) <= maxReasons {
		return reasons
	}
	return append(reasons[:maxReasons:maxReasons], fmt.Sprintf("%d more", len(reasons)-maxReasons))
}

// heading says what was done to a job: "Job 12 (Sandpiper 720 twin, AB 123): …".
func heading(j inventory.Job, format string, args ...any) string {
	return fmt.Sprintf("Job %d (%s): ", j.ID, about(j)) + fmt.Sprintf(format, args...)
}
