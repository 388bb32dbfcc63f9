package shim

import (
	"fmt"
	"strings"
)

// A State is how warm the engine is while it is measured.
type State uint8

// The states.
const (
	Cold State = iota
	Warm
)

// States are the words for a [State].
var States = []string{Cold.String(), Warm.String()}

// String is "cold" or "warm".
func (s State) String() string {
	if s == Warm {
		return "warm"
	}
	return "cold"
}

// Other is the state that this one is not.
func (s State) Other() State { return Warm - s }

// ParseState reads the word of a state.
func ParseState(text string) (State, error) {
	for s := Cold; s <= Warm; s++ {
		if strings.EqualFold(strings.TrimSpace(text), s.String()) {
			return s, nil
		}
	}
	return Cold, Fail(nil, `write "cold" or "warm"`, "%q is no state of an engine", text)
}

// MarshalText is the state's word.
func (s State) MarshalText() ([]byte, error) { return []byte(s.String()), nil }

// UnmarshalText reads the state's word.
func (s *State) UnmarshalText(text []byte) (err error) {
	*s, err = ParseState(string(text))
	return err
}

// Own is the state that the engine file is for: that of a check which says none.
func (e *Engine) Own() State {
	if e.Turned {
		return e.State.Other()
	}
	return e.State
}

// BothStates reports whether the maker gives limits for both states.
func (e *Engine) BothStates() bool {
	return e.Intake.OtherLimits != nil || e.Exhaust.OtherLimits != nil
}

// In is the engine as it is judged in the state: with the limits that the maker
// gives for it. Limits of one state never judge the other, so that an engine
// whose file has none for it is an error. What the file says of the temperature
// to measure at is about its own state, and the other has none.
func (e *Engine) In(s State) (*Engine, error) {
	if e.State == s {
		return e, nil
	}
	other := *e
	other.State, other.Turned = s, !e.Turned
	for _, side := range Sides {
		t := &other.Intake
		if side == Exhaust {
			t = &other.Exhaust
		}
		if t.Valves == 0 {
			continue
		}
		if t.Closer != nil {
			return nil, Fail(nil, fmt.Sprintf("measure it %s", e.State), "%s has limits of its closers for a %s engine alone", e.Name, e.State)
		}
		if t.OtherLimits == nil {
			return nil, Fail(nil, fmt.Sprintf("write the maker's limits for it into the engine file: [%s.%s] with clearance = [tight, loose]", side, s),
				"%s has no %s limits for a %s engine, and limits of a %s one never judge it", e.Name, side, s, e.State)
		}
		own := t.Limits
		t.Limits, t.OtherLimits = *t.OtherLimits, &own
	}
	if other.Before != nil {
		before := *other.Before
		before.Temperature, before.Corrections = nil, nil
		other.Before = &before
	}
	return &other, nil
}
