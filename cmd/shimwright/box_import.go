package main

import (
	"context"
	"fmt"

	"github.com/spf13/cobra"

	"shimwright/inventory"
	"shimwright/shim"
)

type importOptions struct {
	diameter string
	note     string
	yes      bool
	dryRun   bool
	units    *choice
}

func newBoxImport(a *app) *cobra.Command {
	o := &importOptions{}
	cmd := &cobra.Command{
		Use:   "import BOX.csv",
		Short: "Book in everything in a box file",
		Long: `import books in everything in a box file (docs/files.md), to start from a record
kept elsewhere. The note "used" marks used shims. If the box is not empty, import
asks first and adds to it. To correct the record after a count, use box count.`,
		Example:           `  shimwright box import testdata/demo/box.csv`,
		Args:              exactly(1, "one box file"),
		ValidArgsFunction: completeOnce(completeCSV),
		RunE:              func(cmd *cobra.Command, args []string) error { return runBoxImport(cmd, a, o, args) },
	}
	addDiameter(a, cmd, &o.diameter)
	flags := cmd.Flags()
	flags.StringVar(&o.note, "note", "", "for the record (default: the file's name)")
	flags.BoolVar(&o.yes, "yes", false, "do not ask")
	flags.BoolVar(&o.dryRun, "dry-run", false, "only show what would be booked")
	o.units = addUnits(cmd)
	return cmd
}

func runBoxImport(cmd *cobra.Command, a *app, o *importOptions, args []string) error {
	name := args[0]
	u := o.units.unit()
	rows, err := a.readBox(name, u)
	if err != nil {
		return err
	}
	if len(rows) == 0 {
		return shim.Fail(nil, "write a row for each size with its count", "%s: no shims to book", name)
	}
	note := o.note
	if note == "" {
		note = "import of " + name
	}
	items := itemsOf(rows, inventory.Item{Note: note})
	return a.withBooking(cmd, func(ctx context.Context, shop *inventory.Shop) error {
		if err := a.fillDiameter(ctx, shop, items, o.diameter, u); err != nil {
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
		if o.dryRun {
			return a.say("Would book in %s. The box has %s.\n", what, shim.Count(int(box.Pieces), "shim"))
		}
		if box.Pieces > 0 {
			if err := a.agree(fmt.Sprintf("The box already has %s. Add %s?", shim.Count(int(box.Pieces), "shim"), what), o.yes); err != nil {
				return err
			}
		}
		r, err := shop.Receive(ctx, items)
		if err != nil {
			return err
		}
		return a.printReceipt("Imported", r, u, thenUndo("check it with shimwright box list", r))
	})
}
