package main

import (
	"context"
	"fmt"

	"github.com/spf13/cobra"

	"shimwright/inventory"
)

type scrapOptions struct {
	*which
	note string
}

func newBoxScrap(a *app) *cobra.Command {
	o := &scrapOptions{}
	cmd := &cobra.Command{
		Use:   "scrap SIZE[xCOUNT]...",
		Short: "Book shims out for good",
		Long: `scrap books out shims that are thrown away, given away or sold. SIZE is the
micrometer reading if there is one, else the stamp; 2.400x3 means three shims. If
the box has several kinds of that size, select one with the flags.

Reserved shims are booked out too: the job's plan loses them, and says so when
you book the fit.`,
		Example: `  shimwright box scrap 2.400
  shimwright box scrap 2.400x2 2.425 --used --note "rings worn"`,
		Args:              atLeast(1, "one size or more"),
		ValidArgsFunction: a.completeSizes(),
		RunE:              func(cmd *cobra.Command, args []string) error { return runBoxScrap(cmd, a, o, args) },
	}
	o.which = addWhich(a, cmd)
	cmd.Flags().StringVar(&o.note, "note", "", "reason, for the record")
	return cmd
}

func runBoxScrap(cmd *cobra.Command, a *app, o *scrapOptions, args []string) error {
	o.binned = cmd.Flags().Changed("bin")
	return a.withBooking(cmd, func(ctx context.Context, shop *inventory.Shop) error {
		items, err := o.pick(ctx, a, shop, args)
		if err != nil {
			return err
		}
		for i := range items {
			items[i].Note = o.note
		}
		text, err := ofShop(ctx, shop, o.units.unit())
		if err != nil {
			return err
		}
		r, err := shop.Scrap(ctx, items)
		if err != nil {
			return err
		}
		return a.printReceipt("Scrapped", r, text, thenUndo("nothing to do", r))
	})
}

// thenUndo says what comes next and how to undo.
func thenUndo(next string, r inventory.Receipt) string {
	return fmt.Sprintf("%s. To undo: shimwright box undo %d.", next, r.Batch)
}
