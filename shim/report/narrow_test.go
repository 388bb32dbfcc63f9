package report

import (
	"strings"
	"testing"

	"github.com/jedib0t/go-pretty/v6/text"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"shimwright/shim"
)

// On a narrow terminal no line is wider, and nothing is lost.
func TestNarrow(t *testing.T) {
	words := strings.Repeat("measure again ", 8)
	for _, places := range []int{60, 40} {
		d := &Document{Sections: []Section{{Level: 1, Heading: words, Lines: []string{words}, Notes: []string{words}, Table: &Table{
			Header: []string{"valve", "limits", "reading", "is", "shim", "do", "fit", "then", "room", "sure"},
			Rows:   [][]string{{"in1a", "0.14-0.21", "0.15-0.18", "TIGHT", "2.450", "BUY", "2.500", "0.175", "0.035", "99% ±16"}, {"ex1b", "0.20-0.27", "0.60", "", "2.300", "leave", "", "0.600", "-0.330", ""}},
			Footer: []string{"total", "", "", "", "", "", "", "", "12.50", ""}, Right: []int{4, 6, 7, 8},
		}}}}
		var b strings.Builder
		require.NoError(t, d.Narrow(places).Text(&b, false))
		for line := range strings.Lines(b.String()) {
			assert.LessOrEqual(t, text.StringWidth(strings.TrimRight(line, "\n")), places, "%q", line)
		}
		for _, cell := range []string{"in1a", "0.14-0.21", "0.15-0.18", "TIGHT", "2.450", "BUY", "2.500", "0.175", "0.035", "99% ±16", "-0.330", "12.50"} {
			assert.Contains(t, strings.Join(strings.Fields(b.String()), " "), cell)
		}
	}
}

// The cautions take three lines at most, and name their page.
func TestCautionsInThreeLines(t *testing.T) {
	for _, e := range []*shim.Engine{{}, {Access: shim.ByValve}} {
		for places := 20; places <= LineWidth; places++ {
			var b strings.Builder
			d := &Document{Sections: []Section{cautions(e)}}
			require.NoError(t, d.Narrow(places).Text(&b, false))
			assert.LessOrEqual(t, strings.Count(b.String(), "\n"), 3, "%d places:\n%s", places, b.String())
			assert.Contains(t, b.String(), "docs/cautions.md", "%d places", places)
			if places >= 40 {
				assert.Equal(t, e.Access == shim.ByValve, strings.Contains(b.String(), "piston"), "%d places:\n%s", places, b.String())
			}
		}
	}
}
