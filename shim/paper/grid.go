package paper

import (
	"slices"

	"shimwright/shim/report"
)

// A grid is a table on paper.
type grid struct {
	Caption string
	Heading bool // the caption is a heading of the page
	Class   string
	Head    []cell
	Rows    [][]cell
	Foot    []cell
}

// A cell is one cell of a grid.
type cell struct {
	Text  string
	Class string
	Tick  bool // a box to tick
	Head  bool // names its row
}

// gridOf puts a table of a report on paper.
func gridOf(t *report.Table, caption string) *grid {
	g := &grid{Caption: caption, Class: t.Kind}
	row := func(texts []string) []cell {
		cells := make([]cell, len(texts))
		for i, text := range texts {
			cells[i].Text = text
			if slices.Contains(t.Right, i) {
				cells[i].Class = "right"
			}
		}
		return cells
	}
	g.Head = row(t.Header)
	for _, r := range t.Rows {
		g.Rows = append(g.Rows, row(r))
	}
	if len(t.Footer) > 0 {
		g.Foot = row(t.Footer)
	}
	for i := range g.Head {
		if g.Head[i].Text == "" {
			g.Head[i].Text = "no."
		}
	}
	return g
}

// column finds a column by its heading, -1 where there is none.
func (g *grid) column(heading string) int {
	return slices.IndexFunc(g.Head, func(c cell) bool { return c.Text == heading })
}

// rowHead makes the column's cells the headings of their rows; without a
// heading, the first column's that is none to tick.
func (g *grid) rowHead(heading string) *grid {
	at := g.column(heading)
	if at < 0 {
		at = slices.IndexFunc(g.Head, func(c cell) bool { return c.Class != "tick" })
	}
	for i := range g.Rows {
		g.Rows[i][at].Head = true
	}
	return g
}

// tick puts a column of boxes to tick in front.
func (g *grid) tick(heading string) *grid {
	g.insert(0, cell{Text: heading, Class: "tick"}, cell{Class: "tick", Tick: true})
	return g
}

// blank puts a column to write in behind another, or at the end.
func (g *grid) blank(after, heading string) *grid {
	at := g.column(after) + 1
	if at == 0 {
		at = len(g.Head)
	}
	g.insert(at, cell{Text: heading, Class: "blank"}, cell{Class: "blank"})
	return g
}

func (g *grid) insert(at int, head, body cell) {
	g.Head = slices.Insert(g.Head, at, head)
	for i := range g.Rows {
		g.Rows[i] = slices.Insert(g.Rows[i], at, body)
	}
	if g.Foot != nil {
		g.Foot = slices.Insert(g.Foot, at, cell{})
	}
}
