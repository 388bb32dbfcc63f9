package main

import (
	"context"
	"fmt"
	"io"
	"slices"
	"strings"

	"github.com/spf13/cobra"

	"shimwright/inventory"
	"shimwright/inventory/work"
	"shimwright/shim"
	"shimwright/shim/paper"
	"shimwright/shim/plan"
)

type jobSheetOptions struct {
	out    string
	gauges string
	intake *choice
	units  *display
}

func newJobSheet(a *app) *cobra.Command {
	o := &jobSheetOptions{}
	cmd := &cobra.Command{
		Use:   "sheet JOB",
		Short: "Print the measuring sheet for a job",
		Long: `sheet writes the measuring sheet for a job, like shimwright sheet, with the job
number, tag, meter and note filled in. Name and date are left for whoever measures.
--gauges names the gauge set to use; one out of date is a caution on the sheet.
It is one HTML file: open it in a browser and print it on A4 or Letter. See
docs/paper.md.`,
		Example: `  shimwright job sheet 12 --out sheet.html
  shimwright job sheet 12 --intake right --out sheet.html`,
		Args:              exactly(1, "a job number or tag"),
		ValidArgsFunction: a.completeJobs(inventory.StateOpen, inventory.StateMeasured, inventory.StatePlanned, inventory.StateFitting, inventory.StateFitted, inventory.StateRechecked),
		RunE:              func(cmd *cobra.Command, args []string) error { return runJobSheet(cmd, a, o, args) },
	}
	addOut(cmd, &o.out)
	cmd.Flags().StringVar(&o.gauges, "gauges", "", "gauge `SET` to measure with, by its name: see shimwright gauge list")
	completesFlag(cmd, "gauges", a.completeGauges)
	o.intake = addIntake(cmd)
	o.units = addDisplay(cmd)
	return cmd
}

func runJobSheet(cmd *cobra.Command, a *app, o *jobSheetOptions, args []string) error {
	return a.withShop(cmd, func(ctx context.Context, shop *inventory.Shop) error {
		f, err := fileNamed(ctx, shop, args[0], true)
		if err != nil {
			return err
		}
		info := infoOf(f.Job)
		info.Name, info.Date = "", "" // filled in by whoever measures
		lines := gaugesUsed(f)
		if o.gauges != "" {
			set, err := gaugeNamed(ctx, shop, o.gauges)
			if err != nil {
				return err
			}
			lines = append(lines, gaugeToUse(set, a.now()))
		}
		info.Notes = strings.TrimSpace(strings.Join(append([]string{info.Notes}, lines...), " "))
		info.Intake = intakeOf(o.intake)
		info.Units = o.units.showing()
		return a.writeOut(o.out, func(w io.Writer) error { return paper.Sheet(w, &f.Engine.Spec, info) })
	})
}

// infoOf is what a printed form shows of a job.
func infoOf(j inventory.Job) paper.Info {
	return paper.Info{Job: fmt.Sprint(j.ID), Machine: j.Tag, Odometer: j.Meter, Name: j.Who, Date: day(j.Opened), Notes: j.Note}
}

// cardInfo is what the job card of the current plan shows of the job.
func cardInfo(f inventory.File) paper.Info {
	info := infoOf(f.Job)
	info.Date, info.Name = day(f.Plan.Time), f.Plan.Who
	info.Notes = strings.TrimSpace(strings.Join(append([]string{info.Notes}, gaugesUsed(f)...), " "))
	for _, p := range f.Plan.Placements {
		if lot, there := work.PieceOf(f, p.Valve); there && p.Source != inventory.SourceMoved {
			info.Fetch = append(info.Fetch, fmt.Sprintf("%s for %s (%s)", ofEngine(&f.Engine.Spec).lot(lot), p.Valve, pieceText(lot)))
		}
	}
	for _, s := range f.Seats {
		if s.Empty {
			info.Empty = append(info.Empty, s.Valve)
		}
	}
	return info
}

// printCard prints the job card of the current plan, with the readings after
// its fit.
func (a *app) printCard(ctx context.Context, shop *inventory.Shop, f inventory.File) error {
	if f.Plan == nil {
		return shim.Fail(inventory.ErrState, next(f), "job %d has no current plan, so there is no job card", f.Job.ID)
	}
	p, err := work.PlanOf(f, f.Plan)
	if err != nil {
		return err
	}
	info := cardInfo(f)
	info.Notes = strings.TrimSpace(info.Notes + " " + otherwise(f))
	info.After = map[shim.Valve]shim.Reading{}
	for _, m := range work.Since(f, f.Plan.Seq) {
		if m.Reading.Kind != shim.Unread {
			info.After[m.Valve] = m.Reading
		}
	}
	if slices.ContainsFunc(p.Jobs[0].Valves, func(v plan.ValvePlan) bool {
		return slices.ContainsFunc(f.Found, func(m shim.Measurement) bool { return m.Valve == v.Valve && m.Reading != v.Reading })
	}) { // the plan was made after a recheck
		info.Found = f.Found
	}
	if f.Job.Machine != 0 {
		s, err := work.See(ctx, shop, f.Job.Machine)
		if err != nil {
			return err
		}
		if len(s.Trend.Series.Meters) > 1 {
			info.Charts = chartsOf(s)
		}
	}
	return a.write(func(w io.Writer) error { return paper.Card(w, p, info) })
}

// otherwise says which valves have a different shim than planned.
func otherwise(f inventory.File) string {
	var parts []string
	e := &f.Engine.Spec
	for _, p := range work.Placements(f) {
		size := func(l shim.Length) string { return ofEngine(e).size(e.FamilyOf(p.Valve).Of(l)) }
		if p.Progress == work.Empty || p.Progress == work.Otherwise {
			parts = append(parts, fmt.Sprintf("%s has %s instead of %s", p.Valve, size(p.In), size(p.Size)))
		}
	}
	if parts == nil {
		return ""
	}
	return "Not as planned: " + strings.Join(parts, "; ") + "."
}
