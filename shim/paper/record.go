package paper

import (
	"io"

	"shimwright/shim/report"
)

// A Record is a machine's page: what is known of it, and its charts.
type Record struct {
	Title    string
	Lines    []string         // below the title
	Sections []report.Section // visits, valves, wear
	Charts   []report.Chart
	Cautions []string
}

type recordPage struct {
	page
	Heading  string
	Lines    []string
	Parts    []part
	Charts   []drawing
	ChartKey string
	Cautions []string
}

// Machine writes a machine's record as a page for a screen or for print.
func Machine(w io.Writer, r Record) error {
	p := recordPage{page: page{Title: r.Title, Foot: r.Title + ", record"}, Heading: r.Title, Lines: r.Lines,
		Charts: charts("machine", r.Charts), ChartKey: chartKey, Cautions: r.Cautions}
	for _, s := range r.Sections {
		one := part{Heading: s.Heading, Lines: s.Lines, Notes: s.Notes}
		if s.Table != nil {
			one.Grid = gridOf(s.Table, s.Heading).rowHead("valve")
			one.Grid.Heading = true
		}
		p.Parts = append(p.Parts, one)
	}
	return write(w, "record", p)
}
