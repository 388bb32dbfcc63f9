package main

import (
	"context"
	"fmt"

	"shimwright/inventory"
	"shimwright/inventory/work"
	"shimwright/shim"
)

// A shimText words shims for people, in its unit: the size, and behind it what is
// written on the shim where that is another text.
type shimText struct {
	shim.Unit
	mark   func(shim.Disc) string
	marked bool // whether some shims do not bear their size
}

// ofEngine words the shims of an engine.
func ofEngine(e *shim.Engine) shimText { return shimText{e.Units.Size, e.Mark, e.Marked()} }

// ofShop words the shims of the shop, whose models say what is marked on them.
func ofShop(ctx context.Context, shop *inventory.Shop, u shim.Unit) (shimText, error) {
	book, err := work.MarkBook(ctx, shop)
	return shimText{u, book.Of, book.Marked()}, err
}

// size is a size, as in "2.600 (B)".
func (t shimText) size(d shim.Disc) string {
	if d.Size == 0 {
		return ""
	}
	return shim.WithMark(sizeText(d.Size, t.Unit), t.mark(d))
}

// disc is the size, and the family if it is no plain disc.
func (t shimText) disc(d shim.Disc) string { return ofKind(t.size(d), d.Family) }

// ofKind is a shim's size with the family if it is no plain disc.
func ofKind(size string, f shim.Family) string {
	if f.Kind != "" {
		size += " " + f.Kind
	}
	return size
}

// on is the mark on a shim, empty where its size is.
func (t shimText) on(l inventory.Lot) string {
	if l.Stamp == 0 {
		return ""
	}
	return t.mark(l.Family.Of(l.Stamp))
}

// shimMark is the mark on a valve's shim, empty where its size is.
func shimMark(e *shim.Engine, v shim.Valve, m shim.Marks) string {
	return ofEngine(e).on(inventory.Lot{Family: e.FamilyOf(v), Marks: m})
}

// counted is the size that a shim counts as, with its mark where that means this size.
func (t shimText) counted(l inventory.Lot) string {
	if l.Stamp != l.Size() {
		return sizeText(l.Size(), t.Unit)
	}
	return t.size(l.Disc())
}

// lot is a shim's size, with the micrometer reading if it differs from the stamp.
func (t shimText) lot(l inventory.Lot) string {
	if l.Mic == 0 || l.Stamp == 0 || l.Mic == l.Stamp {
		return t.counted(l)
	}
	mic := "mic " + sizeText(l.Mic, t.Unit)
	if mark := t.on(l); mark != "" {
		mic = mark + ", " + mic
	}
	return fmt.Sprintf("%s (%s)", sizeText(l.Stamp, t.Unit), mic)
}

// withMarks adds the column mark to a CSV's rows, the header first, where some shims
// do not bear their size.
func (t shimText) withMarks(rows [][]string, marks []string) [][]string {
	if !t.marked {
		return rows
	}
	rows[0] = append(rows[0], "mark")
	for i, mark := range marks {
		rows[i+1] = append(rows[i+1], mark)
	}
	return rows
}
