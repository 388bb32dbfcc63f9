package main

import (
	"context"
	"fmt"
	"io"

	"github.com/spf13/cobra"

	"shimwright/inventory"
	"shimwright/inventory/work"
	"shimwright/shim"
	"shimwright/shim/files"
)

type importOptions struct {
	familyOptions
	form   formFlags
	note   string
	yes    bool
	dryRun bool
	units  *choice
}

func newBoxImport(a *app) *cobra.Command {
	o := &importOptions{}
	cmd := &cobra.Command{
		Use:   "import BOX.csv",
		Short: "Book in everything in a box file",
		Long: `import books in everything in a box file (docs/files.md), to start from a record
kept elsewhere. The note "used" marks used shims. If the box is not empty, import
asks first and adds to it. To correct the record after a count, use box count.

--map reads a spreadsheet of any form (docs/files.md): it says which column is the
size, count, mic, mark, diameter, family, bin, note, used or price. Other columns
are left out. Save the spreadsheet as CSV or text first.`,
		Example: `  shimwright box import testdata/demo/box.csv
  shimwright box import regal.csv --map Dicke=size --map Stk=count
  shimwright box import regal.csv --map Maß=size --map Stück=count \
    --map Zustand=used --word gebraucht=used --word neu=new --dry-run`,
		Args:              exactly(1, "one box file"),
		ValidArgsFunction: completeOnce(completeCSV),
		RunE:              func(cmd *cobra.Command, args []string) error { return runBoxImport(cmd, a, o, args) },
	}
	o.add(a, cmd, plainDiscs)
	flags := cmd.Flags()
	flags.StringVar(&o.note, "note", "", "for the record (default: the file's name)")
	flags.BoolVar(&o.yes, "yes", false, "do not ask")
	flags.BoolVar(&o.dryRun, "dry-run", false, "only show what would be booked")
	o.units = addUnits(cmd)
	o.form.add(cmd)
	return cmd
}

func runBoxImport(cmd *cobra.Command, a *app, o *importOptions, args []string) error {
	name := args[0]
	u := o.units.unit()
	read, err := o.reader(a, u, false, a.marksLater(cmd))
	if err != nil {
		return err
	}
	marks, err := read.marks(o.familyOptions)
	if err != nil {
		return err
	}
	note := o.note
	if note == "" {
		note = "import of " + name
	}
	items, err := o.items(cmd, a, name, marks, inventory.Item{Note: note})
	if err != nil {
		return err
	}
	if len(items) == 0 {
		return shim.Fail(nil, "write a row for each size with its count", "%s: no shims to book", name)
	}
	return a.withBooking(cmd, func(ctx context.Context, shop *inventory.Shop) error {
		if err := a.fillFamily(ctx, shop, items, o.familyOptions, u); err != nil {
			return err
		}
		box, err := shop.Totals(ctx)
		if err != nil {
			return err
		}
		in := 0
		for _, i := range items {
			in += i.Count
		}
		what := fmt.Sprintf("%s on %s", shim.Count(in, "shim"), shim.Count(len(items), "line"))
		if o.form.told(cmd) {
			what += sheetText(items)
		}
		if o.dryRun {
			return a.say("Would book in %s. The box has %s.\n", what, shim.Count(int(box.Pieces), "shim"))
		}
		if box.Pieces > 0 {
			if err := a.agree(fmt.Sprintf("The box already has %s. Add %s?", shim.Count(int(box.Pieces), "shim"), what), o.yes); err != nil {
				return err
			}
		}
		text, err := ofShop(ctx, shop, u)
		if err != nil {
			return err
		}
		r, err := shop.Receive(ctx, items)
		if err != nil {
			return err
		}
		return a.printReceipt("Imported", r, text, thenUndo("check it with shimwright box list", r))
	})
}

// items reads the file: a box file, or a spreadsheet whose form is told.
func (o *importOptions) items(cmd *cobra.Command, a *app, name string, marks files.Marks, common inventory.Item) ([]inventory.Item, error) {
	if !o.form.told(cmd) {
		rows, err := a.readBox(name, o.units.unit(), marks)
		return itemsOf(rows, common), err
	}
	form := files.Form{Units: o.units.unit()}
	if err := o.form.onto(cmd, &form); err != nil {
		return nil, err
	}
	if err := form.OfBox(); err != nil {
		return nil, wrong(shim.HintOf(err), "--map: %w", err)
	}
	rows, err := a.readSheet(name, form, marks)
	var items []inventory.Item
	for _, row := range rows {
		item := itemsOf([]shim.BoxRow{row.BoxRow}, common)[0]
		item.Quote = row.Quote
		items = append(items, item)
	}
	return items, err
}

// sheetText says how a spreadsheet was read: what can be compared with it at a glance.
func sheetText(items []inventory.Item) string {
	used, priced, bins := 0, 0, map[string]bool{}
	var value shim.Price
	for _, i := range items {
		if i.Used {
			used += i.Count
		}
		if i.Priced {
			priced += i.Count
			value += i.Price * shim.Price(i.Count)
		}
		if i.Bin != "" {
			bins[i.Bin] = true
		}
	}
	text := fmt.Sprintf(" (%d used; %s", used, shim.Count(len(bins), "bin"))
	if priced > 0 {
		text += fmt.Sprintf("; %d with a price, %s in all", priced, value)
	}
	return text + ")"
}

type boxExportOptions struct {
	familyOptions
	out string
}

func newBoxExport(a *app) *cobra.Command {
	o := &boxExportOptions{}
	cmd := &cobra.Command{
		Use:   "export",
		Short: "Write the box to a CSV file",
		Long: `export writes all shims on hand as a box file (docs/files.md), in mm: for solve,
for a spreadsheet, or as a stocktaking sheet. Used shims have the note "used".
Shims reserved for jobs are included. box import reads the file back.`,
		Example: `  shimwright box export > box.csv
  shimwright box export --diameter 8.9 --out box.csv`,
		Args: exactly(0, "no argument"),
		RunE: func(cmd *cobra.Command, args []string) error { return runBoxExport(cmd, a, o, args) },
	}
	o.add(a, cmd, allFamilies)
	addOut(cmd, &o.out)
	return cmd
}

func runBoxExport(cmd *cobra.Command, a *app, o *boxExportOptions, _ []string) error {
	q, err := o.asked(a, cmd, nil, shim.MM)
	if err != nil {
		return err
	}
	return a.withShop(cmd, func(ctx context.Context, shop *inventory.Shop) error {
		last, err := shop.History(ctx, inventory.MovementFilter{Newest: true, Limit: 1})
		if err != nil {
			return err
		}
		lots, err := shop.Balances(ctx, inventory.StockFilter{})
		if err != nil {
			return err
		}
		book, err := work.MarkBook(ctx, shop)
		if err != nil {
			return err
		}
		rows := boxRows(q.lots(lots))
		err = a.writeTo(o.out, func(w io.Writer) error { return files.WriteBox(w, rows, shim.MM, book) })
		if err == nil && len(last) > 0 {
			fmt.Fprintf(a.err, "This is the box as of movement %d. If you count with this sheet, book the count with box count --since %d.\n", last[0].Seq, last[0].Seq)
		}
		return err
	})
}
