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

// A scanStep is one shim to put in, or a line to print.
type scanStep struct {
	say string // the heading of a stop, or a temporary shim; no question
	inventory.Placement
}

// scanSteps lists the rest of the plan in fitting-list order, with its stops;
// placements that are not on the list come last.
func scanSteps(f inventory.File, valves []shim.Valve) ([]scanStep, error) {
	if f.Plan == nil || len(f.Left) == 0 {
		return nil, nil // the shop reports the error
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
	if j.Engine.Access == shim.ByValve {
		steps = append(steps, scanStep{say: strings.Join(shim.OnTopCautions, "\n")})
	}
	for _, s := range work.HandSteps(f, j, moves, valves) {
		switch {
		case s.Kind == work.PutForNow:
			steps = append(steps, scanStep{say: fmt.Sprintf("%s: put in %s temporarily", s.Valve, ofEngine(j.Engine).size(j.Engine.FamilyOf(s.Valve).Of(s.Size)))})
		case s.Kind == work.PutIn:
			steps = append(steps, scanStep{Placement: s.Placement})
		case stops[s.Stop].Heading != "":
			steps = append(steps, scanStep{say: stops[s.Stop].Heading})
		}
	}
	return steps, nil
}

// scanShims asks for each shim in working order: a scanned label or a typed
// size. It returns the valves whose shim is the planned one. A wrong shim is
// asked for again on a terminal, and is an error elsewhere.
func (a *app) scanShims(f inventory.File, book *shim.MarkBook, valves []shim.Valve, u shim.Unit) ([]shim.Valve, error) {
	steps, err := scanSteps(f, valves)
	if err != nil {
		return nil, err
	}
	if a.person {
		fmt.Fprintln(a.err, "Scan the label or type the size of each shim before you put it in; type skip to leave a valve out.")
	}
	var right []shim.Valve
	for i, p := range steps {
		if p.say != "" {
			if i > 0 && !a.person {
				fmt.Fprintln(a.err) // no typed newline ended the last question
			}
			fmt.Fprintln(a.err, p.say)
			continue
		}
		for {
			e := &f.Engine.Spec
			line, err := a.prompt(fmt.Sprintf("%s: %s %s: ", p.Valve, ofEngine(e).size(e.FamilyOf(p.Valve).Of(p.Size)), origin(p.Placement)))
			if errors.Is(err, io.EOF) {
				return nil, wrong("give one line for each valve; skip leaves one out", "the input ends before the shim for %s", p.Valve)
			}
			if err != nil {
				return nil, err
			}
			if strings.EqualFold(line, "skip") {
				break
			}
			err = rightShim(f, book, p.Placement, line, u)
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
		return nil, shim.Fail(nil, "scan the labels, or fit without --scan", "no shim was scanned; nothing is booked")
	}
	return right, nil
}

// rightShim returns an error if the scanned shim is not the planned one for the
// valve; the hint names the valve it is for.
func rightShim(f inventory.File, book *shim.MarkBook, p inventory.Placement, text string, u shim.Unit) error {
	e := &f.Engine.Spec
	if err := book.Differ(text, e.FamilyOf(p.Valve), u); err != nil {
		return wrong("", "%w", err)
	}
	var in shim.Disc
	switch m, is := e.MarksOf(p.Valve).Read(text, u, e.Ranges(p.Valve), 0, p.Size); {
	case is && m.Plain && m.Size == 0:
		return wrong("", "%w", m.Open(text, u, ""))
	case is && m.Size == 0:
		return wrong("if you fitted it anyway, book it with --instead", "%s takes %s, not %s", p.Valve, ofEngine(e).size(e.FamilyOf(p.Valve).Of(p.Size)), shim.WithMark(m.Sizes(u), text))
	case is:
		in.Size = m.Size // the planned one if the mark can mean that
	default:
		var err error
		if in, err = parseShim(text, u); err != nil {
			return err
		}
	}
	family := e.FamilyOf(p.Valve)
	if in.Diameter != 0 && (in.Kind != family.Kind || !work.Same(in.Diameter, family.Diameter, u)) {
		return wrong("use a shim of the right family", "%s: this shim has %s, this valve takes %s", p.Valve, familyText(in.Family, u), familyText(family, u))
	}
	if work.Same(in.Size, p.Size, u) {
		return nil
	}
	way := "if you fitted it anyway, book it with --instead"
	for _, other := range f.Left {
		if e.FamilyOf(other.Valve) == family && work.Same(in.Size, other.Size, u) {
			way = "that size is for " + other.Valve.String()
			break
		}
	}
	return wrong(way, "%s takes %s, not %s", p.Valve, ofEngine(e).size(family.Of(p.Size)), ofEngine(e).size(family.Of(in.Size)))
}
