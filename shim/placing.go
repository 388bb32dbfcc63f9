package shim

import (
	"fmt"
	"strings"
)

// A Placing says where the intake side of a bank is drawn. The engine is seen
// from above, its cam-drive end at the top of the page.
type Placing uint8

// The placings. IntakeInside is toward the middle of an engine with two banks (the
// valley of a V, the top of a flat one) and left on one with a single bank;
// IntakeOutside is the other side.
const (
	IntakeInside Placing = iota
	IntakeOutside
	IntakeLeft
	IntakeRight
)

// Placings lists the words, the default first.
var Placings = []string{"inside", "outside", "left", "right"}

// String is the placing's word.
func (p Placing) String() string { return Placings[p] }

// ParsePlacing reads a placing's word.
func ParsePlacing(text string) (Placing, error) {
	for i, word := range Placings {
		if strings.EqualFold(strings.TrimSpace(text), word) {
			return Placing(i), nil
		}
	}
	return 0, fmt.Errorf("%q is none of %s", text, strings.Join(Placings, ", "))
}

// OnLeft reports whether the intake side of the bank is drawn on its left.
func (p Placing) OnLeft(rightBank bool) bool {
	switch p {
	case IntakeLeft:
		return true
	case IntakeRight:
		return false
	case IntakeOutside:
		return !rightBank
	}
	return rightBank
}

// IntakeOnLeft reports whether drawings have the intake side of a bank, counted
// from 0, on its left. Banks are drawn in pairs, side by side; a single bank is
// drawn as the right one of two.
func (e *Engine) IntakeOnLeft(p Placing, bank int) bool {
	return p.OnLeft(len(e.BankList()) == 1 || bank%2 == 1)
}

// Openers lists a cylinder's valves of one side, from the cam-drive end, closers
// left out.
func (e *Engine) Openers(s Side, cylinder int) []Valve {
	valves := make([]Valve, e.Train(s).Valves)
	for i := range valves {
		valves[i] = opener(s, cylinder, i, len(valves))
	}
	return valves
}

// opener is the valve in a place, counted from 0, of the n that a cylinder has
// on the side. Where there is one the letter is left out.
func opener(s Side, cylinder, place, n int) Valve {
	v := Valve{Side: s, Cylinder: cylinder}
	if n > 1 {
		v.Letter = 'a' + byte(place)
	}
	return v
}
