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
		Short: "Write the box to a CSV file",
		Long: `export writes all shims on hand as a box file (docs/files.md), in mm: for solve,
for a spreadsheet, or as a stocktaking sheet. Used shims have the note "used".
Shims reserved for jobs are included. box import reads the file back.`,
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
		lots, err := shop.Balances(ctx, inventory.StockFilter{Disc: shim.Disc{Family: shim.Family{Diameter: only}}})
		if err != nil {
			return err
		}
		rows := boxRows(lots)
		err = a.writeTo(o.out, func(w io.Writer) error { return files.WriteBox(w, rows, shim.MM) })
		if err == nil && len(last) > 0 {
			fmt.Fprintf(a.err, "This is the box as of movement %d. If you count with this sheet, book the count with box count --since %d.\n", last[0].Seq, last[0].Seq)
		}
		return err
	})
}
