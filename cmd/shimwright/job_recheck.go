package main

import (
	"context"
	"fmt"
	"strings"

	"github.com/spf13/cobra"

	"shimwright/inventory"
	"shimwright/inventory/work"
	"shimwright/shim"
	"shimwright/shim/recheck"
	"shimwright/shim/report"
)

type jobRecheckOptions struct {
	warmth      *warmth
	gauge, note string
	gauges      string
	yes         bool
	units       *display
	output      *choice
}

func newJobRecheck(a *app) *cobra.Command {
	o := &jobRecheckOptions{}
	cmd := &cobra.Command{
		Use:   "recheck JOB CHECK.csv | VALVE=CLEARANCE…",
		Short: "Enter the readings after the fit and compare them with the plan",
		Long: `recheck enters the clearances measured after the fit and compares them with what
the fitted shims should give. It says which valve is off by more than gauge and
shims explain, and the likeliest cause (docs/how-sure.md). If a valve is outside
its limits, undecided or not measured, the exit status is 3; the readings are
entered anyway.

` + readingsHelp,
		Example: `  shimwright job recheck 12 after.csv
  shimwright job recheck 12 in1a=0.17 in1b=0.16`,
		Args:              atLeast(2, "a job and a check file or readings"),
		ValidArgsFunction: a.completeJobThenFiles(inventory.StateFitted, inventory.StateRechecked, inventory.StatePlanned),
		RunE:              func(cmd *cobra.Command, args []string) error { return runJobRecheck(cmd, a, o, args) },
	}
	cmd.Flags().StringVar(&o.gauge, "gauge", "", "gauge `FILE` (TOML) instead of the gauge in the engine file")
	completesFlag(cmd, "gauge", completeTOML)
	cmd.Flags().StringVar(&o.note, "note", "", "note to keep with the readings")
	o.warmth = addWarmth(cmd)
	addGauges(cmd, a, &o.gauges, &o.yes)
	o.units = addDisplay(cmd)
	o.output = addOutput(cmd)
	return cmd
}

func runJobRecheck(cmd *cobra.Command, a *app, o *jobRecheckOptions, args []string) error {
	return a.withBooking(cmd, func(ctx context.Context, shop *inventory.Shop) error {
		f, err := fileNamed(ctx, shop, args[0], false)
		if err != nil {
			return err
		}
		if f.Fitted == nil {
			return shim.Fail(inventory.ErrState, next(f), "job %d is %s: there is no fit to recheck", f.Job.ID, f.Job.State)
		}
		known, err := shop.Known(ctx, f.Job.ID, true)
		if err != nil {
			return err
		}
		gauge, err := a.readGauge(o.gauge)
		if err != nil {
			return err
		}
		set, err := a.gaugesFor(ctx, shop, o.gauges, o.yes)
		if err != nil {
			return err
		}
		with := gauge
		if with == nil {
			with = set.States()
		}
		book, err := work.MarksOf(ctx, shop, f.Engine.Spec.Name)
		if err != nil {
			return err
		}
		_, list, err := a.jobReadings(args[1:], f, &f.Engine.Spec, book, known, o.warmth, with, false)
		if err != nil {
			return err
		}
		if err := a.otherShims(f, "recheck", list, o.yes); err != nil {
			return err
		}
		j, f, err := work.Recheck(ctx, shop, f, list, gauge, o.note, set)
		if err != nil {
			return err
		}
		j.Again = fmt.Sprintf("shimwright job plan %d", f.Job.ID)
		c := &recheck.Comparison{Jobs: []recheck.ComparedJob{j}}
		c.ShowIn(o.units.of(o.output))
		entered := said(heading(f.Job, "%s entered.", shim.Count(len(list), "reading")), strings.Join(gaugesOf(f.Checks[len(f.Checks)-1:]), " "), nextLine(f))
		return ends(c.Well(), a.tellRecheck(c, entered, o.output.value))
	})
}

// tellRecheck prints the comparison and what was entered: below a table,
// otherwise on standard error.
func (a *app) tellRecheck(c *recheck.Comparison, entered report.Section, form string) error {
	if form == "table" {
		entered.Level, entered.Heading = 2, "In the shop"
		return a.tell(append(report.Recheck(c).Sections, entered)...)
	}
	if err := printComparison(a, c, form); err != nil {
		return err
	}
	return (&report.Document{Sections: []report.Section{entered}}).Narrow(a.places).Text(a.err, false)
}
