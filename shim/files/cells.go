package files

import (
	"errors"
	"fmt"
	"strings"

	"shimwright/shim"
)

// The functions of this file read one cell of a row as one type. What is wrong
// is reported at its place.

// cell is the row's text in the column, without surrounding space; empty where
// the file lacks the column or the row the cell.
func (t *table) cell(c int) string {
	if i := t.place[c]; i >= 0 && i < len(t.record) {
		cell := shim.FromSheet(strings.TrimSpace(t.record[i]))
		if t.form != nil {
			return t.form.said(cell)
		}
		return cell
	}
	return ""
}

// text is a cell of free text on one line. It holds on to no more than itself.
func (t *table) text(c int) string {
	cell := t.cell(c)
	if cell == "" {
		return ""
	}
	cell = strings.TrimSpace(blanks.Replace(cell))
	if err := shim.ImplausibleText(cell); err != nil && !t.encoded {
		t.faultOf(c, "", err)
	}
	return strings.Clone(cell)
}

// blanks makes a space of what parts words and lines.
var blanks = strings.NewReplacer("\r\n", " ", "\n", " ", "\r", " ", "\t", " ")

// length is the cell as a length, false where it cannot be read. The unit is that
// of the file, for a column that does not state its own.
func (t *table) length(c int, cell, subject string, u shim.Unit) (shim.Length, bool) {
	u = t.in(c, u)
	if l, found := t.lengths[u][cell]; found {
		return l, true
	}
	figure, in := t.figure(cell, u)
	l, err := in.Parse(t.decimal(figure))
	if err != nil {
		t.number(c, subject, cell, err, "a number in "+in.String()+", like "+in.Example("2.45", ".098")+", "+t.unitHint())
		return 0, false
	}
	remember(t.lengths[u], cell, l)
	return l, true
}

// unitHint says whether a figure may have its unit.
func (t *table) unitHint() string {
	if t.typed {
		return "or with mm or in behind it"
	}
	return "without its unit"
}

// figure is the cell without the unit behind it, where cells may state theirs.
func (t *table) figure(cell string, u shim.Unit) (string, shim.Unit) {
	if t.typed {
		return shim.CutUnit(cell, u)
	}
	return cell, u
}

// remembered bounds what is remembered of cells that were read before. A shop
// measures to a few leaves and sizes, so few texts come again and again.
const remembered = 1 << 12

func remember[V any](seen map[string]V, cell string, v V) {
	if len(seen) < remembered {
		seen[strings.Clone(cell)] = v
	}
}

// decimal is the number's text with a decimal point.
func (t *table) decimal(cell string) string {
	if t.form != nil {
		return t.form.figure(cell)
	}
	if t.commas && strings.IndexByte(cell, ',') >= 0 {
		return strings.ReplaceAll(cell, ",", ".")
	}
	return cell
}

// number reports a cell that is no number.
func (t *table) number(c int, subject, cell string, err error, hint string) {
	message := quoted(cell)
	switch {
	case errors.Is(err, shim.ErrTooFine):
		message += " is finer than a nanometre"
		hint = "write fewer decimals"
	case errors.Is(err, shim.ErrTooLarge):
		message += " is too large"
	default:
		message += " is not a number"
		if figure, u := shim.CutUnit(cell, shim.MM); figure != cell && t.columns[c].length && !t.typed {
			hint = fmt.Sprintf("leave the unit out; where the column has another than the file, name it %s_%s", t.columns[c].name, u)
		}
		if !t.commas && strings.Contains(cell, ",") {
			hint = "write a decimal point, or put semicolons between the columns"
		}
	}
	t.fault(c, subject, message, hint)
}

// halved finds a decimal comma that made two cells of one where commas stand
// between the columns, and so moved the rest of the row. It is reported.
func (t *table) halved(c int, subject string) bool {
	i := t.place[c]
	if t.commas || i < 0 || i+1 >= len(t.record) {
		return false
	}
	whole, decimals := t.cell(c), strings.TrimSpace(t.record[i+1])
	leaf, _, _ := strings.Cut(decimals, "-")
	if leaf == "" || digits(leaf) != len(leaf) {
		return false
	}
	// A single digit is one of a number where the next cell has a shim's size.
	pushed := i+2 < len(t.record) && strings.Contains(t.record[i+2], ".")
	if len(leaf) < 2 && !pushed {
		return false
	}
	t.fault(c, subject, quoted(whole+","+decimals)+" fell into two cells at its decimal comma", "write a decimal point, or put semicolons between the columns")
	return true
}

