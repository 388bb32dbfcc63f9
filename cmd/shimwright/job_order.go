package main

import (
	"context"
	"errors"
	"fmt"
	"io"
	"strings"

	"github.com/spf13/cobra"

	"shimwright/inventory"
	"shimwright/inventory/sqlite"
	"shimwright/shim"
	"shimwright/shim/report"
)

type jobOrderOptions struct {
	placed, arrived           bool
	diameter, mic, bin, price string
	note                      string
	units, output             *choice
}

func newJobOrder(b *bench) *cobra.Command {
	o := &jobOrderOptions{}
	cmd := &cobra.Command{
		Use:   "order [--placed | --arrived] [SIZE[xN]…]",
		Short: "Show the shopping list of all jobs, mark what is ordered or came",
		Long: `order prints the shopping list of all planned jobs. --placed marks sizes as
ordered: those that are named, or the whole list. --arrived books in what came:
the named sizes, or all that is on order. Pieces go to the jobs that ordered
them, the oldest first, then to jobs that need them; what is left is free.

A piece that measures another size than it was ordered in is told with --mic; it
is free, and the order stays open.`,
		Example: `  shimwright job order
  shimwright job order --placed
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
	addDiameter(cmd, &o.diameter)
	flags.StringVar(&o.mic, "mic", "", "with --arrived: the `SIZE` that a micrometer reads on them")
	flags.StringVar(&o.bin, "bin", "", "with --arrived: the bin that they go to")
	flags.StringVar(&o.price, "price", "", "with --arrived: what a piece cost (default: the price on the list)")
	flags.StringVar(&o.note, "note", "", "with --arrived: anything to keep with it, such as a delivery note's number")
	completesFlag(cmd, "bin", completeBins)
	o.units = addUnits(cmd)
	o.output = addOutput(cmd)
	apart(cmd, "placed", "arrived")
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
	u := o.units.unit()
	if !o.placed && !o.arrived {
		if len(args) > 0 {
			return hint(usage(errors.New("sizes go with --placed or --arrived")), "shimwright job order --arrived "+strings.Join(args, " "))
		}
		return b.list(demandList{list, u}, o.output.value)
	}
	lines, err := o.lines(ctx, b, shop, list, args)
	if err != nil {
		return err
	}
	if o.placed {
		placed, err := shop.Order(ctx, lines)
		if err != nil {
			return err
		}
		if len(placed) == 0 {
			return b.tell(said("Nothing is to be ordered."))
		}
		var parts []string
		for _, l := range placed {
			parts = append(parts, fmt.Sprintf("%d × %s", l.Count, sizeText(l.Size, u)))
		}
		return b.tell(said("Ordered: "+strings.Join(parts, ", ")+".", "Next: when they come: shimwright job order --arrived"))
	}
	items, err := o.items(list, lines)
	if err != nil {
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
	return b.printReceipt("Received", receipt, u, next)
}

// lines are what is named, or all that is on order with --arrived.
func (o *jobOrderOptions) lines(ctx context.Context, b *bench, shop *inventory.Shop, list []inventory.Demand, args []string) ([]inventory.OrderLine, error) {
	u := o.units.unit()
	var lines []inventory.OrderLine
	if len(args) == 0 && o.arrived {
		for _, d := range list {
			if d.Coming > 0 {
				lines = append(lines, inventory.OrderLine{Diameter: d.Diameter, Size: d.Size, Count: d.Coming})
			}
		}
		if len(lines) == 0 {
			return nil, hint(errors.New("nothing is on order"), "name what came: shimwright job order --arrived 2.400x3")
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
		line := inventory.OrderLine{Size: p.size, Count: p.count}
		found := 0
		for _, d := range list {
			if same(p.size, d.Size, u) && same(typed, d.Diameter, u) {
				line.Diameter, line.Size = d.Diameter, d.Size
				found++
				if !p.told && o.placed {
					line.Count = max(1, d.Missing)
				}
			}
		}
		if found != 1 {
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
func (o *jobOrderOptions) items(list []inventory.Demand, lines []inventory.OrderLine) ([]inventory.Item, error) {
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
		item := inventory.Item{Lot: inventory.Lot{Diameter: l.Diameter, Stamp: l.Size, Mic: mic, Bin: o.bin}, Count: l.Count, Price: price, Priced: o.price != "", Note: o.note}
		for _, d := range list {
			if !item.Priced && d.Diameter == l.Diameter && d.Size == l.Size {
				item.Price, item.Priced = d.Price, d.Priced
			}
		}
		items = append(items, item)
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

// A demandList is the shopping list.
type demandList struct {
	list []inventory.Demand
	unit shim.Unit
}

func (l demandList) document() *report.Document {
	if len(l.list) == 0 {
		return &report.Document{Sections: []report.Section{said("Nothing is to be ordered and nothing is on order.")}}
	}
	t := &report.Table{Header: []string{"order", "size", "disc", "each", "total", "on order", "came in", "for job"}, Right: []int{0, 1, 2, 3, 4, 5, 6}}
	var sum shim.Price
	pieces, unknown := 0, false
	for _, d := range l.list {
		each, total := "?", "?"
		if d.Priced {
			cost := d.Price * shim.Price(d.Missing)
			each, total = d.Price.String(), cost.String()
			sum += cost
		} else {
			unknown = unknown || d.Missing > 0
		}
		var jobs []string
		for _, j := range d.Jobs {
			jobs = append(jobs, fmt.Sprint(j))
		}
		pieces += d.Missing
		t.Rows = append(t.Rows, []string{fmt.Sprint(d.Missing), sizeText(d.Size, l.unit), l.unit.Format(d.Diameter), each, total,
			fmt.Sprint(d.Coming), fmt.Sprint(d.Arrived), strings.Join(jobs, ", ")})
	}
	t.Footer = []string{fmt.Sprint(pieces), "", "", "", sum.String(), "", "", ""}
	s := report.Section{Level: 2, Heading: "Shopping list (" + l.unit.String() + ")", Table: t}
	if unknown {
		s.Notes = append(s.Notes, "? is not known and not in the sum.")
	}
	next := "Next: when it is ordered: shimwright job order --placed"
	if pieces == 0 {
		next = "Next: when they come: shimwright job order --arrived"
	}
	return &report.Document{Sections: []report.Section{s, said(next)}}
}

func (l demandList) json(w io.Writer) error {
	type line struct {
		Diameter shim.Length `json:"diameter_mm"`
		Size     shim.Length `json:"size_mm"`
		Missing  int         `json:"to_order"`
		Coming   int         `json:"on_order"`
		Arrived  int         `json:"came_in"`
		Price    *shim.Price `json:"price"`
		Jobs     []int64     `json:"jobs"`
	}
	out := struct {
		Shopping []line `json:"shopping"`
	}{[]line{}}
	for _, d := range l.list {
		one := line{d.Diameter, d.Size, d.Missing, d.Coming, d.Arrived, nil, d.Jobs}
		if d.Priced {
			one.Price = &d.Price
		}
		out.Shopping = append(out.Shopping, one)
	}
	return writeJSON(w, out)
}

func (l demandList) csv(w io.Writer) error {
	rows := [][]string{{"diameter_mm", "size_mm", "to_order", "on_order", "came_in", "price", "jobs"}}
	for _, d := range l.list {
		price := ""
		if d.Priced {
			price = d.Price.String()
		}
		rows = append(rows, []string{d.Diameter.String(), d.Size.String(), fmt.Sprint(d.Missing), fmt.Sprint(d.Coming), fmt.Sprint(d.Arrived), price,
			strings.Trim(fmt.Sprint(d.Jobs), "[]")})
	}
	return writeCSV(w, rows)
}
