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
		Short: "Book in all that a box file lists",
		Long: `import books in what a box file lists (docs/files.md), to begin a record that was
kept elsewhere. A row whose note is "used" is of used shims. Where the box is
not empty, the pieces are added to it, and import asks first: to bring a record
in line with what was counted, use box count.`,
		Example:           `  shimwright box import testdata/demo/box.csv`,
		Args:              exactly(1, "one box file"),
		ValidArgsFunction: completeOnce(completeCSV),
		RunE:              func(cmd *cobra.Command, args []string) error { return runBoxImport(cmd, a, o, args) },
	}
	addDiameter(a, cmd, &o.diameter)
	flags := cmd.Flags()
	flags.StringVar(&o.note, "note", "", "for the record (default: the file's name)")
	flags.BoolVar(&o.yes, "yes", false, "do not ask")
	flags.BoolVar(&o.dryRun, "dry-run", false, "only say what would be booked")
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
		return shim.Fail(nil, "write a row for each size with its count", "%s: no piece to book", name)
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
		what := fmt.Sprintf("%s in %s", shim.Count(in, "piece"), shim.Count(len(items), "row"))
		if o.dryRun {
			return a.say("Would book in %s. The box has %s.\n", what, shim.Count(int(box.Pieces), "piece"))
		}
		if box.Pieces > 0 {
			if err := a.agree(fmt.Sprintf("The box has %s already. Add %s?", shim.Count(int(box.Pieces), "piece"), what), o.yes); err != nil {
				return err
			}
		}
		r, err := shop.Receive(ctx, items)
		if err != nil {
			return err
		}
		return a.printReceipt("Imported", r, u, thenUndo("look at it with shimwright box list", r))
	})
}