// count is the cell as a whole number from 0, false where it is none.
func (t *table) count(c int, cell, what string) (int, bool) {
	const hint = "write a whole number, like 3"
	l, err := shim.MM.Parse(t.decimal(cell)) // exact, so that 3.0 is 3 and 2.5 is none
	switch {
	case err != nil && !errors.Is(err, shim.ErrTooFine):
		t.number(c, "", cell, err, hint)
	case err != nil || l%shim.Millimetre != 0:
		t.fault(c, "", what+" of "+quoted(cell)+" is not a whole number", hint)
	case l < 0:
		t.fault(c, "", what+" of "+quoted(cell)+" is below zero", hint)
	default:
		return int(l / shim.Millimetre), true
	}
	return 0, false
}

// size is a cell with a shim's size, false where it is none.
func (t *table) size(c int, cell, subject string, u shim.Unit) (shim.Length, bool) {
	size, ok := t.length(c, cell, subject, u)
	if !ok {
		return 0, false
	}
	_, in := t.figure(cell, t.in(c, u))
	if err := shim.ImplausibleSize(size, in); err != nil {
		t.faultOf(c, subject, err)
		return 0, false
	}
	return size, true
}

// mark is the size that a mark in the cell stands for, false where it is none. Of
// several sizes the micrometer's or the known one tells which, else the sizes on
// sale; what was taken is said, and what is left open is a fault, but beside a
// reading of the micrometer, which is all that counts.
func (t *table) mark(c int, cell, subject string, u shim.Unit, marks shim.MarkList, sale []shim.Range, mic, known shim.Length) (shim.Length, bool) {
	m, is := marks.Read(cell, u, sale, mic, known)
	switch {
	case !is || len(m.Among) == 1:
	case m.Size == 0 && mic != 0:
		t.warn(c, subject, fmt.Sprintf("mark %s stands for %s %s, and the micrometer reads %s", cell, m.Sizes(u), u, u.Format(mic)), "look at both again; the micrometer is what counts")
	case m.Size == 0:
		t.faultOf(c, subject, m.Open(cell, u, "write what it reads into the column mic"))
	case mic == 0:
		t.warn(c, subject, m.Taken(cell, u), "measure it if that cannot be")
	}
	return m.Size, is
}

// swapped reports whether a size is in the cell of another column, and none
// in that of the sizes. It is reported once.
func (t *table) swapped(c int, cell string, sizes int, u shim.Unit) bool {
	u = t.in(sizes, u)
	asSize := func(cell string) (shim.Length, bool) {
		figure, in := t.figure(cell, u)
		l, err := in.Parse(t.decimal(figure))
		return l, err == nil && l > shim.MaxClearance
	}
	size := t.cell(sizes)
	here, is := asSize(cell)
	there, other := asSize(size)
	if c == boxCount && sizes == boxSize {
		// A count may be as large as a size: a whole number is one, others are none.
		is, other = is && here%shim.Millimetre != 0, other && there%shim.Millimetre != 0
	}
	if !is || here > shim.MaxSize || other || size == "" {
		return false
	}
	if !t.exchanged {
		t.exchanged = true
		t.fault(c, "", fmt.Sprintf("%s and %s are swapped", t.columns[c].name, t.columns[sizes].name), "swap the two cells; if every row is like this, swap the two names in the first line")
	}
	return true
}

// compare warns where the stamp and the micrometer tell two stories.
func (t *table) compare(c int, subject string, marks shim.Marks, u shim.Unit) {
	u = t.in(c, u)
	if marks.Differ() {
		t.warn(c, subject, fmt.Sprintf("the micrometer reads %s but the stamp says %s %s", u.Format(marks.Mic), u.Format(marks.Stamp), u), "measure the shim again; the micrometer is what counts")
	}
}

// diameter is the diameter cell, 0 where it is empty.
func (t *table) diameter(c int, u shim.Unit) shim.Length {
	cell := t.cell(c)
	if cell == "" {
		return 0
	}
	l, ok := t.length(c, cell, "diameter", u)
	u = t.in(c, u)
	if ok && shim.ImplausibleDiameter(l) != nil {
		t.fault(c, "diameter", fmt.Sprintf("%s %s is not a plausible shim diameter", u.Format(l), u), fmt.Sprintf("diameters run from %s to %s %s", u.Format(shim.MinDiameter), u.Format(shim.MaxDiameter), u))
	}
	return l
}

// kind is a cell with a family's name.
func (t *table) kind(c int) string {
	name := FamilyName(t.text(c))
	if err := shim.ImplausibleKind(name); err != nil && shim.ImplausibleText(name) == nil {
		t.faultOf(c, "", err)
	}
	return name
}
