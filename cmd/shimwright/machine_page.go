package main

import (
	"io"
	"slices"

	"shimwright/inventory/work"
	"shimwright/shim"
	"shimwright/shim/paper"
	"shimwright/shim/report"
)

// chartsOf are a machine's charts in the units of its engine file.
func chartsOf(s *work.Sight) []report.Chart {
	var list []report.Chart
	for _, c := range s.Trend.Charts() {
		list = append(list, report.Chart{Chart: c, Unit: s.Unit(), Kind: s.Trend.Kind, Watch: slices.Contains(watched(s.Trend), c.Valve)})
	}
	return list
}

// watched are the valves most likely to be first outside.
func watched(t *work.Trend) (list []shim.Valve) {
	if !t.Told() {
		return nil
	}
	for _, v := range t.Forecast.Valves[:min(3, len(t.Forecast.Valves))] {
		if v.First >= 0.1 || v.Out.P50 <= t.Last() {
			list = append(list, v.Valve)
		}
	}
	return list
}

// page is the machine's record for a browser.
func (s machineSheet) page(w io.Writer) error {
	s.drawn = false
	sections := s.document().Sections
	title := s.File.Machine.Tag + ", " + s.File.Machine.Model
	if visits := sections[1].Table; visits != nil {
		visits.Header[len(visits.Header)-1] = "remarks"
	}
	r := paper.Record{Title: title, Lines: sections[0].Lines[1:], Sections: sections[1:], Charts: chartsOf(s.Sight)}
	if e := s.Engine(); e != nil {
		r.Cautions, _ = shim.CautionsFor(e)
	}
	return paper.Machine(w, r)
}
