package main

import (
	"context"
	"errors"
	"fmt"
	"slices"
	"strings"

	"github.com/spf13/cobra"

	"shimwright/inventory"
	"shimwright/inventory/sqlite"
	"shimwright/shim"
)

type jobOrderOptions struct {
	placed, arrived, withdrawn, yes bool
	diameter, mic, bin, price       string
	supplier, note                  string
	units, output                   *choice
}

func newJobOrder(b *bench) *cobra.Command {
	o := &jobOrderOptions{}
	cmd := &cobra.Command{
		Use:   "order [--placed | --arrived | --withdrawn] [SIZE[xN]…]",
		Short: "Show the shopping list of all jobs, mark what is ordered or came",
		Long: `order prints the shopping list of all planned jobs, a line for each supplier,
part and price. --placed marks sizes as ordered: those that are named, or the
whole list. --withdrawn takes sizes off order again: those that are named, or all
that is on order. --arrived books in what came: the named sizes, or all that is on
order. Pieces go to the jobs that ordered them, the oldest first, then to jobs that
need them; what is left is for the box.

What is on order for a job that is cancelled, closed or planned otherwise goes to
the next job that needs the size. --arrived of more than is on the list is asked
about.

A piece that measures another size than it was ordered in is told with --mic; it
is free, and the order stays open.`,
		Example: `  shimwright job order
  shimwright job order --placed
  shimwright job order --placed --supplier "Willow Road"
  shimwright job order --withdrawn 2.350
  shimwright job order --arrived 2.350 2.425x2 --bin A3`,
		Args:              cobra.ArbitraryArgs,
		ValidArgsFunction: completeOrders,
		RunE: func(cmd *cobra.Command, args []string) error {
			return b.withBooking(cmd, func(ctx context.Context, shop *inventory.Shop, _ *sqlite.Store) error {
				return runJobOrder(ctx, b, shop, o, args)
			})
		},
	}
	flags := cmd.Flags()
	flags.BoolVar(&o.placed, "placed", false, "mark as ordered")
	flags.BoolVar(&o.arrived, "arrived", false, "book in what came")
	flags.BoolVar(&o.withdrawn, "withdrawn", false, "mark as no longer on order")
	flags.BoolVar(&o.yes, "yes", false, "do not ask")
	addDiameter(cmd, &o.diameter)
	flags.StringVar(&o.supplier, "supplier", "", "`NAME` of the one supplier that is meant")
	flags.StringVar(&o.mic, "mic", "", "with --arrived: the `SIZE` that a micrometer reads on them")
	flags.Var((*trimmed)(&o.bin), "bin", "with --arrived: the bin that they go to")
	flags.StringVar(&o.price, "price", "", "with --arrived: what a piece cost (default: the price on the list)")
	flags.StringVar(&o.note, "note", "", "with --arrived: anything to keep with it, such as a delivery note's number")
	completesFlag(cmd, "bin", completeBins)
	o.units = addUnits(cmd)
	o.output = addOutput(cmd)
	only(cmd, "arrived", "mic", "bin", "price", "note")
	apart(cmd, "placed", "arrived", "withdrawn")
	return cmd
}

// completeOrders offers the sizes on the shopping list.
var completeOrders = fromShop(func(ctx context.Context, shop *inventory.Shop, _ []string) ([]string, error) {
	list, err := shop.Shopping(ctx)
	var words []string
	for _, d := range list {
		words = append(words, fmt.Sprintf("%s\t%d to order, %d on order", sizeText(d.Size, shim.MM), d.Missing, d.Coming))
	}
	return words, err
})

func runJobOrder(ctx context.Context, b *bench, shop *inventory.Shop, o *jobOrderOptions, args []string) error {
	list, err := shop.Shopping(ctx)
	if err != nil {
		return err
	}
	if list, err = o.of(list); err != nil {
		return err
	}
	if !o.placed && !o.arrived && !o.withdrawn {
		if len(args) > 0 {
			return hint(usage(errors.New("sizes go with --placed, --arrived or --withdrawn")), "shimwright job order --arrived "+strings.Join(args, " "))
		}
		return b.list(demandList{list, o.units.unit()}, o.output.value)
	}
	lines, err := o.lines(ctx, b, shop, list, args)
	if err != nil {
		return err
	}
	switch {
	case o.placed:
		return o.place(ctx, b, shop, lines)
	case o.withdrawn:
		return o.withdraw(ctx, b, shop, lines, len(args) == 0)
	}
	return o.bookIn(ctx, b, shop, lines)
}

