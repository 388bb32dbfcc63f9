package shim

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

// CautionsInShort are the cautions on a screen, in three lines at most: of 60
// places, of 40 and of 20.
var CautionsInShort = []string{
	"Cautions: engine cold, turned by hand in its running direction. Mic each shim, measure every valve before starting. The manual rules. More: docs/cautions.md.",
	"Cautions: engine cold; crank by hand forward. Mic shims; measure all again. Manual first. More: docs/cautions.md.",
	"Cautions first: docs/cautions.md.",
}
