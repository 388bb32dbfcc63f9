package main

import (
	"context"
	"encoding/json"
	"fmt"
	"io"
	"strconv"
	"strings"
	"time"

	"github.com/spf13/cobra"

	"shimwright/inventory"
	"shimwright/inventory/work"
	"shimwright/shim"
	"shimwright/shim/report"
)

func newReport(a *app) *cobra.Command {
	return newGroup("report", "Show what the shop used, spent, holds, and how its jobs went",
		`report adds up the shop's record: which shims were used, what was spent, what lies
in the box, and how long jobs waited for shims. Bookings that were taken back do not
count. See docs/stock.md.`,
		newReportUse(a), newReportSpend(a), newReportStock(a), newReportJobs(a))
}

// A sums is a report: a heading for people, and rows whose columns JSON and CSV
// name alike.
type sums struct {
	name    string    // of the list in JSON
	columns []column  // of every row
	rows    [][]any   // a text, a number, a length, a price, nil for what is not known
	total   []any     // below the table, in the same columns; nil for none
	none    string    // where there are no rows
	notes   []string  // below the table
	unit    shim.Unit // of lengths
	more    []*sums   // further lists of the same report
	heading string
}

// A column has a heading for the table, which leaves it out where that is empty, and a
// name for JSON and CSV.
type column struct {
	heading, name string
	right         bool
}

func (f *sums) cell(v any) string {
	switch v := v.(type) {
	case nil:
		return "?"
	case shim.Length:
		return report.Figure(f.unit, f.unit.FormatAtLeast(v, f.unit.Places()))
	case shim.Family:
		return report.Family(f.unit, v)
	case bool:
		return map[bool]string{true: "used", false: "new"}[v]
	}
	return fmt.Sprint(v)
}

func (f *sums) document() *report.Document {
	d := &report.Document{}
	for _, part := range append([]*sums{f}, f.more...) {
		if len(part.rows) == 0 {
			d.Sections = append(d.Sections, said(part.none))
			continue
		}
		t := &report.Table{}
		for _, c := range part.columns {
			if c.heading == "" {
				continue
			}
			if c.right {
				t.Right = append(t.Right, len(t.Header))
			}
			t.Header = append(t.Header, c.heading)
		}
		cells := func(row []any) (list []string) {
			for i, v := range row {
				if part.columns[i].heading != "" {
					list = append(list, part.cell(v))
				}
			}
			return list
		}
		for _, row := range part.rows {
			t.Rows = append(t.Rows, cells(row))
		}
		if part.total != nil {
			t.Footer = cells(part.total)
		}
		d.Sections = append(d.Sections, report.Section{Level: 2, Heading: part.heading, Table: t, Notes: part.notes})
	}
	return d
}

func (f *sums) json(w io.Writer) error {
	out := map[string]any{}
	for _, part := range append([]*sums{f}, f.more...) {
		list := []named{}
		for _, row := range part.rows {
			list = append(list, named{part.columns, row})
		}
		out[part.name] = list
	}
	return writeJSON(w, out)
}

// named is a row for JSON, its fields in the order of the columns.
type named struct {
	columns []column
	row     []any
}

func (n named) MarshalJSON() ([]byte, error) {
	b := []byte{'{'}
	for i, c := range n.columns {
		v := n.row[i]
		if f, is := v.(shim.Family); is {
			v = f.Diameter // the kind is a column of its own
		}
		value, err := json.Marshal(v)
		if err != nil {
			return nil, err
		}
		if i > 0 {
			b = append(b, ',')
		}
		b = append(append(strconv.AppendQuote(b, c.name), ':'), value...)
	}
	return append(b, '}'), nil
}

func (f *sums) csv(w io.Writer) error {
	for i, part := range append([]*sums{f}, f.more...) {
		rows := [][]string{nil}
		for _, c := range part.columns {
			rows[0] = append(rows[0], c.name)
		}
		for _, row := range part.rows {
			var line []string
			for _, v := range row {
				text := ""
				switch v := v.(type) {
				case nil:
				case shim.Length:
					text = shim.MM.Format(v)
				case shim.Family:
					text = shim.MM.Format(v.Diameter)
				default:
					text = fmt.Sprint(v)
				}
				line = append(line, text)
			}
			rows = append(rows, line)
		}
		if i > 0 {
			if _, err := io.WriteString(w, "\n"); err != nil {
				return err
			}
		}
		if err := writeCSV(w, rows); err != nil {
			return err
		}
	}
	return nil
}

// span is how far back a report goes.
type span struct {
	months int
	output *choice
}

func (s *span) add(cmd *cobra.Command) {
	cmd.Flags().IntVar(&s.months, "months", 12, "how many `MONTHS` back, this one included; 0 for all")
	s.output = addOutput(cmd)
}