// of narrows the list to the supplier that is meant.
func (o *jobOrderOptions) of(list []inventory.Demand) ([]inventory.Demand, error) {
	if o.supplier == "" {
		return list, nil
	}
	var names []string
	var own []inventory.Demand
	for _, d := range list {
		if strings.EqualFold(d.Supplier, o.supplier) {
			own = append(own, d)
		} else if d.Supplier != "" && !slices.Contains(names, d.Supplier) {
			names = append(names, d.Supplier)
		}
	}
	if len(own) > 0 || o.arrived {
		return own, nil
	}
	way := "the list names no supplier; job plan --supplier or the catalogue's column does"
	if len(names) > 0 {
		way = "on the list: " + strings.Join(names, ", ")
	}
	return nil, hint(usage(fmt.Errorf("nothing is on the list from %s", quoted(o.supplier))), way)
}

func (o *jobOrderOptions) place(ctx context.Context, b *bench, shop *inventory.Shop, lines []inventory.OrderLine) error {
	placed, err := shop.Order(ctx, lines)
	if err != nil {
		return err
	}
	if len(placed) == 0 {
		return b.tell(said("Nothing is to be ordered."))
	}
	return b.tell(said("Ordered: "+o.text(placed)+".", "Next: when they come: shimwright job order --arrived"))
}

func (o *jobOrderOptions) withdraw(ctx context.Context, b *bench, shop *inventory.Shop, lines []inventory.OrderLine, all bool) error {
	if all {
		if err := b.agree("Take all that is on order off order: "+o.text(lines)+"?", o.yes); err != nil {
			return err
		}
	}
	done, err := shop.Withdraw(ctx, lines)
	if err != nil {
		return err
	}
	return b.tell(said("No longer on order: "+o.text(done)+".", "Next: shimwright job order"))
}

// text names pieces, with their supplier where there is one.
func (o *jobOrderOptions) text(lines []inventory.OrderLine) string {
	var parts []string
	for _, l := range lines {
		part := fmt.Sprintf("%d × %s", l.Count, sizeText(l.Size, o.units.unit()))
		if l.Supplier != "" {
			part += " from " + l.Supplier
		}
		parts = append(parts, part)
	}
	return strings.Join(parts, ", ")
}

