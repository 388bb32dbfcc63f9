package shim

import (
	"fmt"
	"slices"
	"strconv"
	"strings"
)

// A UnitPair is the unit of clearances and that of shims: a gauge in inches may
// measure an engine whose shims are sold in mm, and the other way round. Sizes and
// diameters of shims are in Size; all else, limits and differences of clearances
// among it, is in Clearance.
type UnitPair struct{ Clearance, Size Unit }

// Both is the pair where clearances and shims are in this unit.
func (u Unit) Both() UnitPair { return UnitPair{u, u} }

// Mixed reports whether shims have another unit than clearances.
func (p UnitPair) Mixed() bool { return p.Clearance != p.Size }

// String is "mm" or "in", or "clearances in, shims mm" where there are two.
func (p UnitPair) String() string {
	if p.Mixed() {
		return "clearances " + p.Clearance.String() + ", shims " + p.Size.String()
	}
	return p.Clearance.String()
}

// Shown is the pair with the units that are asked for in place of its own.
func (p UnitPair) Shown(in Showing) UnitPair {
	if in.Clearance != nil {
		p.Clearance = *in.Clearance
	}
	if in.Size != nil {
		p.Size = *in.Size
	}
	return p
}

// A Showing is the units to print in; nil is the engine's own.
type Showing struct{ Clearance, Size *Unit }

// pairs are the pairs by their number in JSON. Those of one unit have the number that
// an engine was kept with when it had one for all: it is still the same engine.
var pairs = []UnitPair{MM.Both(), IN.Both(), {MM, IN}, {IN, MM}}

// MarshalJSON writes the pair's number.
func (p UnitPair) MarshalJSON() ([]byte, error) {
	return strconv.AppendInt(nil, int64(slices.Index(pairs, p)), 10), nil
}

// UnmarshalJSON reads it.
func (p *UnitPair) UnmarshalJSON(data []byte) error {
	n, err := strconv.Atoi(string(data))
	if err != nil || n < 0 || n >= len(pairs) {
		return fmt.Errorf("%s is no pair of units", data)
	}
	*p = pairs[n]
	return nil
}

// CutUnit takes the unit off the end of what was typed: ".006in", "0.15 mm", or `"`
// for inches. Without one, or with two, the text is as it was and the unit the given
// one.
func CutUnit(text string, u Unit) (figure string, in Unit) {
	text = strings.TrimSpace(text)
	in = u
	var second Unit
	if figure = cutUnit(text, &in); cutUnit(figure, &second) != figure {
		return text, u
	}
	return figure, in
}

func cutUnit(text string, u *Unit) string {
	for _, end := range []struct {
		mark string
		unit Unit
	}{{"mm", MM}, {"in", IN}, {`"`, IN}} {
		if n := len(text) - len(end.mark); n > 0 && strings.EqualFold(text[n:], end.mark) {
			*u = end.unit
			return strings.TrimSpace(text[:n])
		}
	}
	return text
}

// ParseTyped is [Unit.Parse] for what was typed: with a unit behind it, the figure
// is in that one.
func (u Unit) ParseTyped(text string) (Length, error) {
	figure, in := CutUnit(text, u)
	return in.Parse(figure)
}
