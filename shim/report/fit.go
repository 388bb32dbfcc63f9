package report

import (
	"slices"
	"strings"
)

// fitted is the document with tables that are too wide for a line replaced by
// the widest narrower form that fits, all of one kind alike so that they line
// up. It changes the sections, which [Document.visible] has copied.
func (d *Document) fitted() *Document {
	for i := range d.Sections {
		if t := d.Sections[i].Table; t != nil {
			for range t.Narrower {
				if !d.tooWide(t.Kind) {
					break
				}
				d.narrower(t.Kind)
			}
		}
	}
	return d
}

// narrower takes the next form of the tables of a kind.
func (d *Document) narrower(kind string) {
	for i := range d.Sections {
		s := &d.Sections[i]
		if t := s.Table; t != nil && t.Kind == kind && len(t.Narrower) > 0 {
			next := *t.Narrower[0]
			next.Kind, next.Breaks, next.line, next.Narrower = t.Kind, t.Breaks, t.line, t.Narrower[1:]
			s.Table = &next
		}
	}
}

// tooWide reports whether the rows of a kind of table do not fit a line unfolded.
func (d *Document) tooWide(kind string) bool {
	widths := d.natural()[kind]
	total := len(widths) - 1
	for _, w := range widths {
		total += w
	}
	return total > d.places()
}

// pick is a table of some of the columns, in their order, under other headers.
func (t *Table) pick(header []string, columns ...int) *Table {
	p := &Table{Strong: map[int]bool{}}
	for to, from := range columns {
		p.Header = append(p.Header, header[from])
		if slices.Contains(t.Right, from) {
			p.Right = append(p.Right, to)
		}
		p.Strong[to] = t.Strong[from]
	}
	for _, row := range t.Rows {
		cells := make([]string, len(columns))
		for to, from := range columns {
			cells[to] = row[from]
		}
		p.Rows = append(p.Rows, cells)
	}
	return p
}

// leftOut says which columns a narrow form lacks.
func (t *Table) leftOut(columns []string) {
	t.Note = "Left out on a screen this narrow: " + strings.Join(columns, ", ") + "."
}
