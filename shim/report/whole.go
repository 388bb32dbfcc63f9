package report

import (
	"fmt"
	"shimwright/shim"

	"shimwright/shim/plan"
)

// untilLine says what looking ahead gains.
func untilLine(u *plan.Until) string {
	if u == nil {
		return ""
	}
	text := "Looking ahead: all inside at " + u.Meter + ": " + short(u.Inside)
	if more := u.Inside - u.Without; more > 0.005 {
		text += " instead of " + short(u.Without)
	}
	if u.Bought > 0 {
		text += "; for that it buys " + shim.Count(u.Bought, "shim") + " more"
	}
	return text + "."
}

// wholeLine says how likely all valves of a job end inside together, or those
// that can.
func wholeLine(w plan.Whole) string {
	all, one := "all end inside", "a valve"
	switch {
	case w.Valves == 0:
		return "Chance: no valve is measured and inside, so nothing can be said."
	case w.Others > 0 && w.Valves == 1:
		all, one = "the other one ends inside", "the other one"
	case w.Others > 0:
		all, one = fmt.Sprintf("the other %d all end inside", w.Valves), fmt.Sprintf("one of the other %d", w.Valves)
	}
	if w.Probability == 1 {
		return "Chance: nothing that gauge and marks leave open puts " + one + " outside."
	}
	return "Chance that " + all + ": " + short(w.Probability) + "."
}
