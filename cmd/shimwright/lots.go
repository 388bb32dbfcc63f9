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
	"shimwright/shim/report"
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

// which holds the flags that select shims in the box.
type which struct {
	familyOptions
	stamp, bin          string
	used, fresh, binned bool
	units               *choice
}

func addWhich(a *app, cmd *cobra.Command) *which {
	w := &which{}
	w.add(a, cmd, plainDiscs)
	flags := cmd.Flags()
	flags.StringVar(&w.bin, "bin", "", "only shims in this bin")
	flags.BoolVar(&w.used, "used", false, "only used shims")
	flags.BoolVar(&w.fresh, "new", false, "only new shims")
	flags.StringVar(&w.stamp, "stamp", "", "only shims with this `SIZE` marked on them, if the micrometer reads another")
	completesFlag(cmd, "bin", a.completeBins())
	w.units = addUnits(cmd)
	exclusive(cmd, "used", "new")
	return w
}

// in returns the lots of the pieces, with the number from each. The choice is
// clear if one lot is left, or if all pieces are asked for. The lots are the
// box's, of all families.
func (w *which) in(lots []inventory.Balance, p pieces, read *sizeReader, text shimText) ([]inventory.Item, error) {
	u := w.units.unit()
	family, err := p.of(w.familyOptions, u)
	if err != nil {
		return nil, err
	}
	var stamped shim.Disc
	if w.stamp != "" {
		if stamped, err = read.disc(w.stamp); err != nil {
			return nil, err
		}
	}
	if p.count == 0 {
		return nil, wrong("give a count of 1 or more", "0 is not a valid number of shims")
	}
	all := filterLots(slices.Clone(lots), func(l inventory.Lot) bool { return l.Kind == family.Kind && work.Same(family.Diameter, l.Diameter, u) })
	left := filterLots(slices.Clone(all), func(l inventory.Lot) bool {
		return work.Same(p.Size, l.Size(), u) && work.Same(stamped.Size, l.Stamp, u) && (!w.binned || l.Bin == w.bin) && (!w.used || l.Used) && (!w.fresh || !l.Used)
	})
	total := 0
	for _, l := range left {
		total += l.Count
	}
	switch {
	case len(left) == 0:
		return nil, w.none(lots, all, p, text)
	case len(left) == 1:
		return []inventory.Item{{Lot: left[0].Lot, Count: p.count}}, nil
	case total < p.count:
		return nil, shim.Fail(inventory.ErrShort, "see what is on hand: shimwright box list "+u.Format(p.Size),
			"%d × %s %s: %d on hand", p.count, sizeText(p.Size, u), u, total)
	case total == p.count && p.told:
		var items []inventory.Item
		for _, l := range left {
			items = append(items, inventory.Item{Lot: l.Lot, Count: l.Count})
		}
		return items, nil
	}
	var names []string
	for _, l := range left {
		names = append(names, fmt.Sprintf("%d %s", l.Count, kindText(l.Lot, text)))
	}
	return nil, wrong("select one with --bin, --used, --new, --stamp or --diameter", "the box has several kinds of %s %s: %s", sizeText(p.Size, u), u, strings.Join(names, "; "))
}

// none is the error if the box has no such shims.
func (w *which) none(lots, all []inventory.Balance, p pieces, shown shimText) error {
	u := w.units.unit()
	text := fmt.Sprintf("no shim of %s %s", shown.size(p.Disc), u)
	for _, part := range []struct {
		on   bool
		text string
	}{{w.used, " used"}, {w.fresh, " new"}, {w.stamp != "", " stamped " + w.stamp}, {w.binned, " in bin " + w.bin}, {w.diameter != "", " of diameter " + w.diameter}, {w.kind != "", " of family " + w.kind}} {
		if part.on {
			text += part.text
		}
	}
	way := "see what is on hand: shimwright box list"
	if len(all) == 0 || w.kind == "" && p.Kind == "" {
		at := slices.IndexFunc(lots, func(l inventory.Balance) bool { return l.Kind != "" && work.Same(p.Size, l.Size(), u) })
		if at >= 0 {
			way = "for its " + lots[at].Kind + " shims add --family " + lots[at].Kind
		}
	}
	for _, l := range all {
		if l.Mic != 0 && work.Same(p.Size, l.Stamp, u) && !work.Same(p.Size, l.Mic, u) {
			way = fmt.Sprintf("one stamped %s measures %s: give that size", sizeText(l.Stamp, u), sizeText(l.Mic, u))
			break
		}
	}
	if bins := w.bins(all); w.binned && !slices.Contains(bins, w.bin) {
		text = "nothing is in bin " + w.bin
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

// kindText describes what distinguishes a lot from others of its size.
func kindText(l inventory.Lot, u shimText) string {
	text := condition(l.Used)
	switch {
	case l.Mic != 0 && l.Stamp != 0:
		text += " stamped " + shim.WithMark(sizeText(l.Stamp, u.Unit), u.on(l))
	case l.Mic != 0:
		text += " without a stamp"
	}
	if l.Bin != "" {
		text += " in bin " + l.Bin
	}
	return text + " (diameter " + strings.Replace(report.Family(u.Unit, l.Family), " ", ", ", 1) + ")"
}

// pick parses the arguments and finds their lots.
func (w *which) pick(ctx context.Context, a *app, shop *inventory.Shop, args []string) ([]inventory.Item, error) {
	lots, err := shop.Balances(ctx, inventory.StockFilter{})
	if err != nil {
		return nil, err
	}
	read, err := w.reader(a, w.units.unit(), false, marksNow(ctx, shop))
	if err != nil {
		return nil, err
	}
	read.onHand = true
	asked, err := read.all(args)
	if err != nil {
		return nil, err
	}
	text, err := ofShop(ctx, shop, w.units.unit())
	if err != nil {
		return nil, err
	}
	var items []inventory.Item
	for _, p := range asked {
		of, err := w.in(lots, p, read, text)
		if err != nil {
			return nil, err
		}
		items = append(items, of...)
	}
	return items, nil
}

// usedNote is the note that marks used shims in a box file.
const usedNote = "used"

func isUsed(note string) bool { return strings.EqualFold(strings.TrimSpace(note), usedNote) }

// boxRows returns lots as the rows of a box file.
func boxRows(lots []inventory.Balance) []shim.BoxRow {
	rows := make([]shim.BoxRow, 0, len(lots))
	for _, l := range lots {
		row := shim.BoxRow{Marks: l.Marks, Family: l.Family, Used: l.Used, Count: l.Count, Bin: l.Bin}
		if l.Used {
			row.Note = usedNote
		}
		rows = append(rows, row)
	}
	return rows
}
