package files

import (
	"fmt"
	"io"
	"strings"

	"shimwright/shim"
)

// A SheetRow is a row of a spreadsheet of shims: the shims, and what each cost.
type SheetRow struct {
	shim.BoxRow
	shim.Quote
}

// ReadPrices reads a supplier's price list in the given form. Rows without a size, as
// headings and other goods are, are left out with a warning. The error is a [Faults].
func ReadPrices(name string, r io.Reader, f Form, marks Marks) ([]shim.Offer, []Fault, error) {
	if err := f.OfPrices(); err != nil {
		return nil, nil, err
	}
	t := newSheet(name, r, catalogueColumns, &f)
	var offers []shim.Offer
	t.eachShim([]int{catalogueSize, catalogueMark}, -1, func() { offers = append(offers, offer(t, f.Units, marks)) })
	if len(offers) == 0 && len(t.faults) == 0 {
		t.add(0, 0, "", "no row has a size", "is it the right file?")
	}
	if err := t.faults.err(); err != nil {
		return nil, nil, err
	}
	return offers, t.warnings.sorted(), nil
}

// ReadSheet reads a spreadsheet of shims in the box, in the given form, without the
// rows that count 0. Rows with neither a size nor a count are left out with a
// warning. The error is a [Faults].
func ReadSheet(name string, r io.Reader, f Form, marks Marks) ([]SheetRow, []Fault, error) {
	if err := f.OfBox(); err != nil {
		return nil, nil, err
	}
	t := newSheet(name, r, sheetColumns, &f)
	var rows []SheetRow
	t.eachShim([]int{boxSize, boxMark, boxMic}, boxCount, func() {
		row := SheetRow{BoxRow: boxRow(t, f.Units, marks)}
		row.Price, row.Priced = price(t, boxPrice)
		if row.Count > 0 {
			rows = append(rows, row)
		}
	})
	if err := t.faults.err(); err != nil {
		return nil, nil, err
	}
	return rows, t.warnings.sorted(), nil
}

// eachShim goes through the rows of shims: those with a cell in one of the columns of
// sizes, or in the given other one. It warns of the rest.
func (t *table) eachShim(sizes []int, other int, do func()) {
	if !t.readable() {
		return
	}
	left, first := 0, 0
	for t.next() {
		text := ""
		for _, c := range sizes {
			text += t.cell(c)
		}
		if other >= 0 {
			text += t.cell(other)
		}
		switch {
		case text == "":
			if left++; left == 1 {
				first, _ = t.pos(0)
			}
		case !t.ragged:
			do()
		}
	}
	if left > 0 {
		t.warnings = append(t.warnings, newFault(t.file, first, 0, "", fmt.Sprintf("%s without a size left out, this one first", shim.Count(left, "row")), "look whether it is a shim"))
	}
}

// usedWords are what a spreadsheet writes for used and for new shims.
var usedWords = map[string]bool{"yes": true, "y": true, "x": true, "1": true, "true": true, "used": true, "no": false, "n": false, "0": false, "false": false, "new": false}

// usedCell reads whether shims are used, in a spreadsheet of any form.
func (t *table) usedCell(c int, cell string) bool {
	used, known := usedWords[strings.ToLower(cell)]
	if !known {
		t.fault(c, "", fmt.Sprintf("%s says neither used nor new", quoted(cell)), fmt.Sprintf("say what it means, like --word %q", cell+"=used"))
	}
	return used
}
