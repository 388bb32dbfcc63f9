package files

import (
	"strings"

	"shimwright/shim"
)

// An engine is an engine with what reading its checks needs again and again.
type engine struct {
	*shim.Engine
	names []string // of the valves, in order
}

// An engineList finds engines by name.
type engineList struct {
	list  []*engine
	cells map[string]int // by what cells hold
}

func newEngineList(engines []*shim.Engine) engineList {
	l := engineList{cells: map[string]int{}}
	for _, e := range engines {
		known := &engine{Engine: e}
		for _, v := range e.Valves() {
			known.names = append(known.names, v.String())
		}
		l.list = append(l.list, known)
	}
	return l
}

// find is the place of the engine that the cell names, without regard to case
// and to how much space stands between its words.
func (l engineList) find(cell string) (int, bool) {
	if i, found := l.cells[cell]; found {
		return i, true
	}
	words := func(s string) string { return strings.Join(strings.Fields(strings.ToLower(s)), " ") }
	wanted := words(cell)
	for i, e := range l.list {
		if words(e.Name) == wanted {
			remember(l.cells, cell, i)
			return i, true
		}
	}
	return 0, false
}

func (l engineList) names() []string {
	names := make([]string, len(l.list))
	for i, e := range l.list {
		names[i] = e.Name
	}
	return names
}

// span names the first and the last valve.
func (e *engine) span() string {
	if len(e.names) == 0 {
		return "none"
	}
	return e.names[0] + " to " + e.names[len(e.names)-1]
}
