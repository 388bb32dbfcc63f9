package main

import (
	"cmp"
	"context"
	"fmt"

	"github.com/spf13/cobra"

	"shimwright/inventory"
	"shimwright/inventory/work"
	"shimwright/shim"
	"shimwright/shim/files"
)

type receiveOptions struct {
	familyOptions
	from  string
	kit   string
	mic   string
	used  bool
	bin   string
	price string
	note  string
	yes   bool
	units *choice
}

func newBoxReceive(a *app) *cobra.Command {
	o := &receiveOptions{}
	cmd := &cobra.Command{
		Use:   "receive [SIZE[xCOUNT]]...",
		Short: "Book a delivery into the box",
		Long: `receive books a delivery into the box. 2.400x3 means three shims stamped 2.400.
The flags apply to all sizes. --from reads a box file instead (docs/files.md), in
which the note "used" marks used shims. Without sizes it reads them line by line;
a scanned label is one shim. A mark that an engine file lists stands for its size,
here and wherever a size is typed: Bx3, "No. 5".

It asks about likely typing mistakes: a size in none of the shop's catalogues,
very many shims, new shims noted as used.

--kit books an assortment from a box file; --price is then what the whole kit
cost, and is spread over its shims to the cent.

New shims that a job has on order or needs are reserved for it. Used ones are
free. If the stamp cannot be read, give only --mic.`,
		Example: `  shimwright box receive 2.400x3 2.425x2 --bin A3 --price 7.80
  shimwright box receive 2.425 --mic 2.418 --used
  shimwright box receive "2.425;8.9"
  shimwright box receive --from delivery.csv --price 7.80
  shimwright box receive --kit kit.csv --price 89`,
		RunE: func(cmd *cobra.Command, args []string) error { return runBoxReceive(cmd, a, o, args) },
	}
	o.add(a, cmd, plainDiscs)
	flags := cmd.Flags()
	flags.StringVar(&o.from, "from", "", "read the delivery from this `FILE` (CSV: size,count)")
	completesFlag(cmd, "from", completeCSV)
	flags.StringVar(&o.kit, "kit", "", "read an assortment from this `FILE` (CSV: size,count)")
	completesFlag(cmd, "kit", completeCSV)
	flags.StringVar(&o.mic, "mic", "", "the `SIZE` measured with a micrometer")
	flags.BoolVar(&o.used, "used", false, "the shims are used")
	flags.Var((*trimmed)(&o.bin), "bin", "the bin they go into")
	flags.StringVar(&o.price, "price", "", "price of one shim, or of the whole kit, without the currency")
	flags.StringVar(&o.note, "note", "", "note for the record, like supplier or invoice")
	flags.BoolVar(&o.yes, "yes", false, "do not ask")
	completesFlag(cmd, "bin", a.completeBins())
	o.units = addUnits(cmd)
	exclusive(cmd, "from", "kit")
	return cmd
}

func runBoxReceive(cmd *cobra.Command, a *app, o *receiveOptions, args []string) error {
	switch {
	case o.kit != "" && (len(args) > 0 || o.mic != ""):
		return wrong("put all sizes into the file", "--kit cannot be used with sizes")
	case o.from != "" && (len(args) > 0 || o.mic != ""):
		return wrong("put all sizes into the file", "--from cannot be used with sizes")
	case o.from == "" && o.kit == "" && len(args) == 0 && o.mic == "" && !a.person:
		return wrong("give sizes, like 2.400x3, or --from FILE; - reads lines", "no sizes given")
	case o.mic != "" && len(args) > 1:
		return wrong("receive one size at a time", "--mic applies to one size only")
	}
	common := inventory.Item{Lot: inventory.Lot{Used: o.used, Bin: o.bin}, Note: o.note}
	if o.price != "" {
		var err error
		if common.Price, err = parsePrice(o.price); err != nil {
			return err
		}
		common.Priced = true
	}
	file := cmp.Or(o.from, o.kit)
	items, err := o.items(a, cmd, file, args, common)
	if err != nil {
		return err
	}
	if o.kit != "" && common.Priced {
		items = work.SpreadPrice(items, common.Price)
	}
	return a.withBooking(cmd, func(ctx context.Context, shop *inventory.Shop) error {
		if err := a.fillFamily(ctx, shop, items, o.familyOptions, o.units.unit()); err != nil {
			return err
		}
		doubts, err := work.DoubtsOfDelivery(ctx, shop, delivered(items), o.units.unit())
		if err != nil {
			return err
		}
		text, err := ofShop(ctx, shop, o.units.unit())
		if err != nil {
			return err
		}
		if err := a.confirm(doubtWords(doubts, "", text), o.yes); err != nil {
			return err
		}
		r, err := work.Receive(ctx, shop, items)
		if err != nil {
			return err
		}
		return a.printReceipt("Received", r, text, thenUndo("put them into their bins", r))
	})
}

