package main

import (
	"context"
	"fmt"

	"github.com/spf13/cobra"

	"shimwright/inventory"
	"shimwright/inventory/work"
	"shimwright/shim"
)

type historyOptions struct {
	familyOptions
	job    int64
	before int64
	all    bool
	units  *choice
	output *choice
}

func newBoxHistory(a *app) *cobra.Command {
	o := &historyOptions{}
	cmd := &cobra.Command{
		Use:   "history [SIZE]",
		Short: "Show the movements of the box, newest first",
		Long: fmt.Sprintf(`history lists the movements of one SIZE or of all, newest first: what arrived and
what left, when, for which job, and who booked it.

A table shows %d rows, and its last line says how to see older ones. JSON and CSV
have all rows unless --before is given.`, pageRows),
		Example: `  shimwright box history
  shimwright box history 2.425
  shimwright box history --job 12 --output csv`,
		Args:              atMost(1, "one size"),
		ValidArgsFunction: completeOnce(a.completeSizes()),
		RunE:              func(cmd *cobra.Command, args []string) error { return runBoxHistory(cmd, a, o, args) },
	}
	o.add(a, cmd, allFamilies)
	flags := cmd.Flags()
	flags.Int64Var(&o.job, "job", 0, "only movements of this job")
	flags.Int64Var(&o.before, "before", 0, "only movements before this `NUMBER`")
	flags.BoolVar(&o.all, "all", false, "show all rows")
	o.units = addUnits(cmd)
	o.output = addOutput(cmd)
	return cmd
}

func runBoxHistory(cmd *cobra.Command, a *app, o *historyOptions, args []string) error {
	u := o.units.unit()
	f := inventory.MovementFilter{Newest: true, Job: o.job, Before: o.before}
	q, err := o.asked(a, cmd, args, u)
	if err != nil {
		return err
	}
	return a.withShop(cmd, func(ctx context.Context, shop *inventory.Shop) error {
		families, err := work.Families(ctx, shop)
		if err != nil {
			return err
		}
		if f.Size, err = snapSize(ctx, shop, q.Size, u); err != nil {
			return err
		}
		f.Family = q.Family
		f.Diameter, _ = snap(diametersOf(families), q.Diameter, u)
		text, err := ofShop(ctx, shop, u)
		if err != nil {
			return err
		}
		l := &movementList{unit: text, kinds: hasKinds(families)}
		whole := o.all || o.output.value != "table" && o.output.value != "markdown" && o.before == 0
		l.next = func() ([]inventory.Movement, error) {
			f.Limit = historyChunk
			rows, err := shop.History(ctx, f)
			if len(rows) > 0 {
				f.Before = rows[len(rows)-1].Seq
			}
			return rows, err
		}
		if !whole {
			// One more row shows whether there are older ones.
			f.Limit = pageRows + 1
			rows, err := shop.History(ctx, f)
			if err != nil {
				return err
			}
			if len(rows) > pageRows {
				rows = rows[:pageRows]
				l.older = rows[pageRows-1].Seq
			}
			l.next = once(rows)
		}
		return l.print(a, o.output.value)
	})
}

// historyChunk is how many rows are read at a time, to keep a long ledger out of
// memory.
const historyChunk = 2000

// once returns the rows, then none.
func once(rows []inventory.Movement) func() ([]inventory.Movement, error) {
	return func() ([]inventory.Movement, error) {
		all := rows
		rows = nil
		return all, nil
	}
}

// snapSize returns the size in the box that a size typed in inches means.
func snapSize(ctx context.Context, shop *inventory.Shop, size shim.Length, u shim.Unit) (shim.Length, error) {
	if u == shim.MM {
		return size, nil
	}
	stocks, err := shop.Stocks(ctx, inventory.StockFilter{})
	if err != nil {
		return 0, err
	}
	var list []shim.Length
	for _, s := range stocks {
		list = append(list, s.Size)
	}
	size, _ = snap(list, size, u)
	return size, nil
}
