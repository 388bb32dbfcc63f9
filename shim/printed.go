package shim

import "strings"

// A Printed length is a figure as a manual prints it, with its last digit.
type Printed struct {
	Text string
	Unit Unit
}

// digit is one of the figure's last digit.
func (p Printed) digit() Length {
	_, decimals, _ := strings.Cut(strings.TrimSpace(p.Text), ".")
	_, step := p.Unit.step(len(decimals))
	return Length(step)
}

// Slip compares a figure with another that is meant to be the same length in another
// unit. They differ where the distance is more than half the last digit of the
// coarser one: what rounding to the nearest may do. Right is the figure turned over
// to the other's unit, and slip says which of the slips of published manuals it may
// be, empty where it is none of them. Both figures have to be numbers.
func (p Printed) Slip(other Printed) (right, slip string, differ bool) {
	a, _ := p.Unit.Parse(p.Text)
	b, _ := other.Unit.Parse(other.Text)
	rounding := max(p.digit(), other.digit())
	if 2*(a-b).Abs() <= rounding {
		return "", "", false
	}
	_, decimals, _ := strings.Cut(strings.TrimSpace(other.Text), ".")
	least := other.Unit.Places() - 1
	right = other.Unit.Show(a, least, max(len(decimals), other.Unit.Places()))
	near := func(times Length) bool { return 2*(a-b*times).Abs() <= max(p.digit(), other.digit()*times) }
	over := func(times Length) bool { return 2*(a*times-b).Abs() <= max(p.digit()*times, other.digit()) }
	switch {
	case near(10), near(100), over(10), over(100):
		slip = "a decimal point seems to have slipped in one of them"
	case p.Unit != other.Unit && p.Text == other.Text:
		slip = "the figure was not turned over from one unit to the other"
	}
	return right, slip, true
}
