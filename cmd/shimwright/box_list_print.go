package main

import (
	"fmt"
	"io"
	"slices"
	"strconv"
	"strings"

	"shimwright/inventory"
	"shimwright/inventory/work"
	"shimwright/shim"
	"shimwright/shim/report"
)

// stockList is the box size by size.
type stockList struct {
	families []familyStock
	unit     shimText
	page     page
	reorder  *work.Reordering  // nil without levels
	level    map[shim.Disc]int // of the sizes that have one
}

// familyStock is the box's shims of one family.
type familyStock struct {
	shim.Family
	stocks  []inventory.Stock
	gaps    []inventory.Gap
	guessed bool // whether the range was guessed from the stocks
}

// eachRow goes through sizes and gaps in the order of the sizes, as far as the
// page shows them, and gives the number of rows of all pages.
func (l *stockList) eachRow(stock func(d *familyStock, s inventory.Stock), gap func(d *familyStock, g inventory.Gap)) int {
	row := 0
	for i := range l.families {
		d := &l.families[i]
		gaps := d.gaps
		before := func(size shim.Length) {
			for len(gaps) > 0 && (size == 0 || gaps[0].From < size) {
				if l.page.shows(row) {
					gap(d, gaps[0])
				}
				row, gaps = row+1, gaps[1:]
			}
		}
		for _, s := range d.stocks {
			before(s.Size)
			if l.page.shows(row) {
				stock(d, s)
			}
			row++
		}
		before(0)
	}
	return row
}

// maxBar is the longest bar, in characters.
const maxBar = 30

func (l *stockList) document() *report.Document {
	doc := &report.Document{}
	if len(l.families) == 0 {
		doc.Sections = []report.Section{{Lines: []string{"The box is empty."}}}
		return l.withLevels(doc)
	}
	most := 0
	for _, d := range l.families {
		for _, s := range d.stocks {
			most = max(most, s.OnHand)
		}
	}
	each := max(1, (most+maxBar-1)/maxBar)
	section := func(d *familyStock) *report.Table {
		if n := len(doc.Sections); n > 0 && doc.Sections[n-1].Heading == l.heading(d) {
			return doc.Sections[n-1].Table
		}
		t := &report.Table{Kind: "stock", Header: []string{"size", "on hand", "reserved", "free", ""}, Right: []int{0, 1, 2, 3}}
		if l.reorder != nil {
			t.Header, t.Right = slices.Insert(t.Header, 4, "level"), append(t.Right, 4)
		}
		doc.Sections = append(doc.Sections, report.Section{Level: 2, Heading: l.heading(d), Lines: []string{d.summary()}, Table: t})
		return t
	}
	rows := l.eachRow(func(d *familyStock, s inventory.Stock) {
		t := section(d)
		t.Rows = append(t.Rows, l.levelled(blank(l.level[s.Disc]), l.unit.size(s.Disc), strconv.Itoa(s.OnHand), blank(s.Reserved), strconv.Itoa(s.Free()), bar(s, each)))
	}, func(d *familyStock, g inventory.Gap) {
		t := section(d)
		if g.Sizes == 1 {
			t.Rows = append(t.Rows, l.levelled("", l.unit.size(d.Of(g.From)), "-", "", "-", "none"))
		} else {
			t.Rows = append(t.Rows, l.levelled("", sizeText(g.From, l.unit.Unit)+"-"+sizeText(g.To, l.unit.Unit), "-", "", "-", "none of "+strconv.Itoa(g.Sizes)+" sizes"))
		}
	})
	var notes []string
	if each == 1 {
		notes = append(notes, "# one free shim, = one reserved")
	} else {
		notes = append(notes, fmt.Sprintf("# up to %d free shims, = reserved", each))
	}
	if len(doc.Sections) == 0 {
		doc.Sections = []report.Section{{}}
		notes = nil
	}
	last := &doc.Sections[len(doc.Sections)-1]
	last.Notes = append(notes, l.page.notes(rows)...)
	return l.withLevels(doc)
}

// withLevels adds what the levels ask for.
func (l *stockList) withLevels(doc *report.Document) *report.Document {
	if l.reorder != nil {
		doc.Sections = append(doc.Sections, report.Section{Level: 2, Heading: "Levels", Lines: l.levels()})
	}
	return doc
}