// since is the first instant of the span.
func (s *span) since(now time.Time) (time.Time, error) {
	switch {
	case s.months < 0 || s.months > 1200:
		return now, wrong("give a number of months, like 12, or 0 for all", "--months %d is not possible", s.months)
	case s.months == 0:
		return time.Date(1, 1, 1, 0, 0, 0, 0, now.Location()), nil
	}
	return time.Date(now.Year(), now.Month(), 1, 0, 0, 0, 0, now.Location()).AddDate(0, 1-s.months, 0), nil
}

// reports runs a report over the shop, from the first instant of its span on.
func (s *span) reports(cmd *cobra.Command, a *app, what func(context.Context, *inventory.Shop, time.Time) (*sums, error)) error {
	since, err := s.since(a.now())
	if err != nil {
		return err
	}
	return a.withShop(cmd, func(ctx context.Context, shop *inventory.Shop) error {
		f, err := what(ctx, shop, since)
		if err != nil {
			return err
		}
		return a.list(f, s.output.value)
	})
}

func inMonth(t time.Time) string { return t.Format("2006-01") }

func newReportUse(a *app) *cobra.Command {
	s := &span{}
	var units *choice
	cmd := &cobra.Command{
		Use:   "use",
		Short: "Show which sizes were used, by month",
		Long: `use lists for each month and size how many shims were received, fitted, pulled out of
engines and thrown away. "net out" is what more left the box than came back.`,
		Example: "  shimwright report use\n  shimwright report use --months 36 --output csv > use.csv",
		Args:    exactly(0, "no arguments"),
		RunE: func(cmd *cobra.Command, _ []string) error {
			return s.reports(cmd, a, func(ctx context.Context, shop *inventory.Shop, since time.Time) (*sums, error) {
				list, err := work.Uses(ctx, shop, since)
				f := &sums{name: "use", unit: units.unit(), none: "Nothing was used.",
					columns: []column{{"month", "month", false}, {"diameter", "diameter_mm", true}, {"", "family", false}, {"size", "size_mm", true}, {"received", "received", true}, {"fitted", "fitted", true}, {"pulled", "pulled", true}, {"scrapped", "scrapped", true}, {"net out", "net_out", true}}}
				sum := work.Use{}
				for _, u := range list {
					f.rows = append(f.rows, []any{inMonth(u.Month), u.Family, u.Kind, u.Size, u.Received, u.Fitted, u.Pulled, u.Scrapped, u.Out()})
					sum.Received, sum.Fitted, sum.Pulled, sum.Scrapped = sum.Received+u.Received, sum.Fitted+u.Fitted, sum.Pulled+u.Pulled, sum.Scrapped+u.Scrapped
				}
				f.total = []any{"", "", "", "", sum.Received, sum.Fitted, sum.Pulled, sum.Scrapped, sum.Out()}
				return f, err
			})
		},
	}
	s.add(cmd)
	units = addUnits(cmd)
	return cmd
}

func newReportSpend(a *app) *cobra.Command {
	s := &span{}
	cmd := &cobra.Command{
		Use:   "spend",
		Short: "Show what was spent on shims, by month, model and supplier",
		Long: `spend lists for each month, model and supplier how many shims arrived and what they
cost. What was bought for the box has no model. A price that nobody entered is
counted apart, and not guessed.`,
		Example: "  shimwright report spend\n  shimwright report spend --months 0 --output json",
		Args:    exactly(0, "no arguments"),
		RunE: func(cmd *cobra.Command, _ []string) error {
			return s.reports(cmd, a, func(ctx context.Context, shop *inventory.Shop, since time.Time) (*sums, error) {
				list, err := work.Spendings(ctx, shop, since)
				f := &sums{name: "spend", none: "Nothing was bought.",
					columns: []column{{"month", "month", false}, {"model", "model", false}, {"supplier", "supplier", false}, {"shims", "shims", true}, {"cost", "cost", true}, {"no price", "without_price", true}}}
				sum := work.Spending{}
				for _, x := range list {
					f.rows = append(f.rows, []any{inMonth(x.Month), x.Model, x.Supplier, x.Pieces, x.Cost, x.Unpriced})
					sum.Pieces, sum.Cost, sum.Unpriced = sum.Pieces+x.Pieces, sum.Cost+x.Cost, sum.Unpriced+x.Unpriced
				}
				f.total = []any{"", "", "", sum.Pieces, sum.Cost, sum.Unpriced}
				return f, err
			})
		},
	}
	s.add(cmd)
	return cmd
}

