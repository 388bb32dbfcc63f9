package files

import (
	"fmt"
	"slices"
	"strings"

	"shimwright/shim"
)

// Marks say what the marks in a box or a catalogue stand for. The zero value knows
// none.
type Marks struct {
	Book *shim.MarkBook
	// Of is the family of rows that name none, with a diameter of 0 where that is
	// not known either.
	Of shim.Family
	// OnHand says that the rows are shims of the box, which tells what a mark of
	// two sizes means.
	OnHand bool
}

// marked reads a row's size: from its own column, as a mark or as the size, else
// from the column of marks. The row's family is the mark's where the row names no
// diameter. The micrometer's reading is 0 where there is none.
func (t *table) marked(sizeColumn, markColumn int, u shim.Unit, marks Marks, f shim.Family, mic shim.Length) shim.Disc {
	size, mark := t.cell(sizeColumn), t.cell(markColumn)
	of := f
	if of == (shim.Family{}) {
		of = marks.Of
	}
	in := t.in(sizeColumn, u)
	q := shim.MarkQuery{Unit: in, Known: mic, Asked: func(other shim.Family) bool {
		return other.Kind == of.Kind && (of.Diameter == 0 || in.Format(of.Diameter) == in.Format(other.Diameter))
	}}
	if marks.OnHand {
		q.Record = marks.Book.Had()
	}
	column, text := sizeColumn, size
	if size == "" {
		column, text = markColumn, mark
	}
	if text == "" {
		return f.Of(0)
	}
	// Beside its mark a whole number is a size: a spreadsheet makes 3 of 3.00.
	if size == "" || mark == "" {
		m, is, err := marks.Book.Read(text, q)
		switch {
		case err != nil:
			t.faultOf(column, "", err)
			return f.Of(0)
		case is && m.Said != "":
			t.warn(column, "", m.Said, "measure it if that cannot be")
		}
		if is {
			if f.Diameter == 0 {
				f = m.Family
			}
			return f.Of(m.Size)
		}
	}
	if size == "" {
		t.unknownMark(markColumn, "", mark)
		return f.Of(0)
	}
	if err := marks.Book.Stray(size, q); err != nil && !strings.ContainsAny(size, ".,;") {
		t.faultOf(sizeColumn, "", err)
		return f.Of(0)
	}
	read, ok := t.size(sizeColumn, size, "", u)
	if ok {
		t.agrees(markColumn, "", mark, marks.Book.Sizes(mark, q.Asked), read, in)
	}
	return f.Of(read)
}

// unknownMark reports a mark that no engine file lists.
func (t *table) unknownMark(c int, subject, mark string) {
	t.fault(c, subject, fmt.Sprintf("what %s stands for is not known", quoted(mark)), "write the size; marks come from the engine file")
}

// agrees reports a mark, which stands for some sizes, beside a size that is none of
// them.
func (t *table) agrees(c int, subject, mark string, sizes []shim.Length, size shim.Length, u shim.Unit) {
	if len(sizes) > 0 && !slices.Contains(sizes, size) {
		t.fault(c, subject, fmt.Sprintf("mark %s stands for %s %s, not for %s", mark, shim.Meaning{Among: sizes}.Sizes(u), u, u.Format(size)), "write the size that belongs to the mark")
	}
}
