package main

import (
	"errors"
	"fmt"
	"io"
	"slices"
	"strings"

	"shimwright/inventory"
	"shimwright/shim"
)

// scanShims asks, valve by valve, for the shim that goes in: its label scanned or
// its size typed. It gives the valves whose shim is the planned one. A wrong one
// is asked for again on a terminal, and is an error elsewhere.
func (b *bench) scanShims(f inventory.File, valves []shim.Valve, u shim.Unit) ([]shim.Valve, error) {
	if b.person {
		fmt.Fprintln(b.err, "Scan the label or type the size of each shim before it goes in; skip leaves a valve out.")
	}
	var right []shim.Valve
	for _, p := range f.Left {
		if len(valves) > 0 && !slices.Contains(valves, p.Valve) {
			continue
		}
		for {
			line, err := b.prompt(fmt.Sprintf("%s: %s %s: ", p.Valve, sizeText(p.Size, u), origin(p)))
			if errors.Is(err, io.EOF) {
				return nil, hint(usage(fmt.Errorf("the input ends before the shim of %s", p.Valve)), "a line for each valve; skip leaves one out")
			}
			if err != nil {
				return nil, err
			}
			if strings.EqualFold(line, "skip") {
				break
			}
			err = rightShim(f, p, line, u)
			if err == nil {
				right = append(right, p.Valve)
				break
			}
			if !b.person {
				return nil, err
			}
			complain(b.err, err)
		}
	}
	if len(right) == 0 {
		return nil, hint(errors.New("no shim was scanned: nothing is booked"), "scan the labels, or fit without --scan")
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
	if diameter != 0 && !same(diameter, f.Job.Diameter, u) {
		return hint(usage(fmt.Errorf("%s: this shim has diameter %s, the engine's have %s", p.Valve, discText(diameter, u), discText(f.Job.Diameter, u))), "take one of the right diameter")
	}
	if same(size, p.Size, u) {
		return nil
	}
	way := "what went in all the same is told with --instead"
	for _, other := range f.Left {
		if same(size, other.Size, u) {
			way = "that size is for " + other.Valve.String()
			break
		}
	}
	return hint(usage(fmt.Errorf("%s gets %s, not %s", p.Valve, sizeText(p.Size, u), sizeText(size, u))), way)
}
