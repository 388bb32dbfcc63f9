package main

import (
	"context"
	"fmt"
	"io"

	"github.com/spf13/cobra"

	"shimwright/inventory"
	"shimwright/shim"
	"shimwright/shim/files"
)

type boxExportOptions struct {
	diameter, out string
}

func newBoxExport(a *app) *cobra.Command {
	o := &boxExportOptions{}
	cmd := &cobra.Command{
		Use:   "export",
		Short: "Write the box as a box file",
		Long: `export writes what is on hand in the form of a box file (docs/files.md), in mm,
used shims with the note "used": for solve, for a spreadsheet, or as the sheet
for a stocktake. box import reads it back as it was. What jobs have reserved is
in it as well.`,
		Example: `  shimwright box export > box.csv
  shimwright box export --diameter 8.9 --out box.csv`,
		Args: exactly(0, "no argument"),
		RunE: func(cmd *cobra.Command, args []string) error { return runBoxExport(cmd, a, o, args) },
	}
	addDiameter(a, cmd, &o.diameter)
	addOut(cmd, &o.out)
	return cmd
}

func runBoxExport(cmd *cobra.Command, a *app, o *boxExportOptions, _ []string) error {
	only, err := anyDiameter(o.diameter, shim.MM)
	if err != nil {
		return err
	}
	return a.withShop(cmd, func(ctx context.Context, shop *inventory.Shop) error {
		last, err := shop.History(ctx, inventory.MovementFilter{Newest: true, Limit: 1})
		if err != nil {
			return err
		}
		lots, err := shop.Balances(ctx, inventory.StockFilter{Disc: shim.Disc{Diameter: only}})
		if err != nil {
			return err
		}
		rows := boxRows(lots)
		err = a.writeTo(o.out, func(w io.Writer) error { return files.WriteBox(w, rows, shim.MM) })
		if err == nil && len(last) > 0 {
			fmt.Fprintf(a.err, "The box as of movement %d: a count on this sheet is booked with box count --since %d.\n", last[0].Seq, last[0].Seq)
		}
		return err
	})
}