func newReportStock(a *app) *cobra.Command {
	var idle string
	var units, output *choice
	cmd := &cobra.Command{
		Use:   "stock",
		Short: "Show what the box is worth, and what has not moved for a year",
		Long: `stock lists for each kind of shim how many pieces the box holds and their value at
the price last paid for each size, used ones too, and the lots that nothing was taken from or put
into for a year, or for --idle.`,
		Example: "  shimwright report stock\n  shimwright report stock --idle 2y",
		Args:    exactly(0, "no arguments"),
		RunE: func(cmd *cobra.Command, _ []string) error {
			n, err := days(idle)
			if err != nil {
				return err
			}
			return a.withShop(cmd, func(ctx context.Context, shop *inventory.Shop) error {
				holdings, rest, err := work.Stock(ctx, shop, a.now().AddDate(0, 0, -n))
				if err != nil {
					return err
				}
				return a.list(stockSums(holdings, rest, units.unit(), idle), output.value)
			})
		},
	}
	cmd.Flags().StringVar(&idle, "idle", "1y", "not moved for this `TIME`: 90d, 26w, 6m, 1y")
	units, output = addUnits(cmd), addOutput(cmd)
	return cmd
}

func stockSums(holdings []work.Holding, rest []work.Idle, u shim.Unit, idle string) *sums {
	f := &sums{name: "stock", unit: u, heading: "In the box", none: "The box is empty.",
		columns: []column{{"diameter", "diameter_mm", true}, {"", "family", false}, {"shims", "shims", true}, {"value", "value", true}, {"no price", "without_price", true}}}
	sum := work.Holding{}
	for _, h := range holdings {
		f.rows = append(f.rows, []any{h.Family, h.Kind, h.Pieces, h.Value, h.Unpriced})
		sum.Pieces, sum.Value, sum.Unpriced = sum.Pieces+h.Pieces, sum.Value+h.Value, sum.Unpriced+h.Unpriced
	}
	f.total = []any{"", "", sum.Pieces, sum.Value, sum.Unpriced}
	still := &sums{name: "idle", unit: u, heading: "Not moved for " + idle, none: "Everything in the box moved within " + idle + ".",
		columns: []column{{"diameter", "diameter_mm", true}, {"", "family", false}, {"size", "size_mm", true}, {"condition", "used", false}, {"bin", "bin", false}, {"shims", "shims", true}, {"value", "value", true}, {"last moved", "last_moved", false}}}
	for _, i := range rest {
		value := any(nil)
		if i.Priced {
			value = i.Value
		}
		still.rows = append(still.rows, []any{i.Family, i.Kind, i.Size(), i.Used, i.Bin, i.Pieces, value, i.Since.Format(time.DateOnly)})
	}
	f.more = []*sums{still}
	return f
}

func newReportJobs(a *app) *cobra.Command {
	s := &span{}
	cmd := &cobra.Command{
		Use:   "jobs",
		Short: "Show how many jobs were done at once, and how long others waited",
		Long: `jobs lists by month of the first plan how many jobs could be done at once with what
was at hand, how many days those that bought waited from the plan to the fit (half
of them at most "median days"), how many still wait, and how many engines were taken
apart again after their first fit. Cancelled jobs do not count.`,
		Example: "  shimwright report jobs",
		Args:    exactly(0, "no arguments"),
		RunE: func(cmd *cobra.Command, _ []string) error {
			return s.reports(cmd, a, func(ctx context.Context, shop *inventory.Shop, since time.Time) (*sums, error) {
				list, err := work.Throughputs(ctx, shop, since)
				f := &sums{name: "jobs", none: "No job was planned.",
					columns: []column{{"month", "month", false}, {"jobs", "jobs", true}, {"at once", "at_once", true}, {"bought", "bought_and_fitted", true}, {"median days", "median_days", true}, {"most", "longest_days", true}, {"waiting", "waiting", true}, {"apart again", "apart_again", true}}}
				for _, t := range list {
					half, longest := any(nil), any(nil)
					if n := len(t.Waited); n > 0 {
						half, longest = inDays(t.Waited[(n-1)/2]), inDays(t.Waited[n-1])
					}
					f.rows = append(f.rows, []any{inMonth(t.Month), t.Jobs, t.AtOnce, len(t.Waited), half, longest, t.Waiting, t.Again})
				}
				return f, err
			})
		},
	}
	s.add(cmd)
	return cmd
}

// tenths is a number with one decimal.
type tenths float64

func (t tenths) String() string { return strconv.FormatFloat(float64(t), 'f', 1, 64) }

func inDays(d time.Duration) tenths {
	text := strings.TrimSpace(fmt.Sprintf("%.1f", d.Hours()/24))
	n, _ := strconv.ParseFloat(text, 64)
	return tenths(n)
}
