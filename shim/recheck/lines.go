package recheck

import (
	"cmp"
	"slices"
)

// A Line is what people read as one: an explanation, or several that differ only
// in whether a valve's shim is a wrong size or the valve is wrong by itself. The
// readings cannot tell these two apart; a micrometer does.
type Line struct {
	Probability float64 // of all of them together
	// Faults has, for each fault, the kinds that it may be, the likeliest first.
	Faults [][]Fault
}

// Lines are the explanations in as few lines as tell them, the likeliest first.
func (r *Report) Lines() []Line { return linesOf(r.Explanations) }

func linesOf(explanations []Explanation) []Line {
	var lines []Line
	for _, e := range explanations {
		at := slices.IndexFunc(lines, func(l Line) bool { return l.holds(e) })
		if at < 0 {
			at = len(lines)
			lines = append(lines, Line{Faults: make([][]Fault, len(e.Faults))})
		}
		l := &lines[at]
		l.Probability += e.Probability
		for i, f := range e.Faults {
			if !slices.ContainsFunc(l.Faults[i], func(g Fault) bool { return g.Kind == f.Kind }) {
				l.Faults[i] = append(l.Faults[i], f)
			}
		}
	}
	return lines
}

// rank sorts explanations, the likeliest first: those of one line count together
// and stand together.
func rank(explanations []Explanation) {
	lines := linesOf(explanations)
	line := func(e Explanation) int { return slices.IndexFunc(lines, func(l Line) bool { return l.holds(e) }) }
	slices.SortStableFunc(explanations, func(a, b Explanation) int {
		i, k := line(a), line(b)
		return cmp.Or(cmp.Compare(lines[k].Probability, lines[i].Probability), cmp.Compare(i, k), cmp.Compare(b.Probability, a.Probability))
	})
}

// holds reports whether an explanation differs from those of the line at most in
// the kind of a fault of one valve, where it has just one such fault.
func (l Line) holds(e Explanation) bool {
	if len(l.Faults) != len(e.Faults) {
		return false
	}
	alone, differ := 0, false
	for i, f := range e.Faults {
		g := l.Faults[i][0]
		switch {
		case !slices.Equal(f.Valves, g.Valves):
			return false
		case f.alone() && g.alone():
			alone++
			differ = differ || f.Kind != g.Kind
		case f.Kind != g.Kind || !slices.Equal(f.Sizes, g.Sizes):
			return false
		}
	}
	return !differ || alone == 1
}

// alone reports whether a fault is of the kinds that move the gap of one valve
// alone.
func (f Fault) alone() bool { return f.Kind == Unseated || f.Kind == WrongSize && len(f.Valves) == 1 }

// Look says what to look at first where a fault may be any of the kinds given, of
// [Line.Faults].
func Look(kinds []Fault) string {
	switch {
	case len(kinds) == 1:
		return kinds[0].Look()
	case kinds[0].Valves[0].Closer && kinds[0].Shift > 0:
		return Fault{Kind: Unseated, Valves: kinds[0].Valves, Shift: kinds[0].Shift}.Look()
	case kinds[0].Valves[0].Closer:
		return "set this closer on its base circle and measure it again; if it stays tight, take its shim out, read its mark and measure it; if its size is right, look at the half rings, and for dirt on the valve's seat"
	case kinds[0].Shift > 0:
		return "measure this valve again; if it stays loose, take the shim out, read its mark and measure it; if its size is right, look for dirt on the valve's seat and test it for leaks"
	}
	return "set this valve on its base circle and measure it again; if it stays tight, take the shim out, read its mark and measure it; if its size is right, look under the shim and the bucket"
}
