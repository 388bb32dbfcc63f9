package main

import (
	"context"
	"fmt"
	"slices"
	"strings"

	"github.com/spf13/cobra"

	"shimwright/inventory"
	"shimwright/inventory/work"
	"shimwright/shim"
)

func filterLots(lots []inventory.Balance, keep func(inventory.Lot) bool) []inventory.Balance {
	return slices.DeleteFunc(lots, func(b inventory.Balance) bool { return !keep(b.Lot) })
}

// condition is used or new.
func condition(used bool) string {
	if used {
		return "used"
	}
	return "new"
}

// which are the flags that say which pieces in the box are meant.
type which struct {
	diameter, stamp, bin string
	used, fresh, binned  bool
	units                *choice
}

func addWhich(a *app, cmd *cobra.Command) *which {
	w := &which{}
	addDiameter(a, cmd, &w.diameter)
	flags := cmd.Flags()
	flags.StringVar(&w.bin, "bin", "", "those in this bin")
	flags.BoolVar(&w.used, "used", false, "used ones")
	flags.BoolVar(&w.fresh, "new", false, "new ones")
	flags.StringVar(&w.stamp, "stamp", "", "those with this `SIZE` marked on them, where the micrometer reads another")
	completesFlag(cmd, "bin", a.completeBins())
	w.units = addUnits(cmd)
	apart(cmd, "used", "new")
	return w
}

// in gives the lots that the pieces are of, with the number from each. It is
// clear which ones are meant where one lot is left, or where all pieces are
// asked for. The lots are the box's, of all diameters.
func (w *which) in(lots []inventory.Balance, p pieces) ([]inventory.Item, error) {
	u := w.units.unit()
	diameter, err := p.of(w.diameter, u)
	if err != nil {
		return nil, err
	}
	var stamped shim.Length
	if w.stamp != "" {
		if stamped, err = parseSize(w.stamp, u); err != nil {
			return nil, err
		}
	}
	if p.count == 0 {
		return nil, wrong("give the number of pieces, 1 or more", "0 pieces cannot be booked")
	}
	all := filterLots(slices.Clone(lots), func(l inventory.Lot) bool { return work.Same(diameter, l.Diameter, u) })
	left := filterLots(slices.Clone(all), func(l inventory.Lot) bool {
		return work.Same(p.size, l.Size(), u) && work.Same(stamped, l.Stamp, u) && (!w.binned || l.Bin == w.bin) && (!w.used || l.Used) && (!w.fresh || !l.Used)
	})
	total := 0
	for _, l := range left {
		total += l.Count
	}
	switch {
	case len(left) == 0:
		return nil, w.none(all, p)
	case len(left) == 1:
		return []inventory.Item{{Lot: left[0].Lot, Count: p.count}}, nil
	case total < p.count:
		return nil, shim.Fail(inventory.ErrShort, "see what is there: shimwright box list "+u.Format(p.size),
			"%d × %s %s: %d on hand", p.count, sizeText(p.size, u), u, total)
	case total == p.count && p.told:
		var items []inventory.Item
		for _, l := range left {
			items = append(items, inventory.Item{Lot: l.Lot, Count: l.Count})
		}
		return items, nil
	}
	var names []string
	for _, l := range left {
		names = append(names, fmt.Sprintf("%d %s", l.Count, kindText(l.Lot, u)))
	}
	return nil, wrong("say which: --bin, --used, --new, --stamp or --diameter", "%s %s is not one kind of shim: %s", sizeText(p.size, u), u, strings.Join(names, "; "))
}

// none is the error where the box has no such pieces.
func (w *which) none(all []inventory.Balance, p pieces) error {
	u := w.units.unit()
	text := fmt.Sprintf("no shim of %s %s", sizeText(p.size, u), u)
	for _, part := range []struct {
		on   bool
		text string
	}{{w.used, " used"}, {w.fresh, " new"}, {w.stamp != "", " stamped " + w.stamp}, {w.binned, " in bin " + w.bin}, {w.diameter != "", " of disc " + w.diameter}} {
		if part.on {
			text += part.text
		}
	}
	way := "see what is there: shimwright box list"
	for _, l := range all {
		if l.Mic != 0 && work.Same(p.size, l.Stamp, u) && !work.Same(p.size, l.Mic, u) {
			way = fmt.Sprintf("one stamped %s measures %s: name it by that", sizeText(l.Stamp, u), sizeText(l.Mic, u))
			break
		}
	}
	if bins := w.bins(all); w.binned && !slices.Contains(bins, w.bin) {
		text = "nothing lies in bin " + w.bin
		if len(bins) > 0 {
			way = "the bins are " + strings.Join(bins[:min(len(bins), 20)], ", ")
		}
	}
	return shim.Fail(inventory.ErrShort, way, "%s", text)
}

func (w *which) bins(lots []inventory.Balance) []string {
	var bins []string
	for _, l := range lots {
		if l.Bin != "" {
			bins = append(bins, l.Bin)
		}
	}
	slices.Sort(bins)
	return slices.Compact(bins)
}

// kindText says what sets a lot apart from others of its size.
func kindText(l inventory.Lot, u shim.Unit) string {
	text := condition(l.Used)
	switch {
	case l.Mic != 0 && l.Stamp != 0:
		text += " stamped " + sizeText(l.Stamp, u)
	case l.Mic != 0:
		text += " without a stamp"
	}
	if l.Bin != "" {
		text += " in bin " + l.Bin
	}
	return text + " (disc " + discText(l.Diameter, u) + ")"
}

// pick reads the arguments and finds their lots.
func (w *which) pick(ctx context.Context, shop *inventory.Shop, args []string) ([]inventory.Item, error) {
	var asked []pieces
	for _, arg := range args {
		p, err := parsePieces(arg, w.units.unit())
		if err != nil {
			return nil, err
		}
		asked = append(asked, p)
	}
	lots, err := shop.Balances(ctx, inventory.StockFilter{})
	if err != nil {
		return nil, err
	}
	var items []inventory.Item
	for _, p := range asked {
		of, err := w.in(lots, p)
		if err != nil {
			return nil, err
		}
		items = append(items, of...)
	}
	return items, nil
}

// usedNote is the note by which a box file tells used shims from new ones.
const usedNote = "used"

func isUsed(note string) bool { return strings.EqualFold(strings.TrimSpace(note), usedNote) }

// boxRows gives lots as the rows of a box file.
func boxRows(lots []inventory.Balance) []shim.BoxRow {
	rows := make([]shim.BoxRow, 0, len(lots))
	for _, l := range lots {
		row := shim.BoxRow{Marks: l.Marks, Diameter: l.Diameter, Count: l.Count, Bin: l.Bin}
		if l.Used {
			row.Note = usedNote
		}
		rows = append(rows, row)
	}
	return rows
}