func (o *jobOrderOptions) bookIn(ctx context.Context, b *bench, shop *inventory.Shop, lines []inventory.OrderLine) error {
	items, err := o.items(lines)
	if err != nil {
		return err
	}
	doubts, err := o.unasked(ctx, shop, lines)
	if err != nil {
		return err
	}
	if err := b.confirm(doubts, o.yes); err != nil {
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
	what := "Received " + moved(receipt.Movements, o.units.unit())
	all, spare := 0, 0
	for _, m := range receipt.Movements {
		if all += m.Count; m.Job == 0 {
			spare += m.Count
		}
	}
	switch {
	case spare == all:
		what += ", for the box"
	case spare > 0:
		what += fmt.Sprintf(", %d of them for the box", spare)
	}
	return b.printBooked(what, receipt, o.units.unit(), next)
}

// unasked lists what came that nobody ordered and no job needs.
func (o *jobOrderOptions) unasked(ctx context.Context, shop *inventory.Shop, lines []inventory.OrderLine) ([]doubtful, error) {
	var sums []inventory.OrderLine // by size
	for _, l := range lines {
		at := slices.IndexFunc(sums, func(s inventory.OrderLine) bool { return s.Diameter == l.Diameter && s.Size == l.Size })
		if at < 0 {
			sums = append(sums, l)
		} else {
			sums[at].Count += l.Count
		}
	}
	var list []doubtful
	u := o.units.unit()
	for _, l := range sums {
		w, err := shop.Awaited(ctx, l.Diameter, l.Size)
		if err != nil {
			return nil, err
		}
		size := sizeText(l.Size, u) + " " + u.String()
		way := "what the shop buys for itself goes with box receive"
		switch d := twice(w, l.Count, size); {
		case d != nil:
			list = append(list, *d)
		case w.Open == 0:
			list = append(list, doubtful{size + " is not on order, and no job needs it", way})
		case l.Count > w.Open:
			list = append(list, doubtful{fmt.Sprintf("%s of %s came, and %d on order or needed", count(l.Count, "piece"), size, w.Open), way})
		}
	}
	return list, nil
}

// twice is asked where a fit booked the size in before anybody else did.
func twice(w inventory.Awaited, came int, size string) *doubtful {
	if came <= w.Open || w.Fitted.Seq == 0 {
		return nil
	}
	return &doubtful{
		fmt.Sprintf("the fit of job %d booked in a new %s already (batch %d), since nobody had", w.Fitted.Job, size, w.Fitted.Batch),
		"book in what came beside it",
	}
}

// lines are what is named, or with --arrived and --withdrawn all that is on order.
func (o *jobOrderOptions) lines(ctx context.Context, b *bench, shop *inventory.Shop, list []inventory.Demand, args []string) ([]inventory.OrderLine, error) {
	u := o.units.unit()
	open := func(d inventory.Demand) int {
		if o.placed {
			return d.Missing
		}
		return d.Coming
	}
	var lines []inventory.OrderLine
	if len(args) == 0 {
		for _, d := range list {
			if n := open(d); n > 0 {
				lines = append(lines, inventory.OrderLine{Diameter: d.Diameter, Size: d.Size, Count: n, Terms: d.Terms})
			}
		}
		if len(lines) == 0 && !o.placed {
			way := "name what came: shimwright job order --arrived 2.400x3"
			if o.withdrawn {
				way = "see what is to be ordered: shimwright job order"
			}
			return nil, hint(errors.New("nothing is on order"), way)
		}
	}
	for _, arg := range args {
		p, err := parsePieces(arg, u)
		if err != nil {
			return nil, err
		}
		typed, err := p.of(o.diameter, u)
		if err != nil {
			return nil, err
		}
		line := inventory.OrderLine{Size: p.size, Count: p.count, Terms: inventory.Terms{Supplier: o.supplier}}
		var discs []shim.Length
		all := 0
		for _, d := range list {
			if same(p.size, d.Size, u) && same(typed, d.Diameter, u) {
				line.Diameter, line.Size = d.Diameter, d.Size
				all += open(d)
				if !slices.Contains(discs, d.Diameter) {
					discs = append(discs, d.Diameter)
				}
			}
		}
		if !p.told && !o.arrived {
			line.Count = max(1, all)
		}
		if len(discs) != 1 {
			if line.Diameter = typed; p.diameter == 0 {
				if line.Diameter, err = b.theDiameter(ctx, shop, o.diameter, u); err != nil {
					return nil, err
				}
			}
		}
		lines = append(lines, line)
	}
	return lines, nil
}

// items are the pieces that came.
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
		items = append(items, inventory.Item{Lot: inventory.Lot{Diameter: l.Diameter, Stamp: l.Size, Mic: mic, Bin: o.bin}, Count: l.Count,
			Price: price, Priced: o.price != "", Note: o.note, Supplier: l.Supplier})
	}
	return items, nil
}

// afterArrival says what comes next once pieces came in.
func afterArrival(ctx context.Context, shop *inventory.Shop, r inventory.Receipt) (string, error) {
	for _, m := range r.Movements {
		if m.Job == 0 {
			continue
		}
		f, err := shop.Job(ctx, m.Job)
		if err != nil {
			return "", err
		}
		if f.Job.State == inventory.Planned || f.Job.State == inventory.Fitting {
			return next(f), nil
		}
	}
	return "shimwright box list", nil
}
