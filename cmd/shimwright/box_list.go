package main

import (
	"context"
	"fmt"
	"slices"

	"github.com/spf13/cobra"

	"shimwright/inventory"
	"shimwright/inventory/work"
	"shimwright/shim"
)

// pageRows is how many rows of a listing a page has.
const pageRows = 40

type boxListOptions struct {
	familyOptions
	bin    string
	lots   bool
	page   int
	all    bool
	units  *choice
	output *choice
}

func newBoxList(a *app) *cobra.Command {
	o := &boxListOptions{}
	cmd := &cobra.Command{
		Use:   "list [SIZE]",
		Short: "Show the shims in the box and the missing sizes",
		Long: fmt.Sprintf(`list shows for each size how many shims are on hand, reserved for jobs and free,
with a bar. Sizes missing from the range are shown as gaps. The range comes from
the catalogues of the shop's models; without one, the step is guessed from the
stamps. If the box has levels (box advise --levels), it shows them, which sizes are
below theirs, and what to order next.

With a SIZE, --bin or --lots it shows each kind of shim and its bin.

A table shows %d rows at a time: --page 2 shows the next, --all shows all. JSON
and CSV have all rows unless --page is given.`, pageRows),
		Example: `  shimwright box list
  shimwright box list 2.425
  shimwright box list --bin A3
  shimwright box list --output csv`,
		Args:              atMost(1, "one size"),
		ValidArgsFunction: completeOnce(a.completeSizes()),
		RunE:              func(cmd *cobra.Command, args []string) error { return runBoxList(cmd, a, o, args) },
	}
	o.add(a, cmd, allFamilies)
	flags := cmd.Flags()
	flags.StringVar(&o.bin, "bin", "", "show only this bin")
	flags.BoolVar(&o.lots, "lots", false, "show each kind of shim: stamp, micrometer reading, used or new, bin")
	flags.IntVar(&o.page, "page", 0, "show this page, from 1")
	flags.BoolVar(&o.all, "all", false, "show all rows")
	completesFlag(cmd, "bin", a.completeBins())
	o.units = addUnits(cmd)
	o.output = addOutput(cmd)
	exclusive(cmd, "page", "all")
	return cmd
}

func runBoxList(cmd *cobra.Command, a *app, o *boxListOptions, args []string) error {
	p, err := pageOf(cmd, o.page, o.all, o.output.value)
	if err != nil {
		return err
	}
	u := o.units.unit()
	q, err := o.asked(a, cmd, args, u)
	if err != nil {
		return err
	}
	return a.withShop(cmd, func(ctx context.Context, shop *inventory.Shop) error {
		text, err := ofShop(ctx, shop, u)
		if err != nil {
			return err
		}
		if q.Size != 0 || o.lots || cmd.Flags().Changed("bin") {
			lots, err := shop.Balances(ctx, inventory.StockFilter{})
			if err != nil {
				return err
			}
			lots = filterLots(q.lots(lots), func(l inventory.Lot) bool { return !cmd.Flags().Changed("bin") || l.Bin == o.bin })
			return a.list(&lotList{lots: lots, unit: text, page: p}, o.output.value)
		}
		l, err := readStock(ctx, shop, q, text)
		if err != nil {
			return err
		}
		l.page = p
		if err := l.readLevels(ctx, a, shop, q); err != nil {
			return err
		}
		return a.list(l, o.output.value)
	})
}

// readStock reads the sizes on hand and the gaps between them.
func readStock(ctx context.Context, shop *inventory.Shop, q asked, text shimText) (*stockList, error) {
	stocks, err := shop.Stocks(ctx, inventory.StockFilter{})
	if err != nil {
		return nil, err
	}
	ranges, err := work.Ranges(ctx, shop)
	if err != nil {
		return nil, err
	}
	marks, err := work.Marks(ctx, shop)
	if err != nil {
		return nil, err
	}
	l := &stockList{unit: text}
	for from := 0; from < len(stocks); {
		to := from
		for to < len(stocks) && stocks[to].Family == stocks[from].Family {
			to++
		}
		of := stocks[from:to]
		from = to
		if !q.family(of[0].Family) {
			continue
		}
		d := familyStock{Family: of[0].Family, stocks: of}
		whole, marked := ranges[d.Family], marks[d.Family]
		if d.guessed = len(whole) == 0; d.guessed {
			var stamps []shim.Length
			for _, m := range marked {
				stamps = append(stamps, m.Stamp)
			}
			whole = inventory.RangeOf(stamps)
		}
		// A worn shim still counts for its size in the range; one far from its mark
		// does not.
		d.gaps = inventory.Gaps(of, slices.DeleteFunc(whole, func(size shim.Length) bool {
			return slices.ContainsFunc(marked, func(m shim.Marks) bool {
				return m.Stamp == size && !m.Differ()
			})
		}))
		l.families = append(l.families, d)
	}
	return l, nil
}

// readLevels reads the levels of the families that are listed, and works out what to
// order next if a size is below its own.
func (l *stockList) readLevels(ctx context.Context, a *app, shop *inventory.Shop, q asked) error {
	r, err := interrupted(ctx, a, "choosing", func(ctx context.Context, progress func(done, of int)) (*work.Reordering, error) {
		return work.Reorder(ctx, shop, nil, q.family, progress)
	})
	if err != nil || r == nil {
		return err
	}
	l.reorder = r
	l.level = map[shim.Disc]int{}
	for _, level := range r.Levels {
		l.level[level.Disc] = level.Count
	}
	return nil
}
