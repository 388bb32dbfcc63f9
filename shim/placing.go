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
