package report

import (
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"shimwright/shim"
	"shimwright/shim/wear"
)

func chartOf(points int) Chart {
	um := shim.Micrometre
	c := Chart{Chart: wear.Chart{Valve: shim.Valve{Side: shim.Exhaust, Cylinder: 2, Letter: 'b'}, Limits: shim.Limits{Tight: 200 * um, Loose: 270 * um}}, Kind: shim.Kilometres}
	for i := range points {
		c.Points = append(c.Points, wear.ChartPoint{Meter: 12_000 * float64(i+1), Clearance: 260*um - shim.Length(i)*10*um, Other: i == 0})
	}
	return c
}

// A chart keeps to its line and its rows, in plain ASCII, whatever it shows.
func TestChartLines(t *testing.T) {
	for points := range 5 {
		for _, band := range []bool{false, true} {
			c := chartOf(points)
			if band && points > 0 {
				last := c.Points[points-1].Meter
				c.Band = []wear.ChartBand{{Meter: last, Low: 220_000, High: 240_000}, {Meter: last + 12_000, Low: -5_000_000, High: 900_000}}
			}
			for _, places := range []int{0, 34, 40, 70, 200} {
				lines := c.Lines(places)
				assert.LessOrEqual(t, len(lines), chartRows+3)
				for _, line := range lines[1:] {
					assert.LessOrEqual(t, len(line), max(34, min(places, 70)))
					assert.Empty(t, strings.Trim(line, " -+|:.,0123456789oxkmnreadigs"), line)
				}
				text := strings.Join(lines[1:], "\n")
				if points > 0 {
					assert.Equal(t, points-1, strings.Count(strings.Join(lines[1:chartRows+1], "\n"), "o"), "each reading has its column")
					assert.Equal(t, 1, strings.Count(text, "x"), "and so has one over another shim")
					assert.Equal(t, band, strings.Contains(text, ":"))
					assert.Contains(t, text, "0.20 |")
					assert.Contains(t, text, "0.27 |")
				}
			}
		}
	}
}

// Lower on the chart is tighter: a valve that closes falls from left to right.
func TestChartFalls(t *testing.T) {
	c := chartOf(4)
	at := -1
	for _, line := range c.Lines(64)[1 : chartRows+1] {
		for i, r := range line {
			if r == chartRead || r == chartOther {
				require.Greater(t, i, at, line)
				at = i
			}
		}
	}
	require.Positive(t, at)
	low, high := Chart{Chart: wear.Chart{Band: []wear.ChartBand{{Meter: 0, Low: 100, High: 200}, {Meter: 10, Low: 0, High: 300}}}}.bandAt(5)
	assert.EqualValues(t, 50, low)
	assert.EqualValues(t, 250, high)
	_, _, bottom, _ := c.Span()
	assert.Less(t, bottom, c.Limits.Tight)
}

func TestChartMarkdown(t *testing.T) {
	var b strings.Builder
	require.NoError(t, (&Document{Sections: ChartSections([]Chart{chartOf(3)})}).Markdown(&b))
	assert.Equal(t, 2, strings.Count(b.String(), "```"))
	assert.Contains(t, b.String(), "\n  0.20 |")
}
