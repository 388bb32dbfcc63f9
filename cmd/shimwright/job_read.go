package main

import (
	"context"
	"fmt"
	"slices"
	"strings"

	"github.com/spf13/cobra"

	"shimwright/inventory"
	"shimwright/inventory/work"
	"shimwright/shim"
	"shimwright/shim/files"
	"shimwright/shim/report"
)

type jobReadOptions struct {
	note, gauges string
	yes          bool
	warmth       *warmth
}

func newJobRead(a *app) *cobra.Command {
	o := &jobReadOptions{}
	cmd := &cobra.Command{
		Use:   "read JOB CHECK.csv | VALVE=CLEARANCE[/SHIM[/MIC]]…",
		Short: "Enter the readings before the fit",
		Long: `read enters clearances and installed shims. If a valve is read more than once, the
last reading counts. A plan made on older readings no longer applies, and its
reserved shims are free again.

` + readingsHelp,
		Example: `  shimwright job read 12 check.csv
  shimwright job read 12 in1a=0.15/2.450 in1b='<0.05/2.475'`,
		Args:              atLeast(2, "a job and a check file or readings"),
		ValidArgsFunction: a.completeJobThenFiles(inventory.StateOpen, inventory.StateMeasured, inventory.StatePlanned),
		RunE:              func(cmd *cobra.Command, args []string) error { return runJobRead(cmd, a, o, args) },
	}
	cmd.Flags().StringVar(&o.note, "note", "", "note to keep with the readings")
	addGauges(cmd, a, &o.gauges, &o.yes)
	o.warmth = addWarmth(cmd)
	return cmd
}

// setUps reports whether all that is in the job's valves are set-up shims, or none.
func setUps(f inventory.File) bool {
	return !slices.ContainsFunc(f.Seats, func(s inventory.Seat) bool { return !s.SetUp })
}

// completeJobThenFiles completes a job as the first argument, then files.
func (a *app) completeJobThenFiles(states ...inventory.State) cobra.CompletionFunc {
	jobs := a.completeJobs(states...)
	return func(cmd *cobra.Command, args []string, begun string) ([]string, cobra.ShellCompDirective) {
		if len(args) > 0 {
			return nil, cobra.ShellCompDirectiveDefault
		}
		return jobs(cmd, args, begun)
	}
}

func runJobRead(cmd *cobra.Command, a *app, o *jobReadOptions, args []string) error {
	return a.withBooking(cmd, func(ctx context.Context, shop *inventory.Shop) error {
		f, err := fileNamed(ctx, shop, args[0], false)
		if err != nil {
			return err
		}
		if f.Fitted != nil {
			return shim.Fail(inventory.ErrState, fmt.Sprintf("enter readings after the fit with shimwright job recheck %d VALVE=CLEARANCE …", f.Job.ID), "job %d is %s: its readings before the fit can no longer change", f.Job.ID, f.Job.State)
		}
		e := &f.Engine.Spec
		known, err := shop.Known(ctx, f.Job.ID, true)
		if err != nil {
			return err
		}
		set, err := a.gaugesFor(ctx, shop, o.gauges, o.yes)
		if err != nil {
			return err
		}
		book, err := work.MarksOf(ctx, shop, e.Name)
		if err != nil {
			return err
		}
		name, list, err := a.jobReadings(args[1:], f, e, book, known, o.warmth, set.States(), setUps(f))
		if err != nil {
			return err
		}
		if err := a.otherShims(f, "read", list, o.yes); err != nil {
			return err
		}
		list = set.Made(list)
		if setUps(f) {
			a.suspect(name, []files.Check{{Of: e, Measurements: list}}, nil, true)
		} else if err := a.suspectJob(ctx, shop, f, name, list); err != nil {
			return err
		}
		check, err := shop.ReadWith(ctx, f.Job.ID, list, o.note, set.ID)
		if err != nil {
			return err
		}
		fell := ""
		if f.Plan != nil {
			fell = "The plan was made on older readings and no longer applies; its reserved shims are free again."
		}
		if f, err = shop.Job(ctx, f.Job.ID); err != nil {
			return err
		}
		lines := []string{heading(f.Job, "%s.", entered(f, check.Readings))}
		lines = append(lines, report.Warmth(e, e.Units.Clearance, check.Readings)...)
		lines = append(lines, gaugesOf([]inventory.Check{check})...)
		return a.tell(said(append(lines, fell, nextLine(f))...))
	})
}

// suspectJob names readings that look wrong compared with the last job of the
// same machine.
func (a *app) suspectJob(ctx context.Context, shop *inventory.Shop, f inventory.File, name string, list []shim.Measurement) error {
	e := &f.Engine.Spec
	known, err := shop.Known(ctx, f.Job.ID, false)
	if err != nil {
		return err
	}
	for _, m := range list {
		a.contradicted(known, m.Valve, m.Marks, e)
	}
	before, err := work.LastRecord(ctx, shop, f.Job, e, known)
	if err != nil {
		return err
	}
	var last lastRecord
	if before != nil {
		last = lastRecord{{Of: e, Measurements: before}}
	}
	a.suspect(name, []files.Check{{Of: e, Measurements: list}}, last, false)
	return nil
}

// contradicted names a shim that is not the one the shop fitted on an earlier
// visit or in this job.
func (a *app) contradicted(known []inventory.Known, v shim.Valve, now shim.Marks, e *shim.Engine) {
	shown := func(m shim.Marks) string {
		return ofEngine(e).lot(inventory.Lot{Family: e.FamilyOf(v), Marks: m})
	}
	for _, k := range work.Contradicted(known, v, now) {
		by := fmt.Sprintf("job %d", k.Job)
		if k.Elsewhere != nil {
			by = shopOf(k.Elsewhere)
		}
		a.doubt(fmt.Sprintf("%s: %s came out, but %s fitted %s on %s", v, shown(now), by,
			shown(k.Marks), day(k.Time)),
			"read the shim again and check that it is from this valve; if so, somebody has changed it since")
	}
}

// entered says what a check has: readings with their verdicts, and shims alone.
func entered(f inventory.File, list []shim.Measurement) string {
	var measured []shim.Measurement
	for _, m := range list {
		if m.Reading.Kind != shim.Unread {
			measured = append(measured, m)
		}
	}
	var parts []string
	if len(measured) > 0 {
		says := verdicts(&f.Engine.Spec, measured)
		if setUps(f) {
			says = "over set-up shims, or without one"
		}
		parts = append(parts, fmt.Sprintf("%s measured: %s", shim.Count(len(measured), "valve"), says))
	}
	if n := len(list) - len(measured); n > 0 {
		parts = append(parts, shim.Count(n, "shim")+" entered")
	}
	return strings.Join(parts, "; ")
}