// levelled is a row with its level, where the box has any.
func (l *stockList) levelled(level string, cells ...string) []string {
	if l.reorder == nil {
		return cells
	}
	return slices.Insert(cells, 4, level)
}

// levels says what is below its level and what to order next.
func (l *stockList) levels() []string {
	r := l.reorder
	if len(r.Low) == 0 {
		return []string{"No size is below its level."}
	}
	low := "Below its level, free or on order: "
	for i, s := range r.Low {
		other := i == 0 || r.Low[i-1].Family != s.Family
		switch {
		case i > 0 && other:
			low += "; "
		case i > 0:
			low += ", "
		}
		if len(r.Families) > 1 && other {
			low += report.Family(l.unit.Unit, s.Family) + ": "
		}
		low += fmt.Sprintf("%s (%d of %d)", l.unit.size(s.Disc), s.Has, s.Count)
	}
	lines := []string{low + "."}
	if len(r.Next) == 0 {
		return append(lines, "Other sizes stand in for them: nothing to order yet.")
	}
	return append(lines, "Order next: "+l.unit.sizes(r.Next, r.Families)+".")
}

func (l *stockList) heading(d *familyStock) string {
	return fmt.Sprintf("Diameter %s (%s)", strings.Replace(report.Family(l.unit.Unit, d.Family), " ", ", ", 1), l.unit.Unit)
}

// summary sums up one family in a line.
func (d *familyStock) summary() string {
	pieces, reserved, missing := 0, 0, 0
	for _, s := range d.stocks {
		pieces, reserved = pieces+s.OnHand, reserved+s.Reserved
	}
	for _, g := range d.gaps {
		missing += g.Sizes
	}
	text := fmt.Sprintf("%s in %s, %d reserved", shim.Count(pieces, "shim"), shim.Count(len(d.stocks), "size"), reserved)
	switch {
	case missing == 0:
		return text + "."
	case d.guessed:
		return text + fmt.Sprintf("; %s missing between them.", shim.Count(missing, "size"))
	}
	return text + fmt.Sprintf("; %s of the models' catalogues missing.", shim.Count(missing, "size"))
}

// bar draws a mark for each so many shims of a size.
func bar(s inventory.Stock, each int) string {
	marks := func(n int) int { return (n + each - 1) / each }
	reserved := marks(s.Reserved)
	return strings.Repeat("#", max(0, marks(s.OnHand)-reserved)) + strings.Repeat("=", reserved)
}

// blank formats a number, 0 as "".
func blank(n int) string {
	if n == 0 {
		return ""
	}
	return strconv.Itoa(n)
}

type stockJSON struct {
	shim.Disc
	OnHand   int    `json:"on_hand"`
	Reserved int    `json:"reserved"`
	Free     int    `json:"free"`
	Level    *int   `json:"level,omitempty"`
	Mark     string `json:"mark,omitempty"`
}

type gapJSON struct {
	shim.Family
	From  shim.Length `json:"from_mm"`
	To    shim.Length `json:"to_mm"`
	Sizes int         `json:"sizes"`
}

func (l *stockList) json(w io.Writer) error {
	out := struct {
		Sizes []stockJSON `json:"sizes"`
		Gaps  []gapJSON   `json:"gaps"`
		*levelsJSON
		pageJSON
	}{Sizes: []stockJSON{}, Gaps: []gapJSON{}, levelsJSON: l.levelsOf()}
	rows := l.eachRow(func(_ *familyStock, s inventory.Stock) {
		out.Sizes = append(out.Sizes, stockJSON{s.Disc, s.OnHand, s.Reserved, s.Free(), l.levelOf(s.Disc), l.unit.mark(s.Disc)})
	}, func(d *familyStock, g inventory.Gap) {
		out.Gaps = append(out.Gaps, gapJSON{d.Family, g.From, g.To, g.Sizes})
	})
	out.pageJSON = l.page.json(rows)
	return writeJSON(w, out)
}

// levelsJSON is what the levels ask for; it is missing without levels.
type levelsJSON struct {
	Below []lowJSON   `json:"below_level"`
	Next  []adviceRow `json:"order_next"`
}

type lowJSON struct {
	shim.Disc
	Has   int `json:"has"`
	Level int `json:"level"`
}

