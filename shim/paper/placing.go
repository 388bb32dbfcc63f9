package paper

import (
	"fmt"
	"strings"
)

// A Placing says where the intake side of a bank is drawn. The engine is seen
// from above, its cam-drive end at the top of the page.
type Placing uint8

// The placings. Inside is toward the middle of an engine with two banks (the
// valley of a V, the top of a flat one) and left on one with a single bank;
// Outside is the other side.
const (
	Inside Placing = iota
	Outside
	Left
	Right
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

// left tells whether the intake side of the bank is drawn on its left.
func (p Placing) left(rightBank bool) bool {
	switch p {
	case Left:
		return true
	case Right:
		return false
	case Outside:
		return !(rightBank)
	}
	return rightBank
}