// items returns the shims of the call, diameter 0 if unknown.
func (o *receiveOptions) items(a *app, cmd *cobra.Command, file string, args []string, common inventory.Item) ([]inventory.Item, error) {
	u := o.units.unit()
	if file != "" {
		read, err := o.reader(a, u, false, a.marksLater(cmd))
		if err != nil {
			return nil, err
		}
		marks, err := read.marks(o.familyOptions)
		if err != nil {
			return nil, err
		}
		rows, err := a.readBox(file, u, marks)
		if err != nil {
			return nil, err
		}
		items := itemsOf(rows, common)
		if len(items) == 0 {
			return nil, shim.Fail(nil, "write a row for each size with its count", "%s: no shims to book", file)
		}
		return items, nil
	}
	if o.mic != "" {
		var err error
		if common.Mic, err = parseSize(o.mic, u); err != nil {
			return nil, err
		}
	}
	if len(args) == 0 && o.mic != "" {
		common.Count = 1
		return []inventory.Item{common}, nil
	}
	read, err := o.reader(a, u, false, a.marksLater(cmd))
	if err != nil {
		return nil, err
	}
	read.known = common.Mic
	var came []pieces
	if len(args) == 0 || len(args) == 1 && args[0] == "-" {
		came, err = a.scanned(read)
	} else {
		came, err = read.all(args)
	}
	if err != nil {
		return nil, err
	}
	var items []inventory.Item
	for _, p := range came {
		i := common
		i.Stamp, i.Count, i.Family = p.Size, p.count, p.Family
		if _, err := p.of(o.familyOptions, u); err != nil {
			return nil, err
		}
		a.compareMic(i.Lot, u)
		items = append(items, i)
	}
	return items, nil
}

// scanned reads sizes and labels, a line each.
func (a *app) scanned(read *sizeReader) ([]pieces, error) {
	u := read.unit
	read.echo = true
	var list []pieces
	err := a.eachLine("size: ", fmt.Sprintf("Type sizes, like %sx3, or scan a label for each shim. An empty line ends.", sizeText(2400*shim.Micrometre, u)), func(line string) error {
		p, err := read.pieces(line)
		if err == nil {
			list = append(list, p)
		}
		return err
	})
	if err == nil && len(list) == 0 {
		err = wrong("type a size, like 2.400x3", "no sizes given")
	}
	return list, err
}

// delivered returns the items with whether their notes say used.
func delivered(items []inventory.Item) []work.Delivered {
	list := make([]work.Delivered, len(items))
	for i, item := range items {
		list[i] = work.Delivered{Item: item, NotedUsed: isUsed(item.Note)}
	}
	return list
}

// compareMic warns if the stamp and the micrometer disagree.
func (a *app) compareMic(l inventory.Lot, u shim.Unit) {
	if l.Differ() {
		a.doubt("the micrometer reads "+sizeText(l.Mic, u)+" but the stamp says "+sizeText(l.Stamp, u)+" "+u.String(),
			"measure the shim again; the micrometer reading counts")
	}
}

// compareMics is [app.compareMic] for booked shims, of the valves with a
// micrometer reading.
func (a *app) compareMics(list []inventory.Movement, told map[shim.Valve]bool, u shim.Unit) {
	seen := map[shim.Valve]inventory.Lot{}
	for _, m := range list {
		if kind := (inventory.Lot{Marks: m.Marks}); told[m.Valve] && m.Kind != inventory.KindCorrected && seen[m.Valve] != kind && m.Differ() {
			seen[m.Valve] = kind
			a.doubt(fmt.Sprintf("%s: the micrometer reads %s but the stamp says %s %s", m.Valve, sizeText(m.Mic, u), sizeText(m.Stamp, u), u),
				"measure the shim again; if it was a typing mistake, undo the booking with shimwright box undo")
		}
	}
}

// itemsOf returns the rows of a box file as items. What a row leaves out comes
// from the common item.
func itemsOf(rows []shim.BoxRow, common inventory.Item) []inventory.Item {
	var items []inventory.Item
	for _, row := range rows {
		i := common
		i.Marks, i.Family, i.Count = row.Marks, row.Family, row.Count
		if row.Bin != "" {
			i.Bin = row.Bin
		}
		i.Used = i.Used || row.Used
		if !isUsed(row.Note) && row.Note != "" {
			i.Note = row.Note
		}
		items = append(items, i)
	}
	return items
}

// fillFamily sets the family of items without one.
func (a *app) fillFamily(ctx context.Context, shop *inventory.Shop, items []inventory.Item, o familyOptions, u shim.Unit) error {
	whole := a.wholeFamily(ctx, shop, o, u)
	for i := range items {
		var err error
		if items[i].Family, err = whole(items[i].Family); err != nil {
			return err
		}
	}
	return nil
}

// wholeFamily gives a family what it lacks: the kind of the flags where it has no
// diameter, and a diameter, asked for once a kind.
func (a *app) wholeFamily(ctx context.Context, shop *inventory.Shop, o familyOptions, u shim.Unit) func(shim.Family) (shim.Family, error) {
	diameters := map[string]shim.Length{}
	return func(f shim.Family) (shim.Family, error) {
		if f.Kind == "" && f.Diameter == 0 {
			f.Kind = files.FamilyName(o.kind)
		}
		if f.Diameter != 0 {
			return f, nil
		}
		if diameters[f.Kind] == 0 {
			var err error
			if diameters[f.Kind], err = a.theDiameter(ctx, shop, o.diameter, f.Kind, u); err != nil {
				return f, err
			}
		}
		f.Diameter = diameters[f.Kind]
		return f, nil
	}
}
