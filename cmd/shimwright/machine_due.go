package main

import (
	"context"
	"fmt"
	"io"
	"math"
	"regexp"
	"slices"
	"strconv"
	"strings"
	"time"

	"github.com/spf13/cobra"

	"shimwright/inventory"
	"shimwright/inventory/work"
	"shimwright/shim"
	"shimwright/shim/report"
)

type machineDueOptions struct {
	within string
	page   int
	all    bool
	output *choice
}

func newMachineDue(a *app) *cobra.Command {
	o := &machineDueOptions{}
	cmd := &cobra.Command{
		Use:   "due",
		Short: "List the machines that should be looked at soon",
		Long: `due lists machines by the day when their next check is likely to be due: the meter
reading that their last visit recommended, at the pace of their visits so far. The
shop keeps it with each closed job. Machines without a pace (one visit, or no meter)
are not in the list; the last line counts them.

For machines of an older shop file it is worked out the first time.`,
		Example: `  shimwright machine due --within 60d
  shimwright machine due --within 8w --output csv > calls.csv`,
		Args: exactly(0, "no arguments"),
		RunE: func(cmd *cobra.Command, args []string) error { return runMachineDue(cmd, a, o, args) },
	}
	flags := cmd.Flags()
	flags.StringVar(&o.within, "within", "60d", "due within this `TIME`: 60d, 8w, 6m, or all")
	flags.IntVar(&o.page, "page", 0, "show this page, from 1")
	flags.BoolVar(&o.all, "all", false, "show all rows")
	exclusive(cmd, "page", "all")
	o.output = addOutput(cmd)
	return cmd
}

// days reads a time such as 60d, 8w, 6m or 1y, in days.
func days(text string) (int, error) {
	part := regexp.MustCompile(`^(\d{1,4}) *([dwmy]?)$`).FindStringSubmatch(text)
	if part == nil {
		return 0, wrong("write it like 60d, 8w, 6m or 1y", "%q is not a time", text)
	}
	n, err := strconv.Atoi(part[1])
	return n * map[string]int{"": 1, "d": 1, "w": 7, "m": 30, "y": 365}[part[2]], err
}

func runMachineDue(cmd *cobra.Command, a *app, o *machineDueOptions, _ []string) error {
	p, err := pageOf(cmd, o.page, o.all, o.output.value)
	if err != nil {
		return err
	}
	until := time.Time{}
	if o.within != "all" {
		n, err := days(o.within)
		if err != nil {
			return err
		}
		until = a.now().AddDate(0, 0, n)
	}
	return a.withShop(cmd, func(ctx context.Context, shop *inventory.Shop) error {
		all, err := work.Foreseen(ctx, shop, func(n int) {
			if n >= 200 {
				fmt.Fprintf(a.err, "working out when %s should be looked at again; it is kept for the next time\n", shim.Count(n, "machine"))
			}
		})
		if err != nil {
			return err
		}
		l := dueListing{page: p, within: o.within}
		for _, m := range all {
			switch {
			case m.Outlook == nil || m.Outlook.Due.IsZero():
				l.unknown++
			case until.IsZero() || !m.Outlook.Due.After(until):
				l.machines = append(l.machines, m)
			}
		}
		slices.SortStableFunc(l.machines, func(x, y inventory.Machine) int { return x.Outlook.Due.Compare(y.Outlook.Due) })
		return a.list(l, o.output.value)
	})
}

// A dueListing is a page of machines whose check is due.
type dueListing struct {
	machines []inventory.Machine
	unknown  int
	within   string
	page     page
}

// why says what the recommendation rests on.
func why(o *inventory.Outlook) string {
	if o.Outside {
		return "a valve outside"
	}
	switch {
	case !o.Told:
		return "the maker's interval"
	case o.Maker == 0:
		return "wear"
	}
	return "wear and the maker's interval"
}

func (l dueListing) document() *report.Document {
	t := &report.Table{Header: []string{"due about", "machine", "tag", "model", "at", "by", "last visit", "meter then"}, Right: []int{1}}
	for i, m := range l.machines {
		if o := m.Outlook; l.page.shows(i) {
			kind := shim.MeterKind(o.Unit)
			at := exactMeter(o.CheckBy, kind)
			if o.CheckBy < o.Maker || o.Maker == 0 {
				at = meterBefore(o.CheckBy, o.Meter, kind)
			}
			t.Rows = append(t.Rows, []string{o.Due.Format(time.DateOnly), fmt.Sprint(m.ID), m.Tag, m.Model, at, why(o), day(o.Made), exactMeter(o.Meter, kind)})
		}
	}
	notes := l.page.notes(len(l.machines))
	if l.unknown > 0 {
		notes = append(notes, shim.Count(l.unknown, "machine")+" more: when is not known.")
	}
	if len(t.Rows) == 0 {
		return &report.Document{Sections: []report.Section{said(append([]string{strings.Replace("No machine is known to be due within "+l.within+".", " within all", "", 1)}, notes...)...)}}
	}
	return &report.Document{Sections: []report.Section{{Table: t, Notes: notes}}}
}

type dueLine struct {
	Due      string  `json:"due"`
	Machine  int64   `json:"machine"`
	Tag      string  `json:"tag"`
	Model    string  `json:"model"`
	Number   string  `json:"number"`
	Owner    string  `json:"owner"`
	CheckBy  float64 `json:"check_by"`
	Kind     string  `json:"meter_kind"`
	Told     bool    `json:"by_wear"`
	LastJob  int64   `json:"last_job"`
	Last     string  `json:"last"`
	Meter    float64 `json:"meter"`
	PerMonth float64 `json:"per_month"`
}

func (l dueListing) form(m inventory.Machine) dueLine {
	o := m.Outlook
	return dueLine{o.Due.Format(time.DateOnly), m.ID, m.Tag, m.Model, m.Number, m.Owner, o.CheckBy, o.Unit, o.Told, o.Job, stamp(o.Made), o.Meter, math.Round(o.PerDay * 30)}
}

func (l dueListing) json(w io.Writer) error {
	out := struct {
		Due     []dueLine `json:"due"`
		Unknown int       `json:"not_known"`
		pageJSON
	}{[]dueLine{}, l.unknown, l.page.json(len(l.machines))}
	for i, m := range l.machines {
		if l.page.shows(i) {
			out.Due = append(out.Due, l.form(m))
		}
	}
	return writeJSON(w, out)
}

func (l dueListing) csv(w io.Writer) error {
	number := func(x float64) string { return strconv.FormatFloat(x, 'f', -1, 64) }
	rows := [][]string{{"due", "machine", "tag", "model", "number", "owner", "check_by", "meter_kind", "by_wear", "last_job", "last", "meter", "per_month"}}
	for i, m := range l.machines {
		if l.page.shows(i) {
			x := l.form(m)
			rows = append(rows, []string{x.Due, fmt.Sprint(x.Machine), x.Tag, x.Model, x.Number, x.Owner, number(x.CheckBy), x.Kind, fmt.Sprint(x.Told), fmt.Sprint(x.LastJob), x.Last, number(x.Meter), number(x.PerMonth)})
		}
	}
	return writeCSV(w, rows)
}
