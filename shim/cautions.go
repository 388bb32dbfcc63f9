package shim

import (
	"slices"
	"strings"
)

// Cautions are the cautions that go with every plan, short. docs/cautions.md
// has them in full. Common practice, and in the service manuals that the tests
// name: cold engine, running direction, micrometer, turning before the recheck.
var Cautions = []string{
	"Engine cold, within the maker's temperature. Ignition and starter made safe.",
	"Turn the crank by hand, in its running direction only, never with cams loose.",
	"Measure each shim with a micrometer before it goes in. Never grind, pack or stack shims.",
	"Before starting, turn the engine over several times by hand and measure every valve again.",
	"A wrong shim ruins a valve or a piston, and an engine that locks hurts people: the maker's service manual and a qualified technician have the last word.",
}

// OnTopCautions are the cautions of changing shims on top. The crank is never turned with
// the tool on (Jaguar 2004); a pressed valve can touch its piston (McLaren,
// Lombardini).
var OnTopCautions = []string{
	"Never turn the crank while the tool holds a tappet down, nor while a valve has no shim.",
	"A valve that is pressed down can touch its piston: press it only where the maker's manual says so, never at TDC unless it does.",
}

// CautionsInShort are the cautions on a screen, in three lines at most: of 60
// places, of 40 and of 20.
var CautionsInShort = []string{
	"Cautions: engine cold, turned by hand in its running direction. Mic each shim, measure every valve before starting. The manual rules. More: docs/cautions.md.",
	"Cautions: engine cold; crank by hand forward. Mic shims; measure all again. Manual first. More: docs/cautions.md.",
	"Cautions first: docs/cautions.md.",
}

// onTopInShort are those of shims on top: for 80 places, 60, 40 and 20.
var onTopInShort = []string{
	"Cautions: engine cold, turned by hand in its running direction, never with the tool on: a pressed valve can touch its piston. Mic each shim, measure every valve before starting. The manual rules. More: docs/cautions.md.",
	"Cautions: engine cold; crank by hand forward, never with the tool on. A pressed valve can touch its piston. Mic shims; measure all again. Manual first. docs/cautions.md.",
	"Cautions: cold; crank forward, tool off; a pressed valve can hit its piston. More: docs/cautions.md.",
	"Cautions first: docs/cautions.md.",
}

// CautionsFor are the cautions of work on engines, in full and for a screen.
// Those of shims on top stand where one of the engines has them.
func CautionsFor(engines ...*Engine) (full, short []string) {
	full, short = cautionsOfAccess(engines)
	return inStates(full, engines), inStates(short, engines)
}

// inStates are the cautions, which are of a cold engine, for engines that were
// measured warm.
func inStates(list []string, engines []*Engine) []string {
	warm := func(e *Engine) bool { return e.State == Warm }
	cold := func(e *Engine) bool { return e.State == Cold }
	if !slices.ContainsFunc(engines, warm) {
		return list
	}
	words := strings.NewReplacer("ngine cold", "ngine warm", "Cautions: cold;", "Cautions: warm;")
	if slices.ContainsFunc(engines, cold) {
		words = strings.NewReplacer("ngine cold", "ngine as cold or warm as stated", "Cautions: cold;", "Cautions: cold or warm;")
	}
	list = slices.Clone(list)
	for i := range list {
		list[i] = words.Replace(list[i])
	}
	return list
}

func cautionsOfAccess(engines []*Engine) (full, short []string) {
	if slices.ContainsFunc(engines, func(e *Engine) bool { return e.Access == ByValve }) {
		return slices.Insert(slices.Clone(Cautions), 2, OnTopCautions...), onTopInShort
	}
	return Cautions, CautionsInShort
}
