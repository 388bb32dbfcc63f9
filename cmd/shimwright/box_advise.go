package main

import (
	"context"
	"fmt"
	"strconv"
	"strings"

	"github.com/spf13/cobra"

	"shimwright/inventory"
	"shimwright/inventory/work"
	"shimwright/shim"
	"shimwright/shim/stock"
)

type boxAdviseOptions struct {
	familyOptions
	pieces         int
	budget, every  string
	catalogue      string
	seed           uint64
	levels, forget bool
	kit, price     string
	units, output  *choice
}

func newBoxAdvise(a *app) *cobra.Command {
	o := &boxAdviseOptions{}
	cmd := &cobra.Command{
		Use:   "advise",
		Short: "Say which shims to add to the box for the jobs to come",
		Long: `advise replays jobs like the shop's own, and says how many of 100 could be done
at once with today's box, which shims to add next, and which were never missed. It
adds the shim that would have saved most purchases, then the next, up to --pieces or
--budget. What is reserved for a job does not count; what is on order for the
box does.

The box has to last --every jobs, or days like 14d: from one delivery to the
next, its time on the way included.

--levels keeps the result as levels: box list then shows the sizes below theirs and
what to order next. Levels hold together only, because sizes stand in for one
another. --forget-levels drops them.

--kit says what an assortment is worth to this box: how many of the best single
shims save as many purchases. It books nothing; box receive --kit does.

The same --seed on the same records gives the same advice. docs/stock.md says how
it works and what it does not know.`,
		Example: `  shimwright box advise
  shimwright box advise --pieces 40 --every 14d
  shimwright box advise --budget 150 --catalogue supplier.csv
  shimwright box advise --pieces 30 --levels
  shimwright box advise --kit kit.csv --price 89`,
		Args: exactly(0, "nothing but flags"),
		RunE: func(cmd *cobra.Command, _ []string) error { return runBoxAdvise(cmd, a, o) },
	}
	o.add(a, cmd, allFamilies)
	flags := cmd.Flags()
	flags.IntVar(&o.pieces, "pieces", 20, "add up to `N` shims")
	flags.StringVar(&o.budget, "budget", "", "add shims for this `MONEY` at most, without the currency")
	flags.StringVar(&o.every, "every", "10", "`JOBS`, or days like 14d, until the next delivery arrives")
	flags.StringVarP(&o.catalogue, "catalogue", "c", "", "price list `FILE` (CSV: size,price) instead of the models' catalogues")
	flags.Uint64Var(&o.seed, "seed", 1, "draw the jobs by this `NUMBER`")
	flags.BoolVar(&o.levels, "levels", false, "keep the result as levels of the box")
	flags.BoolVar(&o.forget, "forget-levels", false, "drop the levels that are kept")
	flags.StringVar(&o.kit, "kit", "", "say what this assortment `FILE` (CSV: size,count) is worth")
	flags.StringVar(&o.price, "price", "", "with --kit: price of the whole kit, without the currency")
	completesFlag(cmd, "catalogue", completeCSV)
	completesFlag(cmd, "kit", completeCSV)
	o.units = addUnits(cmd)
	o.output = addOutput(cmd)
	only(cmd, "kit", "price")
	exclusive(cmd, "kit", "levels", "forget-levels")
	exclusive(cmd, "kit", "pieces")
	exclusive(cmd, "kit", "budget")
	return cmd
}

// parseRhythm reads a number of jobs, or of days as in 14d.
func parseRhythm(text string) (r work.Rhythm, err error) {
	digits, days := strings.CutSuffix(strings.ToLower(strings.TrimSpace(text)), "d")
	n, err := strconv.Atoi(strings.TrimSpace(digits))
	if err != nil || n < 1 || n > 10_000 {
		return r, wrong("give jobs, like 10, or days, like 14d", "--every: %q is neither a number of jobs nor of days", text)
	}
	if days {
		r.Days = n
	} else {
		r.Jobs = n
	}
	return r, nil
}

