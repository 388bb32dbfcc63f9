package shim

import (
	"fmt"
	"slices"
	"strings"
)

// A Lift says which valves are to be opened in a job. Named lists camshafts
// ("intake", "exhaust-2") where access is by camshaft, valves where it is by
// valve; it is empty for the two general lifts.
type Lift struct {
	All   bool
	Named []string
	// None opens nothing: of several engines, what is named is the others'.
	None bool
}

// The general lifts.
var (
	// LiftNeeded opens the camshafts with a valve outside its limits; with
	// access by valve, every valve.
	LiftNeeded = Lift{}
	// LiftAll opens every valve.
	LiftAll = Lift{All: true}
)

// ParseLift reads "needed", "all", or names separated by commas or spaces.
// Whether an engine has what is named is for [Engine.Open] to say.
func ParseLift(text string) (Lift, error) {
	words := strings.FieldsFunc(strings.ToLower(text), func(r rune) bool { return r == ',' || r == ' ' })
	switch {
	case len(words) == 0:
		return Lift{}, fmt.Errorf("name what to lift: needed, all, or a list like intake,exhaust")
	case len(words) == 1 && words[0] == "needed":
		return LiftNeeded, nil
	case len(words) == 1 && words[0] == "all":
		return LiftAll, nil
	case slices.Contains(words, "needed"), slices.Contains(words, "all"):
		return Lift{}, fmt.Errorf("needed and all cannot be combined: %q", text)
	}
	return Lift{Named: words}, nil
}

// String is the lift as [ParseLift] reads it.
func (l Lift) String() string {
	switch {
	case l.All:
		return "all"
	case l.None:
		return "none"
	case len(l.Named) > 0:
		return strings.Join(l.Named, ",")
	}
	return "needed"
}

// Open tells which of the engine's valves the lift opens, in the order of
// [Engine.Valves], and the names of what is lifted. The check must hold one
// measurement of every valve, in the same order. The error names what the
// engine does not have.
func (e *Engine) Open(l Lift, check []Measurement) (open []bool, lifted []string, err error) {
	valves := e.Valves()
	open = make([]bool, len(valves))
	if l.None {
		return open, nil, nil
	}
	if e.Access == ByValve {
		return e.openValves(l, valves, open)
	}
	cams := e.CamshaftList()
	chosen := make([]bool, len(cams))
	for _, name := range l.Named {
		found := false
		for i, cam := range cams {
			if e.answers(cam, name) {
				chosen[i], found = true, true
			}
		}
		if !found {
			single := ""
			if v, err := ParseValve(name); err == nil && slices.Contains(valves, v) {
				single = "; single valves can be named only with shims on top"
			}
			return nil, nil, fmt.Errorf("%s has no camshaft %q: its camshafts are %s%s", e.Name, name, camNames(cams), single)
		}
	}
	for i, cam := range cams {
		if !chosen[i] && !l.All {
			if len(l.Named) > 0 {
				continue
			}
			needed := false
			for p, v := range valves {
				needed = needed || e.Covers(cam, v) && e.TrainOf(v).Outside(check[p].Reading)
			}
			if !needed {
				continue
			}
		}
		lifted = append(lifted, cam.Name)
		for p, v := range valves {
			open[p] = open[p] || e.Covers(cam, v)
		}
	}
	return open, lifted, nil
}

func (e *Engine) openValves(l Lift, valves []Valve, open []bool) ([]bool, []string, error) {
	for _, name := range l.Named {
		named := e.valvesNamed(name)
		if len(named) == 0 {
			return nil, nil, fmt.Errorf("%s has no valve %q: shims are changed valve by valve, so name valves from %s to %s",
				e.Name, name, valves[0], valves[len(valves)-1])
		}
		for _, place := range named {
			open[place] = true
		}
	}
	var lifted []string
	for p, v := range valves {
		open[p] = open[p] || len(l.Named) == 0
		if open[p] {
			lifted = append(lifted, v.String())
		}
	}
	return open, lifted, nil
}

// Lifts reports whether the engine has what the name of a lift asks for.
func (e *Engine) Lifts(name string) bool {
	if e.Access == ByValve {
		return len(e.valvesNamed(name)) > 0
	}
	return slices.ContainsFunc(e.CamshaftList(), func(c Camshaft) bool { return e.answers(c, name) })
}

// answers reports whether the camshaft is one that the name asks for: by its own
// name, by that without the bank, by the side of a shared one. The only bank of
// an engine is its first.
func (e *Engine) answers(cam Camshaft, name string) bool {
	if len(e.BankList()) == 1 {
		name = strings.TrimSuffix(name, "-1")
	}
	return cam.Name == name || strings.HasPrefix(cam.Name, name+"-") || cam.Shared && e.sideOf(cam, name)
}

// valvesNamed lists the places of the valve of that name, or of all valves of
// the side of that name, of one bank or of all.
func (e *Engine) valvesNamed(name string) (places []int) {
	if v, err := ParseValve(name); err == nil {
		if place, found := e.Find(v); found {
			return []int{place}
		}
		return nil
	}
	for bank, cylinders := range e.BankList() {
		for place, v := range e.Valves() {
			if slices.Contains(cylinders, v.Cylinder) && (name == v.Side.String() || name == fmt.Sprintf("%s-%d", v.Side, bank+1)) {
				places = append(places, place)
			}
		}
	}
	return places
}

// sideOf reports whether the name asks for a side's camshafts and the shared
// camshaft is one of them: "intake" for all banks, "intake-2" for the second.
func (e *Engine) sideOf(cam Camshaft, name string) bool {
	for _, side := range Sides {
		if name == side.String() || name == fmt.Sprintf("%s-%d", side, cam.Bank) {
			return true
		}
	}
	return false
}

func camNames(cams []Camshaft) string {
	names := make([]string, len(cams))
	for i, cam := range cams {
		names[i] = cam.Name
	}
	return strings.Join(names, ", ")
}
