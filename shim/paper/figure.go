package paper

import (
	"strings"

	"shimwright/shim"
)

// limitsOf writes limits with their unit, as package report does: converted
// ones never widen.
func limitsOf(u shim.Unit, l shim.Limits) string {
	least, most := 2, 3
	if u == shim.IN {
		least, most = 3, 4
	}
	if u.Exact(l.Tight, most) && u.Exact(l.Loose, most) {
		most++
	}
	tight, loose := u.ShowLimits(l, least, most)
	return trimZero(u, tight) + " - " + trimZero(u, loose) + " " + u.String()
}

// trimZero drops the zero before the point of a figure in inches.
func trimZero(u shim.Unit, text string) string {
	if u == shim.IN && strings.HasPrefix(text, "0.") {
		return text[1:]
	}
	return text
}

// breakable lets a range wrap behind its dash.
func breakable(text string) string { return strings.ReplaceAll(text, "-", "-\u200b") }

func or(text, other string) string {
	if text == "" {
		return other
	}
	return text
}
