package paper

import (
	"io"

	"shimwright/shim/report"
)

// A Certificate is what is printed of how valves were found and left.
type Certificate struct {
	Title    string // of the page, and at the foot of each sheet
	Heading  string
	Replaces string // where it replaces an earlier issue: which, and what it changes
	Fields   []Entry
	Sections []report.Section // measuring, valves, remarks
	Signs    []Sign
	Ledger   string // where it stands in the shop's ledger
	Cautions []string
}

// An Entry is a label and what stands on its line; empty is a line to fill in.
type Entry struct {
	Label, Value string
	Wide         bool
}

// A Sign is a line to sign on, with the name where it is known.
type Sign struct{ Label, Name string }

type certificatePage struct {
	page
	Form  Certificate
	Parts []part
}

// Certify writes a certificate as a page for print.
func Certify(w io.Writer, c Certificate) error {
	p := certificatePage{page: page{Title: c.Title, Foot: c.Title}, Form: c}
	for _, s := range c.Sections {
		one := part{Heading: s.Heading, Lines: s.Lines, Notes: s.Notes}
		if s.Table != nil {
			one.Grid = gridOf(s.Table, s.Heading).rowHead("valve")
			one.Grid.Heading = true
		}
		p.Parts = append(p.Parts, one)
	}
	return write(w, "certificate", p)
}
