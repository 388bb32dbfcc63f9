package report

import (
	"fmt"
	"math"
	"strings"

	"shimwright/shim"
	"shimwright/shim/wear"
)

// A Chart is a valve's [wear.Chart] with the units that it is shown in.
type Chart struct {
	wear.Chart
	Unit  shim.Unit
	Kind  shim.MeterKind
	Watch bool // whether the valve is one to watch
}

// Span is what of the meter and of clearance the chart has to show: all readings,
// the band and the limits, with some room around the limits.
func (c Chart) Span() (from, to float64, low, high shim.Length) {
	room := (c.Limits.Loose - c.Limits.Tight) / 6
	low, high = c.Limits.Tight-room, c.Limits.Loose+room
	from, to = math.Inf(1), math.Inf(-1)
	for _, p := range c.Points {
		from, to = min(from, p.Meter), max(to, p.Meter)
		low, high = min(low, p.Clearance), max(high, p.Clearance)
	}
	for _, b := range c.Band {
		from, to = min(from, b.Meter), max(to, b.Meter)
		// A band may run far out: what is outside the limits is outside.
		width := c.Limits.Loose - c.Limits.Tight
		low, high = min(low, max(b.Low, c.Limits.Tight-width)), max(high, min(b.High, c.Limits.Loose+width))
	}
	if from == to {
		from, to = from-1, to+1
	}
	return from, to, low, high
}

// Meter writes one end of the meter's axis.
func (c Chart) Meter(x float64) string {
	return shim.MeterOf(math.Round(x), c.Kind).String()
}

// Words says what the chart shows, for who cannot see it.
func (c Chart) Words() string {
	if len(c.Points) == 0 {
		return "no readings"
	}
	last := c.Points[len(c.Points)-1]
	text := fmt.Sprintf("limits %s; %s from %s to %s, the last %s", Limits(c.Unit, c.Limits)+" "+c.Unit.String(), shim.Count(len(c.Points), "reading"),
		c.Meter(c.Points[0].Meter), c.Meter(last.Meter), c.clearance(last.Clearance))
	if n := len(c.Band); n > 0 {
		b := c.Band[n-1]
		text += fmt.Sprintf("; at %s likely %s to %s", c.Meter(b.Meter), c.clearance(b.Low), c.clearance(b.High))
	}
	return text
}

func (c Chart) clearance(l shim.Length) string { return c.Unit.Show(l, 2, 3) }

// The least and the most that a chart takes of a line, and its rows.
const (
	chartLeast, chartMost = 34, 64
	chartRows             = 8
)

// Marks of a chart in a terminal: plain ASCII, for any terminal, pipe and file.
const (
	chartRead  = 'o' // read over the shim that is in
	chartOther = 'x' // read over another one
	chartBand  = ':'
	chartLimit = '-'
)

// ChartKey explains the marks.
const ChartKey = "o read, x read over another shim (as it would be with the one in now), --- limits, ::: where 9 in 10 will be."

// Lines draws the chart in a line of so many places.
func (c Chart) Lines(places int) []string {
	title := c.Valve.String() + ", clearance with the shim in now, " + c.Unit.String()
	if c.Watch {
		title = c.Valve.String() + " (watch), clearance with the shim in now, " + c.Unit.String()
	}
	if len(c.Points) == 0 {
		return []string{title, "no readings"}
	}
	const margin = 8 // for the figures
	width := max(chartLeast, min(places, chartMost)) - margin
	from, to, low, high := c.Span()
	column := func(meter float64) int {
		return min(width-1, max(0, int(math.Round((meter-from)/(to-from)*float64(width-1)))))
	}
	row := func(l shim.Length) int {
		return min(chartRows-1, max(0, int(math.Round(float64(high-l)/float64(high-low)*(chartRows-1)))))
	}
	grid := make([][]byte, chartRows)
	for i := range grid {
		grid[i] = []byte(strings.Repeat(" ", width))
	}
	label := make([]string, chartRows)
	if len(c.Band) > 0 {
		first := column(c.Band[0].Meter)
		for x := first; x < width; x++ {
			bandLow, bandHigh := c.bandAt(from + (to-from)*float64(x)/float64(width-1))
			for y := row(bandHigh); y <= row(bandLow); y++ {
				grid[y][x] = chartBand
			}
		}
	}
	for _, l := range []shim.Length{c.Limits.Tight, c.Limits.Loose} {
		y := row(l)
		label[y] = c.clearance(l)
		for x := range grid[y] {
			if grid[y][x] == ' ' || x%2 == 0 {
				grid[y][x] = chartLimit
			}
		}
	}
	for _, p := range c.Points {
		mark := byte(chartRead)
		if p.Other {
			mark = chartOther
		}
		grid[row(p.Clearance)][column(p.Meter)] = mark
	}
	lines := []string{title}
	for y := range grid {
		lines = append(lines, strings.TrimRight(fmt.Sprintf("%6s |%s", label[y], grid[y]), " "))
	}
	left, right := c.Meter(from), c.Meter(to)
	gap := max(2, width-len(left)-len(right))
	return append(lines, fmt.Sprintf("%6s +%s", "", strings.Repeat("-", width)), strings.Repeat(" ", margin)+left+strings.Repeat(" ", gap)+right)
}

// bandAt is the band at a meter reading within it.
func (c Chart) bandAt(meter float64) (low, high shim.Length) {
	for i := 1; i < len(c.Band); i++ {
		a, b := c.Band[i-1], c.Band[i]
		if meter > b.Meter && i+1 < len(c.Band) {
			continue
		}
		share := 0.0
		if b.Meter > a.Meter {
			share = min(1, max(0, (meter-a.Meter)/(b.Meter-a.Meter)))
		}
		between := func(x, y shim.Length) shim.Length { return x + shim.Length(math.Round(share*float64(y-x))) }
		return between(a.Low, b.Low), between(a.High, b.High)
	}
	return c.Band[0].Low, c.Band[0].High
}

// ChartSections are the charts for a terminal: one below the other, the key last.
func ChartSections(charts []Chart) []Section {
	var list []Section
	for i := range charts {
		list = append(list, Section{Chart: &charts[i]})
	}
	if len(list) > 0 {
		list[0].Level, list[0].Heading = 2, "Charts"
		list[len(list)-1].Notes = []string{ChartKey}
	}
	return list
}
