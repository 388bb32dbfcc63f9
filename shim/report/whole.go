package report

import (
	"fmt"
	"math"

	"shimwright/shim/plan"
)

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
	return "Chance that " + all + ": " + odds(w.Probability) + "."
}

// odds says a probability as one does at the bench, never as certain or
// impossible where it is neither.
func odds(p float64) string {
	if n := int(math.Round(100 * p)); n%10 == 0 && p >= 0.01 && p <= 0.99 {
		return fmt.Sprintf("%d in 10", n/10)
	}
	return in100(p)
}

// in100 is odds always of a hundred.
func in100(p float64) string {
	switch {
	case p <= 0:
		return "no chance"
	case p > 0.99:
		return "more than 99 in 100"
	case p < 0.01:
		return "less than 1 in 100"
	}
	return fmt.Sprintf("%d in 100", int(math.Round(100*p)))
}
