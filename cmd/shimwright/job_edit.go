package main

import (
	"context"
	"fmt"
	"slices"

	"github.com/spf13/cobra"

	"shimwright/inventory"
	"shimwright/inventory/work"
	"shimwright/shim"
)

type jobEditOptions struct {
	tag, meter, note, engine, meterNew, reset string
	yes                                       bool
}

func newJobEdit(a *app) *cobra.Command {
	o := &jobEditOptions{}
	cmd := &cobra.Command{
		Use:   "edit JOB",
		Short: "Change the tag, meter or note of a job",
		Long: `edit changes what was typed when the job was opened. job show lists the old
value, the day and who changed it. A finished job can be edited too.

--engine switches an open job to another version of its engine file. Readings and
fitted shims stay; the plan is dropped. A name means the newest version.`,
		Example: `  shimwright job edit 12 --tag "AB 123"
  shimwright job edit 12 --meter "24,310 km" --note "plate misread"
  shimwright job edit 12 --engine "Sandpiper 720 twin"`,
		Args:              exactly(1, "a job number or tag"),
		ValidArgsFunction: a.completeJobs(),
		RunE:              func(cmd *cobra.Command, args []string) error { return runJobEdit(cmd, a, o, args) },
	}
	flags := cmd.Flags()
	flags.StringVar(&o.tag, "tag", "", "whose machine it is: a plate, an order number")
	flags.StringVar(&o.meter, "meter", "", "odometer or hour meter reading, with the unit")
	flags.StringVar(&o.meterNew, "meter-new", "", "another meter is in since the visit before: what the old one `READ` at the end, or unknown")
	flags.StringVar(&o.reset, "reset", "", "`WHAT` was done that wear cannot be followed across: \"seats cut\"")
	flags.StringVar(&o.note, "note", "", "any other note")
	flags.StringVarP(&o.engine, "engine", "e", "", "another version of its model: an engine `FILE`, or the name or number of a model the shop knows")
	flags.BoolVar(&o.yes, "yes", false, "do not ask about the meter reading or an older version of the engine file")
	completesFlag(cmd, "engine", a.completeEngines)
	return cmd
}

func runJobEdit(cmd *cobra.Command, a *app, o *jobEditOptions, args []string) error {
	fields := map[inventory.Field]string{}
	for field, text := range map[inventory.Field]string{inventory.TagField: o.tag, inventory.MeterField: o.meter, inventory.NoteField: o.note} {
		if cmd.Flags().Changed(string(field)) {
			fields[field] = text
		}
	}
	for flag, field := range map[string]inventory.Field{"meter-new": inventory.MeterNewField, "reset": inventory.ResetField} {
		if cmd.Flags().Changed(flag) {
			fields[field] = map[string]string{"meter-new": o.meterNew, "reset": o.reset}[flag]
		}
	}
	if len(fields) == 0 && o.engine == "" {
		return wrong("give --tag, --meter, --meter-new, --reset, --note or --engine", "nothing to change")
	}
	return a.withBooking(cmd, func(ctx context.Context, shop *inventory.Shop) error {
		f, err := fileNamed(ctx, shop, args[0], true)
		if err != nil {
			return err
		}
		mended := f.Job
		if tag, told := fields[inventory.TagField]; told {
			mended.Tag, mended.Machine = tag, 0 // by the new tag
		}
		if meter, told := fields[inventory.MeterField]; told {
			mended.Meter = meter
		}
		if before, told := fields[inventory.MeterNewField]; told {
			mended.MeterNew = before
		}
		if mended.Tag != f.Job.Tag || mended.Meter != f.Job.Meter || mended.MeterNew != f.Job.MeterNew {
			if err := a.doubtMeter(ctx, shop, mended, o.yes); err != nil {
				return err
			}
		}
		var engine *inventory.Opening
		if o.engine != "" {
			if engine, err = a.otherVersion(ctx, shop, o, f.Engine.Spec.State); err != nil {
				return err
			}
		}
		before := f
		edits, err := shop.EditJob(ctx, f.Job.ID, fields, engine)
		if err != nil {
			return err
		}
		was := f.Job.Machine
		if f, err = shop.Job(ctx, f.Job.ID); err != nil {
			return err
		}
		if err := work.KeepOutlook(ctx, shop, slices.Compact([]int64{was, f.Job.Machine})...); err != nil {
			return err
		}
		lines := []string{heading(f.Job, "changed.")}
		for _, e := range edits {
			if e.Field == inventory.EngineField {
				lines = append(lines, anotherVersion(before, f)...)
				continue
			}
			lines = append(lines, fmt.Sprintf("%s: was %s, now %s.", e.Field, quoted(e.Old), quoted(e.New)))
		}
		return a.tell(said(append(lines, nextLine(f))...))
	})
}

// otherVersion finds the version of the model that the job is to use.
func (a *app) otherVersion(ctx context.Context, shop *inventory.Shop, o *jobEditOptions, state shim.State) (*inventory.Opening, error) {
	file, source, err := a.engineOf(ctx, shop, o.engine)
	if err != nil {
		return nil, err
	}
	in, err := file.In(state) // the readings are of that state
	if err != nil {
		return nil, err
	}
	spec := *in
	engines, err := shop.Engines(ctx, inventory.Page{})
	if err != nil {
		return nil, err
	}
	return &inventory.Opening{Spec: spec, Source: source}, a.takesOlder(engines, &spec, source, o.engine, o.yes)
}

// anotherVersion says what changed when the job switched to another version of
// its model.
func anotherVersion(before, now inventory.File) []string {
	lines := []string{fmt.Sprintf("engine: another version: %s.", differs(&before.Engine.Spec, &now.Engine.Spec))}
	if before.Plan != nil {
		lines = append(lines, "The plan was made on the old version and no longer applies; its reserved shims are free again. Fitted shims stay.")
	}
	return lines
}

// quoted returns the text in quotes, or "nothing" if it is empty.
func quoted(text string) string {
	if text == "" {
		return "nothing"
	}
	return fmt.Sprintf("%q", text)
}
