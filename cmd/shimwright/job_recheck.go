package main

import (
	"bytes"
	"context"
	"fmt"

	"github.com/spf13/cobra"

	"shimwright/inventory"
	"shimwright/shim"
	"shimwright/shim/files"
	"shimwright/shim/plan"
	"shimwright/shim/plan/planjson"
	"shimwright/shim/recheck"
	"shimwright/shim/report"
)

type jobRecheckOptions struct {
	gauge, note string
	units       *choice
	output      *choice
}

func newJobRecheck(b *bench) *cobra.Command {
	o := &jobRecheckOptions{}
	cmd := &cobra.Command{
		Use:   "recheck JOB CHECK.csv | VALVE=CLEARANCE…",
		Short: "Enter what was measured after the fit, held against the plan",
		Long: `recheck enters the clearances measured after the fit and compares them with what
the shims that are in should give. It says which valve is off by more than gauge
and shims explain, and what most likely happened (docs/how-sure.md). The exit
status is 3 where a valve lies outside its limits, is undecided or was not measured;
the readings are entered all the same.

` + readingsHelp,
		Example: `  shimwright job recheck 12 after.csv
  shimwright job recheck 12 in1a=0.17 in1b=0.16`,
		Args:              atLeast(2, "a job, and a check file or readings"),
		ValidArgsFunction: completeJobThenFiles(inventory.Complete, inventory.Rechecked, inventory.Planned),
	}
	cmd.Flags().StringVar(&o.gauge, "gauge", "", "gauge `FILE` (TOML) in place of the engine's gauge")
	completesFlag(cmd, "gauge", completeTOML)
	cmd.Flags().StringVar(&o.note, "note", "", "anything to keep with the readings")
	o.units = addDisplay(cmd)
	o.output = addOutput(cmd)
	cmd.RunE = func(cmd *cobra.Command, args []string) error {
		return b.withBooking(cmd, func(ctx context.Context, shop *inventory.Shop) error {
			return runJobRecheck(ctx, b, shop, o, args)
		})
	}
	return cmd
}

func runJobRecheck(ctx context.Context, b *bench, shop *inventory.Shop, o *jobRecheckOptions, args []string) error {
	id, err := jobNamed(ctx, shop, args[0], false)
	if err != nil {
		return err
	}
	f, err := shop.Job(ctx, id)
	if err != nil {
		return err
	}
	if f.Fitted == nil {
		return inventory.Fail(inventory.ErrState, next(f), "job %d is %s: there is no fit to measure again", id, f.Job.State)
	}
	_, list, err := b.jobReadings(args[1:], f.Job, &f.Engine.Spec)
	if err != nil {
		return err
	}
	gauge, err := b.readGauge(o.gauge)
	if err != nil {
		return err
	}
	c, err := compareJob(b, f, list, gauge)
	if err != nil {
		return err
	}
	if u := display(o.units, o.output); u != nil {
		c.ShowIn(*u)
	}
	if _, err := shop.Read(ctx, id, list, o.note); err != nil {
		return err
	}
	if f, err = shop.Job(ctx, id); err != nil {
		return err
	}
	entered := said(heading(f.Job, "%s entered.", count(len(list), "reading")), nextLine(f))
	if form := o.output.value; form == "table" {
		d := report.Recheck(c)
		entered.Level, entered.Heading = 2, "In the shop"
		err = b.tell(append(d.Sections, entered)...)
	} else if err = printComparison(b, c, form); err == nil {
		err = (&report.Document{Sections: []report.Section{entered}}).Narrow(b.places).Text(b.err, false)
	}
	if err == nil && !c.Well() {
		return errOutside
	}
	return err
}

// compareJob holds the plan that was fitted against what was measured since its fit: the
// list, and earlier rechecks for the valves that it leaves out. A recheck from before
// the plan stands for a valve that was not touched since.
func compareJob(b *bench, f inventory.File, list []shim.Measurement, gauge *shim.Gauge) (*recheck.Comparison, error) {
	e := &f.Engine.Spec
	p, err := decodePlan(&f, f.Fitted)
	if err != nil {
		return nil, err
	}
	how := recheck.Measuring{Gauge: gauge}
	for _, s := range f.Otherwise {
		how.CameOut = append(how.CameOut, shim.Measurement{Valve: s.Valve, Marks: s.Marks})
	}
	check := files.Check{Job: fmt.Sprint(f.Job.ID), Engine: e.Name, Of: e, Measurements: make([]shim.Measurement, len(f.Seats))}
	for i, s := range f.Seats {
		check.Measurements[i] = shim.Measurement{Valve: s.Valve, Marks: s.Marks}
	}
	earlier := make([]bool, len(f.Seats))
	enter := func(list []shim.Measurement, before bool) {
		for _, m := range list {
			i, found := e.Find(m.Valve)
			if !found {
				continue // entering refuses it
			}
			at := &check.Measurements[i]
			if m.Reading.Kind != shim.Unread {
				at.Reading, earlier[i] = m.Reading, before
			}
			if m.Size() != 0 && (m.Mic != 0 || m.Stamp != at.Stamp) { // else what was read on it stands
				at.Stamp, at.Mic = m.Stamp, m.Mic
			}
		}
	}
	enter(since(f, 0), true)
	enter(since(f, f.Fitted.Seq+1), false) // its own movements come after it
	enter(list, false)
	how.Earlier = earlier
	c, err := compare(b, p, []files.Check{check}, how)
	if err != nil {
		return nil, err
	}
	for i := range c.Jobs {
		c.Jobs[i].Again = fmt.Sprintf("shimwright job plan %d", f.Job.ID)
	}
	return c, nil
}

// decodePlan is a plan of the job, as the shop keeps it.
func decodePlan(f *inventory.File, p *inventory.Plan) (*plan.Plan, error) {
	return planjson.Decode(fmt.Sprintf("plan %d of job %d", p.Number, f.Job.ID), bytes.NewReader(p.Document), &f.Engine.Spec)
}

// since lists what was measured after a fit, from a place in the ledger on, each
// valve after its last change; of several readings the last one counts.
func since(f inventory.File, from int64) []shim.Measurement {
	changed := map[shim.Valve]int64{}
	for _, m := range f.Movements {
		changed[m.Valve] = m.Seq
	}
	var list []shim.Measurement
	for _, old := range f.Checks {
		for _, m := range old.Readings {
			if old.Kind == inventory.Recheck && old.Seq >= max(from, changed[m.Valve]) {
				list = append(list, m)
			}
		}
	}
	return list
}
