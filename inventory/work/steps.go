package work

import (
	"slices"

	"shimwright/inventory"
	"shimwright/shim"
	"shimwright/shim/plan"
)

// A HandStepKind says what a step of the hands is.
type HandStepKind int

// Kinds of step.
const (
	GoToStop  HandStepKind = iota // something of the fit is done at Stop
	PutForNow                     // the temporary shim Size goes into Valve
	PutIn                         // the placement's shim goes in
)

// A HandStep is one step of a fit in working order.
type HandStep struct {
	Kind HandStepKind
	Stop int
	inventory.Placement
}

// HandSteps are what is left of the job's plan, of the valves alone where some are
// named, in working order. Stops are the moves of the fitting list by where the
// crank stands; what the list does not have comes last.
func HandSteps(f inventory.File, j *plan.JobPlan, stops [][]plan.Move, valves []shim.Valve) []HandStep {
	left := map[shim.Valve]inventory.Placement{}
	for _, p := range f.Left {
		if len(valves) == 0 || slices.Contains(valves, p.Valve) {
			left[p.Valve] = p
		}
	}
	opened := map[shim.Valve]int{} // the row that a valve's shim comes out in
	for _, m := range slices.Backward(j.Moves) {
		opened[m.Valve] = m.Step
	}
	var steps []HandStep
	goesIn := func(v shim.Valve) {
		if place, wanted := left[v]; wanted {
			steps = append(steps, HandStep{Kind: PutIn, Placement: place})
			delete(left, v)
		}
	}
	waiting := map[int][]shim.Valve{} // by the row whose shim they get
	for at, moves := range stops {
		said := false
		for _, m := range moves {
			_, wanted := left[m.Valve]
			if wanted && !said {
				steps, said = append(steps, HandStep{Kind: GoToStop, Stop: at}), true
			}
			switch {
			case wanted && m.Temporary:
				steps = append(steps, HandStep{Kind: PutForNow, Placement: inventory.Placement{Valve: m.Valve, Size: m.In}})
			case m.From != nil && opened[m.From.Valve] > m.Step:
				row := opened[m.From.Valve]
				waiting[row] = append(waiting[row], m.Valve)
			default:
				goesIn(m.Valve)
			}
			for _, v := range waiting[m.Step] {
				goesIn(v)
			}
		}
	}
	for _, place := range f.Left {
		goesIn(place.Valve)
	}
	return steps
}
