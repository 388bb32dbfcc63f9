package main

import (
	"errors"
	"fmt"
	"io"
	"strings"

	"shimwright/inventory"
	"shimwright/inventory/work"
	"shimwright/shim"
	"shimwright/shim/plan"
	"shimwright/shim/report"
)

// A scanStep is one shim that goes in, or a word on the way to it.
type scanStep struct {
	say string // the heading of a stop, or a temporary shim; no shim is asked for
	inventory.Placement
}

// scanSteps are what is left of the plan in the working order of its fitting
// list, with its stops; what the list does not have comes last.
func scanSteps(f inventory.File, valves []shim.Valve) ([]scanStep, error) {
	if f.Plan == nil || len(f.Left) == 0 {
		return nil, nil // the shop says what is wrong
	}
	p, err := work.PlanOf(f, f.Plan)
	if err != nil {
		return nil, err
	}
	j := &p.Jobs[0]
	stops := report.Stops(p, j)
	moves := make([][]plan.Move, len(stops))
	for i := range stops {
		moves[i] = stops[i].Moves
	}
	var steps []scanStep
	for _, s := range work.HandSteps(f, j, moves, valves) {
		switch {
		case s.Kind == work.PutForNow:
			steps = append(steps, scanStep{say: fmt.Sprintf("%s: %s goes in for now", s.Valve, sizeText(s.Size, j.Units))})
		case s.Kind == work.PutIn:
			steps = append(steps, scanStep{Placement: s.Placement})
		case stops[s.Stop].Heading != "":
			steps = append(steps, scanStep{say: stops[s.Stop].Heading})
		}
	}
	return steps, nil
}

// scanShims asks, in working order, for the shim that goes in: its label scanned
// or its size typed. It gives the valves whose shim is the planned one. A wrong one
// is asked for again on a terminal, and is an error elsewhere.
func (a *app) scanShims(f inventory.File, valves []shim.Valve, u shim.Unit) ([]shim.Valve, error) {
	steps, err := scanSteps(f, valves)
	if err != nil {
		return nil, err
	}
	if a.person {
		fmt.Fprintln(a.err, "Scan the label or type the size of each shim before it goes in; skip leaves a valve out.")
	}
	var right []shim.Valve
	for i, p := range steps {
		if p.say != "" {
			if i > 0 && !a.person {
				fmt.Fprintln(a.err) // nobody typed it behind the last question
			}
			fmt.Fprintln(a.err, p.say)
			continue
		}
		for {
			line, err := a.prompt(fmt.Sprintf("%s: %s %s: ", p.Valve, sizeText(p.Size, u), origin(p.Placement)))
			if errors.Is(err, io.EOF) {
				return nil, wrong("a line for each valve; skip leaves one out", "the input ends before the shim of %s", p.Valve)
			}
			if err != nil {
				return nil, err
			}
			if strings.EqualFold(line, "skip") {
				break
			}
			err = rightShim(f, p.Placement, line, u)
			if err == nil {
				right = append(right, p.Valve)
				break
			}
			if !a.person {
				return nil, err
			}
			complain(a.err, err)
		}
	}
	if len(right) == 0 {
		return nil, shim.Fail(nil, "scan the labels, or fit without --scan", "no shim was scanned: nothing is booked")
	}
	return right, nil
}

// rightShim is an error where a scanned shim is not the one that the plan has
// for the valve; it names the valve that the shim is for.
func rightShim(f inventory.File, p inventory.Placement, text string, u shim.Unit) error {
	size, diameter, err := parseShim(text, u)
	if err != nil {
		return err
	}
	if diameter != 0 && !work.Same(diameter, f.Job.Diameter, u) {
		return wrong("take one of the right diameter", "%s: this shim has diameter %s, the engine's have %s", p.Valve, diameterText(diameter, u), diameterText(f.Job.Diameter, u))
	}
	if work.Same(size, p.Size, u) {
		return nil
	}
	way := "what went in all the same is told with --instead"
	for _, other := range f.Left {
		if work.Same(size, other.Size, u) {
			way = "that size is for " + other.Valve.String()
			break
		}
	}
	return wrong(way, "%s gets %s, not %s", p.Valve, sizeText(p.Size, u), sizeText(size, u))
}
