package files

import (
	"errors"
	"io"
	"strings"

	"shimwright/shim"
)

// The columns of a catalogue.
const (
	catalogueSize = iota
	cataloguePrice
	catalogueDiameter
	catalogueFamily
	catalogueStock
	cataloguePart
	catalogueSupplier
	catalogueMark
)

var catalogueColumns = []column{
	{"size", true, true}, {"price", true, false}, {"diameter", false, true}, {"family", false, false}, {"stock", false, false}, {"part", false, false}, {"supplier", false, false}, {"mark", false, false},
}

// ReadCatalogue reads a supplier's catalogue, its lengths in the given unit,
// in the order of the file. An empty price is not known, an empty stock
// without limit. The second result are warnings; the error is a [Faults].
func ReadCatalogue(name string, r io.Reader, u shim.Unit, marks Marks) ([]shim.Offer, []Fault, error) {
	t := newTable(name, r, catalogueColumns)
	if !t.readable() {
		return nil, nil, t.faults.err()
	}
	var offers []shim.Offer
	for t.next() {
		if !t.ragged {
			offers = append(offers, offer(t, u, marks))
		}
	}
	t.ended()
	if err := t.faults.err(); err != nil {
		return nil, nil, err
	}
	return offers, t.warnings.sorted(), nil
}

func offer(t *table, u shim.Unit, marks Marks) shim.Offer {
	var o shim.Offer
	if t.cell(catalogueSize) == "" && t.cell(catalogueMark) == "" {
		t.fault(catalogueSize, "", "the size is missing", "write the size that the supplier sells")
	}
	o.Disc = t.marked(catalogueSize, catalogueMark, u, marks, shim.Family{Kind: t.kind(catalogueFamily), Diameter: t.diameter(catalogueDiameter, u)}, 0)
	o.Price, o.Priced = price(t, cataloguePrice)
	if stock := t.cell(catalogueStock); stock != "" && (t.form == nil || !strings.EqualFold(stock, "yes")) {
		if t.form != nil { // at least so many
			stock = strings.TrimSpace(strings.TrimRight(strings.TrimLeft(stock, ">≥"), "+"))
			if strings.EqualFold(stock, "no") {
				stock = "0"
			}
		}
		o.Stock, o.Limited = t.count(catalogueStock, stock, "a stock")
	}
	o.Part = t.text(cataloguePart)
	o.Supplier = t.text(catalogueSupplier)
	return o
}

// price is the price cell, false where it is empty.
func price(t *table, column int) (shim.Price, bool) {
	const hint = "write the price of one piece without its currency, like 7.80; leave it empty where it is not known"
	cell := t.cell(column)
	if cell == "" {
		return 0, false
	}
	if t.form != nil {
		if cell = t.form.money(cell); t.form.eitherWay(cell) {
			t.fault(column, "", quoted(cell)+" can be read in two ways", "say what its sign is: --decimal comma or --decimal point")
			return 0, false
		}
	}
	text := t.decimal(cell)
	p, err := shim.ParsePrice(text)
	switch {
	case err == nil:
		return p, true
	case errors.Is(err, shim.ErrTooFine):
		t.fault(column, "", quoted(cell)+" has more than four decimals", hint)
	case errors.Is(err, shim.ErrNotNumber), errors.Is(err, shim.ErrTooLarge):
		t.number(column, "", cell, err, hint)
	default:
		t.fault(column, "", "a price of "+quoted(cell)+" is below zero", hint)
	}
	return 0, false
}
