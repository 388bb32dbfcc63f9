package main

import (
	"io"
	"strconv"

	"shimwright/inventory"
	"shimwright/shim"
	"shimwright/shim/report"
)

// lotList is the box lot by lot.
type lotList struct {
	lots []inventory.Balance
	unit shim.Unit
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
		return &report.Document{Sections: []report.Section{{Lines: []string{"Nothing of that is in the box."}}}}
	}
	t := &report.Table{Kind: "lots", Header: []string{"disc", "size", "stamp", "mic", "", "bin", "on hand"}, Right: []int{0, 1, 2, 3, 6}}
	l.each(func(b inventory.Balance) {
		t.Rows = append(t.Rows, []string{discText(b.Diameter, l.unit), sizeText(b.Size(), l.unit), sizeText(b.Stamp, l.unit), sizeText(b.Mic, l.unit), condition(b.Used), b.Bin, strconv.Itoa(b.Count)})
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
}

func (l *lotList) json(w io.Writer) error {
	out := struct {
		Lots []lotJSON `json:"lots"`
		pageJSON
	}{Lots: []lotJSON{}, pageJSON: l.page.json(len(l.lots))}
	l.each(func(b inventory.Balance) {
		out.Lots = append(out.Lots, lotJSON{b.Disc(), known(b.Stamp), known(b.Mic), b.Used, b.Bin, b.Count})
	})
	return writeJSON(w, out)
}

func (l *lotList) csv(w io.Writer) error {
	rows := [][]string{{"diameter_mm", "size_mm", "stamp_mm", "mic_mm", "used", "bin", "on_hand"}}
	l.each(func(b inventory.Balance) {
		rows = append(rows, []string{b.Diameter.String(), b.Size().String(), cellOf(b.Stamp), cellOf(b.Mic), strconv.FormatBool(b.Used), b.Bin, strconv.Itoa(b.Count)})
	})
	return writeCSV(w, rows)
}