// asked reads the flags; files come later.
func (o *boxAdviseOptions) asked(cmd *cobra.Command) (q work.Advising, err error) {
	if q.Rhythm, err = parseRhythm(o.every); err != nil {
		return q, err
	}
	of, err := o.typed(o.units.unit())
	if err != nil {
		return q, err
	}
	q.Wanted, q.Seed = familiesLike(of, o.units.unit(), true), o.seed
	if o.budget != "" {
		money, err := shim.ParsePrice(strings.Replace(strings.TrimSpace(o.budget), ",", ".", 1))
		if err != nil {
			return q, wrong("give an amount without the currency, like 150", "--budget: %q is not an amount", o.budget)
		}
		q.Budget = &money
	}
	q.Pieces = o.pieces
	switch {
	case q.Pieces < 1 || q.Pieces > 10_000:
		return q, wrong("give a number from 1 to 10000", "--pieces %d is not a plausible number", o.pieces)
	case q.Budget != nil && !cmd.Flags().Changed("pieces"):
		q.Pieces = 0
	}
	return q, nil
}

func runBoxAdvise(cmd *cobra.Command, a *app, o *boxAdviseOptions) error {
	q, err := o.asked(cmd)
	if err != nil {
		return err
	}
	var paid *shim.Price
	if o.price != "" {
		price, err := parsePrice(o.price)
		if err != nil {
			return err
		}
		paid = &price
	}
	return a.withBooking(cmd, func(ctx context.Context, shop *inventory.Shop) error {
		text, err := ofShop(ctx, shop, o.units.unit())
		if err != nil {
			return err
		}
		if o.forget {
			return o.drop(ctx, a, shop, q)
		}
		read, err := o.reader(a, o.units.unit(), false, marksNow(ctx, shop))
		if err != nil {
			return err
		}
		marks, err := read.marks(o.familyOptions)
		if err != nil {
			return err
		}
		if o.catalogue != "" {
			if q.Offers, err = a.readCatalogue(o.catalogue, o.units.unit(), marks); err != nil {
				return err
			}
			if q.Offers == nil {
				q.Offers = []shim.Offer{}
			}
		}
		if o.kit != "" {
			rows, err := a.readBox(o.kit, o.units.unit(), marks)
			if err != nil {
				return err
			}
			items := itemsOf(rows, inventory.Item{})
			if err := a.fillFamily(ctx, shop, items, o.familyOptions, o.units.unit()); err != nil {
				return err
			}
			return o.worth(ctx, a, shop, q, kitOf(items), paid, text)
		}
		advice, err := interrupted(ctx, a, "choosing", func(ctx context.Context, progress func(done, of int)) (*work.Advice, error) {
			q.Progress = progress
			return work.Advise(ctx, shop, q)
		})
		if err != nil {
			return err
		}
		l := &adviceList{Advice: advice, unit: text, every: q.Rhythm}
		if o.levels {
			if _, err := work.KeepLevels(ctx, shop, advice); err != nil {
				return err
			}
			l.kept = true
		}
		return a.list(l, o.output.value)
	})
}

// interrupted runs long work that Ctrl-C ends before anything is saved or printed.
func interrupted[T any](ctx context.Context, a *app, doing string, do func(context.Context, func(done, of int)) (T, error)) (T, error) {
	ctx, done := interruptible(ctx)
	progress, wipe := a.shows(doing, "shims")
	result, err := do(ctx, progress)
	wipe()
	if stopped := done(); stopped != nil {
		return result, stopped
	}
	return result, err
}

// drop drops the levels of the families that are meant.
func (o *boxAdviseOptions) drop(ctx context.Context, a *app, shop *inventory.Shop, q work.Advising) error {
	n, err := work.DropLevels(ctx, shop, q.Wanted)
	if err != nil {
		return err
	}
	if n == 0 {
		return a.tell(said("No levels are kept.", "Next: shimwright box advise --levels"))
	}
	return a.tell(said(fmt.Sprintf("Levels of %s dropped.", shim.Count(n, "size")), "Next: shimwright box advise --levels"))
}

func (o *boxAdviseOptions) worth(ctx context.Context, a *app, shop *inventory.Shop, q work.Advising, kit []stock.Pieces, paid *shim.Price, text shimText) error {
	q.Pieces, q.Budget = 0, nil
	w, err := interrupted(ctx, a, "comparing", func(ctx context.Context, progress func(done, of int)) (*work.KitWorth, error) {
		q.Progress = progress
		return work.WorthKit(ctx, shop, q, kit)
	})
	if err != nil {
		return err
	}
	return a.list(&kitWorth{KitWorth: w, paid: paid, file: o.kit, unit: text}, o.output.value)
}

// kitOf is the pieces of items.
func kitOf(items []inventory.Item) []stock.Pieces {
	var list []stock.Pieces
	for _, i := range items {
		list = append(list, stock.Pieces{Disc: i.Disc(), Count: i.Count})
	}
	return stock.Sum(list)
}
