package paper

import (
	"fmt"
	"strings"

	"shimwright/shim"
	"shimwright/shim/report"
)

// Measures of a chart in mm on paper: two stand side by side.
const (
	chartWidth  = 92.0
	chartHeight = 44.0
	chartLeft   = 13.0 // for the figures
	chartRight  = 90.0
	chartTop    = 7.0 // below the valve's name
	chartFoot   = 38.0
)

// chart draws a valve's clearance over the meter: limits as heavy lines with the
// field outside them grey, the band hatched, readings as dots, hollow where they
// were read over another shim.
func chart(id string, c report.Chart) drawing {
	title := c.Valve.String()
	d := drawing{ID: id, Class: "chart", W: chartWidth, H: chartHeight, Title: "Clearance of " + title + " over the meter", Desc: c.Words() + "."}
	if c.Watch {
		title += " (watch)"
	}
	d.text("strong", "start", chartLeft, 4.6, 4, 40, title)
	d.text("plain", "end", chartRight, 4.6, 2.9, 34, "clearance, "+c.Unit.String())
	if len(c.Points) == 0 {
		d.text("plain", "middle", chartWidth/2, chartHeight/2, 3.4, 60, "no readings")
		return d
	}
	from, to, low, high := c.Span()
	x := func(meter float64) float64 {
		return min(chartRight, max(chartLeft, chartLeft+2+(meter-from)/(to-from)*(chartRight-chartLeft-4)))
	}
	y := func(l shim.Length) float64 {
		return min(chartFoot, max(chartTop, chartTop+float64(high-l)/float64(high-low)*(chartFoot-chartTop)))
	}
	tight, loose := y(c.Limits.Tight), y(c.Limits.Loose)
	d.rect("out", chartLeft, chartTop, chartRight-chartLeft, loose-chartTop)
	d.rect("out", chartLeft, tight, chartRight-chartLeft, chartFoot-tight)
	if len(c.Band) > 0 {
		var up, down []string
		for i, b := range c.Band {
			d.line("thin", x(b.Meter), y(b.High), x(b.Meter), y(b.Low)) // hatched: grey is for outside
			up = append(up, mm(x(b.Meter))+" "+mm(y(b.High)))
			o := c.Band[len(c.Band)-1-i]
			down = append(down, mm(x(o.Meter))+" "+mm(y(o.Low)))
		}
		d.Shapes = append(d.Shapes, shape{Kind: "path", Class: "dash", D: "M" + strings.Join(append(up, down...), "L") + "z"})
	}
	for _, l := range []shim.Length{c.Limits.Loose, c.Limits.Tight} {
		d.line("limit", chartLeft, y(l), chartRight, y(l))
		d.text("plain", "end", chartLeft-1, y(l)+1.1, 3.2, chartLeft-1.5, c.Unit.Show(l, 2, 3))
	}
	d.rect("thin", chartLeft, chartTop, chartRight-chartLeft, chartFoot-chartTop)
	var line []string
	for _, p := range c.Points {
		line = append(line, mm(x(p.Meter))+" "+mm(y(p.Clearance)))
	}
	d.Shapes = append(d.Shapes, shape{Kind: "path", Class: "thin", D: "M" + strings.Join(line, "L")})
	for _, p := range c.Points {
		class := "ink"
		if p.Other {
			class = "hollow"
		}
		d.circle(class, x(p.Meter), y(p.Clearance), 1)
	}
	half := (chartRight - chartLeft) / 2
	d.text("plain", "start", chartLeft, chartFoot+4, 3.1, half-2, c.Meter(from))
	d.text("plain", "end", chartRight, chartFoot+4, 3.1, half-2, c.Meter(to))
	return d
}

// charts draws them all.
func charts(prefix string, list []report.Chart) []drawing {
	var drawn []drawing
	for i, c := range list {
		drawn = append(drawn, chart(fmt.Sprintf("%s-chart-%d", prefix, i+1), c))
	}
	return drawn
}

// chartKey explains a chart on paper.
const chartKey = "Each chart shows the clearance as it would be with the shim that is in now. Dots: read over that shim; hollow dots: over another one. White between the heavy lines: inside the limits. Hatched: where 9 in 10 machines like this one will be."
