package main

import (
	"context"
	"fmt"
	"strings"

	"github.com/spf13/cobra"

	"shimwright/inventory"
	"shimwright/inventory/work"
	"shimwright/shim"
)

type jobOrderOptions struct {
	placed, arrived, withdrawn bool
	yes, dryRun                bool
	familyOptions
	mic, bin, price string
	supplier, note  string
	named           bool // whether --supplier is given; an empty one means no name
	units, output   *choice
	shims           shimText
}

func newJobOrder(a *app) *cobra.Command {
	o := &jobOrderOptions{}
	cmd := &cobra.Command{
		Use:   "order [--placed | --arrived | --withdrawn] [SIZE[xN]…]",
		Short: "Show the shopping list of all jobs; mark orders and arrivals",
		Long: `order prints the shopping list of all planned jobs, one line for each supplier,
part and price. --placed marks shims as ordered, --withdrawn takes them off order,
--arrived books them in: the sizes you name, or all. A size alone means one shim.
If two suppliers have the size, give --supplier, or the command asks. Arrived shims
go to the jobs that ordered them, oldest first, then to jobs that need the size,
then into the box.

If a job is cancelled, closed or planned again, its shims on order go to the next
job that needs the size. The command asks before --arrived books more than is on
the list.

If a shim measures a different size than ordered, give --mic: the shim is free and
the order stays open.`,
		Example: `  shimwright job order
  shimwright job order --placed
  shimwright job order --placed --supplier "Willow Road"
  shimwright job order --withdrawn 2.350x2 --dry-run
  shimwright job order --arrived 2.350 2.425x2 --bin A3`,
		Args:              cobra.ArbitraryArgs,
		ValidArgsFunction: a.completeOrders(),
		RunE:              func(cmd *cobra.Command, args []string) error { return runJobOrder(cmd, a, o, args) },
	}
	flags := cmd.Flags()
	flags.BoolVar(&o.placed, "placed", false, "mark as ordered")
	flags.BoolVar(&o.arrived, "arrived", false, "book in as arrived")
	flags.BoolVar(&o.withdrawn, "withdrawn", false, "take off order")
	flags.BoolVar(&o.yes, "yes", false, "do not ask")
	flags.BoolVar(&o.dryRun, "dry-run", false, "show what would change, without changing it")
	o.add(a, cmd, plainDiscs)
	flags.Var((*trimmed)(&o.supplier), "supplier", "only the supplier `NAME`; \"\" means lines without a supplier")
	flags.StringVar(&o.mic, "mic", "", "with --arrived: their `SIZE` by micrometer")
	flags.Var((*trimmed)(&o.bin), "bin", "with --arrived: the bin for them")
	flags.StringVar(&o.price, "price", "", "with --arrived: price of one shim (default: the price on the list)")
	flags.StringVar(&o.note, "note", "", "with --arrived: note to keep, such as the delivery note number")
	completesFlag(cmd, "bin", a.completeBins())
	o.units = addUnits(cmd)
	o.output = addOutput(cmd)
	only(cmd, "arrived", "mic", "bin", "price", "note")
	exclusive(cmd, "placed", "arrived", "withdrawn")
	return cmd
}

// completeOrders completes sizes on the shopping list.
func (a *app) completeOrders() cobra.CompletionFunc {
	return a.fromShop(func(ctx context.Context, shop *inventory.Shop, _ []string) ([]string, error) {
		list, err := shop.Shopping(ctx)
		var words []string
		for _, d := range list {
			words = append(words, fmt.Sprintf("%s\t%d to order, %d on order", sizeText(d.Size, shim.MM), d.Missing, d.Coming))
		}
		return words, err
	})
}

func runJobOrder(cmd *cobra.Command, a *app, o *jobOrderOptions, args []string) error {
	o.named = cmd.Flags().Changed("supplier")
	return a.withBooking(cmd, func(ctx context.Context, shop *inventory.Shop) error {
		list, err := shop.Shopping(ctx)
		if err != nil {
			return err
		}
		if o.shims, err = ofShop(ctx, shop, o.units.unit()); err != nil {
			return err
		}
		if list, err = o.of(list); err != nil {
			return err
		}
		if !o.placed && !o.arrived && !o.withdrawn {
			if len(args) > 0 {
				return wrong("shimwright job order --arrived "+strings.Join(args, " "), "sizes need --placed, --arrived or --withdrawn")
			}
			return a.list(demandList{list, o.shims}, o.output.value)
		}
		lines, err := o.lines(ctx, a, shop, list, args)
		if err != nil {
			return err
		}
		whose, err := o.unclear(ctx, shop, list, lines)
		if err != nil {
			return err
		}
		switch {
		case o.placed:
			return o.place(ctx, a, shop, lines, whose)
		case o.withdrawn:
			return o.withdraw(ctx, a, shop, lines, whose, len(args) == 0)
		}
		return o.bookIn(ctx, a, shop, list, lines, whose)
	})
}