func (l *stockList) levelsOf() *levelsJSON {
	if l.reorder == nil {
		return nil
	}
	out := &levelsJSON{Below: []lowJSON{}, Next: l.unit.pieceRows(l.reorder.Next)}
	for _, s := range l.reorder.Low {
		out.Below = append(out.Below, lowJSON{s.Disc, s.Has, s.Count})
	}
	return out
}

// levelOf is a size's level, nil without levels.
func (l *stockList) levelOf(d shim.Disc) *int {
	if l.reorder == nil {
		return nil
	}
	n := l.level[d]
	return &n
}

func (l *stockList) csv(w io.Writer) error {
	rows := [][]string{l.levelledCSV("level", "diameter_mm", "size_mm", "on_hand", "reserved", "free")}
	var families []shim.Family
	var marks []string
	l.eachRow(func(_ *familyStock, s inventory.Stock) {
		families, marks = append(families, s.Family), append(marks, l.unit.mark(s.Disc))
		rows = append(rows, l.levelledCSV(strconv.Itoa(l.level[s.Disc]), s.Diameter.String(), s.Size.String(), strconv.Itoa(s.OnHand), strconv.Itoa(s.Reserved), strconv.Itoa(s.Free())))
	}, func(*familyStock, inventory.Gap) {})
	return writeCSV(w, l.unit.withMarks(withFamilies(rows, families), marks))
}

// levelledCSV is a row with its level at the end, where the box has any.
func (l *stockList) levelledCSV(level string, cells ...string) []string {
	if l.reorder == nil {
		return cells
	}
	return append(cells, level)
}

// lotList lists the box lot by lot.
type lotList struct {
	lots []inventory.Balance
	unit shimText
	page page
}

func (l *lotList) each(do func(inventory.Balance)) {
	for row, lot := range l.lots {
		if l.page.shows(row) {
			do(lot)
		}
	}
}

func (l *lotList) document() *report.Document {
	if len(l.lots) == 0 {
		return &report.Document{Sections: []report.Section{{Lines: []string{"The box has none of these."}}}}
	}
	t := &report.Table{Kind: "lots", Header: []string{"diameter", "size", "stamp", "mic", "", "bin", "on hand"}, Right: []int{0, 1, 2, 3, 6}}
	l.each(func(b inventory.Balance) {
		t.Rows = append(t.Rows, []string{report.Family(l.unit.Unit, b.Family), sizeText(b.Size(), l.unit.Unit), shim.WithMark(sizeText(b.Stamp, l.unit.Unit), l.unit.on(b.Lot)), sizeText(b.Mic, l.unit.Unit), condition(b.Used), b.Bin, strconv.Itoa(b.Count)})
	})
	return &report.Document{Sections: []report.Section{{Table: t, Notes: l.page.notes(len(l.lots))}}}
}

type lotJSON struct {
	shim.Disc
	Stamp  *shim.Length `json:"stamp_mm"`
	Mic    *shim.Length `json:"mic_mm"`
	Used   bool         `json:"used"`
	Bin    string       `json:"bin"`
	OnHand int          `json:"on_hand"`
	Mark   string       `json:"mark,omitempty"`
}

func (l *lotList) json(w io.Writer) error {
	out := struct {
		Lots []lotJSON `json:"lots"`
		pageJSON
	}{Lots: []lotJSON{}, pageJSON: l.page.json(len(l.lots))}
	l.each(func(b inventory.Balance) {
		out.Lots = append(out.Lots, lotJSON{b.Disc(), known(b.Stamp), known(b.Mic), b.Used, b.Bin, b.Count, l.unit.on(b.Lot)})
	})
	return writeJSON(w, out)
}

func (l *lotList) csv(w io.Writer) error {
	rows := [][]string{{"diameter_mm", "size_mm", "stamp_mm", "mic_mm", "used", "bin", "on_hand"}}
	var families []shim.Family
	var marks []string
	l.each(func(b inventory.Balance) {
		families, marks = append(families, b.Family), append(marks, l.unit.on(b.Lot))
		rows = append(rows, []string{b.Diameter.String(), b.Size().String(), cellOf(b.Stamp), cellOf(b.Mic), strconv.FormatBool(b.Used), b.Bin, strconv.Itoa(b.Count)})
	})
	return writeCSV(w, l.unit.withMarks(withFamilies(rows, families), marks))
}
