package paper

import (
	"strings"

	"shimwright/shim"
	"shimwright/shim/report"
)

// limitsOf writes limits with their unit.
func limitsOf(u shim.Unit, l shim.Limits) string {
	return strings.ReplaceAll(report.Limits(u, l), "-", " - ") + " " + u.String()
}

// breakable lets a range wrap behind its dash.
func breakable(text string) string { return breaks.Replace(text) }

var breaks = strings.NewReplacer("-", "-\u200b", ".closer", ".\u200bcloser")

func or(text, other string) string {
	if text == "" {
		return other
	}
	return text
}
