package shim

import (
	"cmp"
	"fmt"
	"strconv"
	"strings"
)

// A Side is the side of the head that a valve belongs to.
type Side uint8

// The two sides.
const (
	Intake Side = iota
	Exhaust
)

// Sides lists both sides in the order in which valves are listed.
var Sides = [2]Side{Intake, Exhaust}

// String is "intake" or "exhaust".
func (s Side) String() string {
	if s == Exhaust {
		return "exhaust"
	}
	return "intake"
}

// prefix is the beginning of a valve's name.
func (s Side) prefix() string {
	if s == Exhaust {
		return "ex"
	}
	return "in"
}

// MaxValves is the most valves that one side of a cylinder may have.
const MaxValves = 5

// MaxCylinders is the most cylinders that an engine may have.
const MaxCylinders = 64

// A Valve names one valve: its side, its cylinder (1 and up, as the maker
// counts) and its letter, counted from the cam-drive end. Letter is 0 where
// the name leaves it out, as it may with one valve a side.
//
// A valve that a second follower closes has a clearance and a shim there too:
// Closer names that end of it.
type Valve struct {
	Side     Side
	Cylinder int
	Letter   byte
	Closer   bool
}

// closer ends the name of a valve's closing end.
const closer = ".closer"

// ParseValve reads a name such as "in1a", "EX4b", "in2" or "in1a.closer", without
// regard to case or surrounding space.
func ParseValve(text string) (Valve, error) {
	name := strings.ToLower(strings.TrimSpace(text))
	fail := func() (Valve, error) {
		return Valve{}, fmt.Errorf("%q is not a valve name: in or ex, the cylinder number, a letter from the cam-drive end, like in1a", text)
	}
	var v Valve
	switch {
	case strings.HasPrefix(name, Intake.prefix()):
		v.Side = Intake
	case strings.HasPrefix(name, Exhaust.prefix()):
		v.Side = Exhaust
	default:
		return fail()
	}
	digits, closes := strings.CutSuffix(name[2:], closer)
	v.Closer = closes
	if digits != "" {
		if last := digits[len(digits)-1]; last >= 'a' && last < 'a'+MaxValves {
			v.Letter, digits = last, digits[:len(digits)-1]
		}
	}
	for i := 0; i < len(digits); i++ {
		if digits[i] < '0' || digits[i] > '9' {
			return fail()
		}
	}
	n, err := strconv.Atoi(digits)
	if err != nil || n < 1 || n > MaxCylinders {
		return fail()
	}
	v.Cylinder = n
	return v, nil
}

// String is the valve's name in lower case.
func (v Valve) String() string {
	name := v.Side.prefix() + strconv.Itoa(v.Cylinder)
	if v.Letter != 0 {
		name += string(v.Letter)
	}
	if v.Closer {
		name += closer
	}
	return name
}

// MarshalText is the valve's name.
func (v Valve) MarshalText() ([]byte, error) { return []byte(v.String()), nil }

// UnmarshalText reads the valve's name.
func (v *Valve) UnmarshalText(text []byte) error {
	parsed, err := ParseValve(string(text))
	if err == nil {
		*v = parsed
	}
	return err
}

// Compare orders valves by cylinder, then intake before exhaust, then letter,
// then the opener before the closer.
func (v Valve) Compare(w Valve) int {
	by := cmp.Or(cmp.Compare(v.Cylinder, w.Cylinder), cmp.Compare(v.Side, w.Side), cmp.Compare(v.Letter, w.Letter))
	switch {
	case by != 0 || v.Closer == w.Closer:
		return by
	case w.Closer:
		return -1
	}
	return 1
}

// Other is the same valve's other end: the closer's opener, the opener's closer.
func (v Valve) Other() Valve {
	v.Closer = !v.Closer
	return v
}