func (o *jobOrderOptions) place(ctx context.Context, a *app, shop *inventory.Shop, lines []inventory.OrderLine, whose string) error {
	if len(lines) == 0 {
		return a.tell(said("Nothing to order."))
	}
	if o.dryRun || whose != "" {
		would, err := shop.Trial().Order(ctx, lines)
		if err != nil || o.dryRun {
			return a.would("Would be ordered: "+o.text(would), err)
		}
		if err := o.ask(a, whose, "Mark as ordered: "+o.text(would)+"?"); err != nil {
			return err
		}
		lines = would
	}
	placed, err := shop.Order(ctx, lines)
	if err != nil {
		return err
	}
	return a.tell(said("Ordered: "+o.text(placed)+".", "Next: when they arrive: shimwright job order --arrived"))
}

func (o *jobOrderOptions) withdraw(ctx context.Context, a *app, shop *inventory.Shop, lines []inventory.OrderLine, whose string, all bool) error {
	if o.dryRun || all || whose != "" {
		would, err := shop.Trial().Withdraw(ctx, lines)
		if err != nil || o.dryRun {
			return a.would("Would be taken off order: "+o.text(would), err)
		}
		question := "Take off order: " + o.text(would) + "?"
		if all {
			question = "Take everything off order: " + o.text(would) + "?"
		}
		if err := o.ask(a, whose, question); err != nil {
			return err
		}
		lines = would
	}
	done, err := shop.Withdraw(ctx, lines)
	if err != nil {
		return err
	}
	return a.tell(said("No longer on order: "+o.text(done)+".", "Next: shimwright job order"))
}

// would prints what a dry run found.
func (a *app) would(what string, err error) error {
	if err != nil {
		return err
	}
	return a.tell(said(what + "."))
}

func (o *jobOrderOptions) bookIn(ctx context.Context, a *app, shop *inventory.Shop, list []inventory.Demand, lines []inventory.OrderLine, whose string) error {
	items, err := o.items(lines)
	if err != nil {
		return err
	}
	found, err := o.order().Doubts(ctx, shop, list, lines)
	if err != nil {
		return err
	}
	doubts := doubtWords(found, o.from(), o.shims)
	if o.dryRun || whose != "" {
		would, err := shop.Trial().Arrived(ctx, items)
		if err != nil {
			return err
		}
		text := o.text(would.Came)
		if o.dryRun {
			for _, d := range doubts {
				a.doubt(d.message, d.way)
			}
			return a.would("Would be booked in: "+text, nil)
		}
		if err := o.ask(a, whose, "Book in: "+text+"?"); err != nil {
			return err
		}
	}
	if err := a.confirm(doubts, o.yes); err != nil {
		return err
	}
	receipt, err := shop.Arrived(ctx, items)
	if err != nil {
		return err
	}
	next, err := afterArrival(ctx, shop, receipt)
	if err != nil {
		return err
	}
	return a.printBooked("Received "+moved(receipt.Movements, o.shims)+forBox(receipt.Movements), receipt, o.shims, next)
}

// forBox says how many of the shims are for no job.
func forBox(list []inventory.Movement) string {
	all, spare := 0, 0
	for _, m := range list {
		if all += m.Count; m.Job == 0 {
			spare += m.Count
		}
	}
	switch {
	case spare == all:
		return ", for the box"
	case spare > 0:
		return fmt.Sprintf(", %d of them for the box", spare)
	}
	return ""
}

// items lists the arrived shims.
func (o *jobOrderOptions) items(lines []inventory.OrderLine) ([]inventory.Item, error) {
	var mic shim.Length
	var price shim.Price
	var err error
	if o.mic != "" {
		if mic, err = parseSize(o.mic, o.units.unit()); err != nil {
			return nil, err
		}
	}
	if o.price != "" {
		if price, err = parsePrice(o.price); err != nil {
			return nil, err
		}
	}
	var items []inventory.Item
	for _, l := range lines {
		items = append(items, inventory.Item{Lot: inventory.Lot{Family: l.Family, Marks: shim.Marks{Stamp: l.Size, Mic: mic}, Bin: o.bin}, Count: l.Count,
			Quote: shim.Quote{Price: price, Priced: o.price != ""}, Note: o.note, Supplier: l.Supplier, NoName: l.NoName})
	}
	return items, nil
}

// afterArrival is the next step after shims arrived.
func afterArrival(ctx context.Context, shop *inventory.Shop, r inventory.Receipt) (string, error) {
	f, err := work.AfterArrival(ctx, shop, r)
	if err != nil || f == nil {
		return "shimwright box list", err
	}
	return next(*f), nil
}
