package main

import (
	"context"
	"fmt"
	"io"
	"strings"

	"github.com/spf13/cobra"

	"shimwright/inventory"
	"shimwright/shim/report"
)

type machineListOptions struct {
	page   int
	all    bool
	output *choice
}

func newMachineList(a *app) *cobra.Command {
	o := &machineListOptions{}
	cmd := &cobra.Command{
		Use:   "list [PART]",
		Short: "List machines, or those with a part of a tag",
		Long: `list prints the machines that the shop knows, with their last visit. PART is any part
of a tag, also of one from before, a frame number or the owner's note; case, spaces and dashes make no
difference.`,
		Example: `  shimwright machine list
  shimwright machine list "ab 12"`,
		Args: atMost(1, "a part of a tag"),
		RunE: func(cmd *cobra.Command, args []string) error { return runMachineList(cmd, a, o, args) },
	}
	flags := cmd.Flags()
	flags.IntVar(&o.page, "page", 0, "show this page, from 1")
	flags.BoolVar(&o.all, "all", false, "show all rows")
	exclusive(cmd, "page", "all")
	o.output = addOutput(cmd)
	return cmd
}

func runMachineList(cmd *cobra.Command, a *app, o *machineListOptions, args []string) error {
	p, err := pageOf(cmd, o.page, o.all, o.output.value)
	if err != nil {
		return err
	}
	return a.withShop(cmd, func(ctx context.Context, shop *inventory.Shop) error {
		l := machineListing{page: p, part: strings.Join(args, ""), last: map[int64]inventory.Job{}, visits: map[int64]int{}}
		if l.machines, err = shop.Machines(ctx, l.part); err != nil {
			return err
		}
		jobs, err := shop.Jobs(ctx, inventory.JobFilter{})
		if err != nil {
			return err
		}
		for _, j := range jobs {
			if was, known := l.last[j.Machine]; !known || was.Opened.Before(j.Opened) {
				l.last[j.Machine] = j
			}
			l.visits[j.Machine]++
		}
		elsewhere, err := shop.Imported(ctx)
		if err != nil {
			return err
		}
		for _, j := range elsewhere {
			if l.last[j.Machine].Opened.Before(j.Opened) {
				l.last[j.Machine] = j
			}
			l.visits[j.Machine]++
		}
		return a.list(l, o.output.value)
	})
}

// A machineListing is a page of machines.
type machineListing struct {
	machines []inventory.Machine
	last     map[int64]inventory.Job // the latest visit, by machine
	visits   map[int64]int
	part     string
	page     page
}

func (l machineListing) document() *report.Document {
	table := &report.Table{Header: []string{"machine", "tag", "model", "frame or engine", "visits", "last", "meter"}, Right: []int{0, 4}}
	for i, m := range l.machines {
		if l.page.shows(i) {
			last := l.last[m.ID]
			table.Rows = append(table.Rows, []string{fmt.Sprint(m.ID), m.Tag, m.Model, m.Number, fmt.Sprint(l.visits[m.ID]), dayOr(last.Opened), last.Meter})
		}
	}
	switch {
	case len(table.Rows) > 0:
		return &report.Document{Sections: []report.Section{{Table: table, Notes: l.page.notes(len(l.machines))}}}
	case len(l.machines) > 0:
		return &report.Document{Sections: []report.Section{said(l.page.notes(len(l.machines))...)}}
	case l.part != "":
		return &report.Document{Sections: []report.Section{said(fmt.Sprintf("No machine has %q in its tag, frame number or owner's note.", l.part))}}
	}
	return &report.Document{Sections: []report.Section{said("No machines: a job with a tag makes one.")}}
}

// A machineLine is a machine in JSON and CSV.
type machineLine struct {
	Machine int64  `json:"machine"`
	Tag     string `json:"tag"`
	Model   string `json:"model"`
	Number  string `json:"number"`
	Owner   string `json:"owner"`
	Visits  int    `json:"visits"`
	LastJob int64  `json:"last_job"`
	Last    string `json:"last"`
	Meter   string `json:"meter"`
}

func (l machineListing) form(m inventory.Machine) machineLine {
	last := l.last[m.ID]
	line := machineLine{m.ID, m.Tag, m.Model, m.Number, m.Owner, l.visits[m.ID], last.ID, "", last.Meter}
	if !last.Opened.IsZero() {
		line.Last = stamp(last.Opened)
	}
	return line
}

func (l machineListing) json(w io.Writer) error {
	out := struct {
		Machines []machineLine `json:"machines"`
		pageJSON
	}{[]machineLine{}, l.page.json(len(l.machines))}
	for i, m := range l.machines {
		if l.page.shows(i) {
			out.Machines = append(out.Machines, l.form(m))
		}
	}
	return writeJSON(w, out)
}

func (l machineListing) csv(w io.Writer) error {
	rows := [][]string{{"machine", "tag", "model", "number", "owner", "visits", "last_job", "last", "meter"}}
	for i, m := range l.machines {
		if l.page.shows(i) {
			x := l.form(m)
			rows = append(rows, []string{fmt.Sprint(x.Machine), x.Tag, x.Model, x.Number, x.Owner, fmt.Sprint(x.Visits), fmt.Sprint(x.LastJob), x.Last, x.Meter})
		}
	}
	return writeCSV(w, rows)
}
