package main

import (
	"context"
	"errors"
	"fmt"

	"github.com/spf13/cobra"

	"shimwright/inventory"
	"shimwright/inventory/sqlite"
)

type jobEditOptions struct {
	tag, meter, note string
	yes              bool
}

func newJobEdit(b *bench) *cobra.Command {
	o := &jobEditOptions{}
	cmd := &cobra.Command{
		Use:   "edit JOB",
		Short: "Mend the tag, the meter or the note of a job",
		Long: `edit mends what was typed when the job was opened. What stood there before is
kept: job show lists it with the day and the name. A finished job can be mended
too.`,
		Example: `  shimwright job edit 12 --tag "AB 123"
  shimwright job edit 12 --meter "24,310 km" --note "plate misread"`,
		Args:              exactly(1, "the number of a job, or its tag"),
		ValidArgsFunction: completeJobs(),
	}
	flags := cmd.Flags()
	flags.StringVar(&o.tag, "tag", "", "whose engine it is: a plate, an order number")
	flags.StringVar(&o.meter, "meter", "", "odometer or hours as read, with the unit")
	flags.StringVar(&o.note, "note", "", "anything else")
	flags.BoolVar(&o.yes, "yes", false, "do not ask about a meter that went backwards")
	cmd.RunE = func(cmd *cobra.Command, args []string) error {
		fields := map[inventory.Field]string{}
		for field, text := range map[inventory.Field]string{inventory.TagField: o.tag, inventory.MeterField: o.meter, inventory.NoteField: o.note} {
			if flags.Changed(string(field)) {
				fields[field] = text
			}
		}
		if len(fields) == 0 {
			return hint(usage(errors.New("what is to be mended?")), "--tag, --meter or --note")
		}
		return withShop(cmd, func(ctx context.Context, shop *inventory.Shop, _ *sqlite.Store) error {
			return runJobEdit(ctx, b, shop, args[0], fields, o.yes)
		})
	}
	return cmd
}

func runJobEdit(ctx context.Context, b *bench, shop *inventory.Shop, number string, fields map[inventory.Field]string, yes bool) error {
	id, err := jobNamed(ctx, shop, number, true)
	if err != nil {
		return err
	}
	f, err := shop.Job(ctx, id)
	if err != nil {
		return err
	}
	mended := f.Job
	if tag, told := fields[inventory.TagField]; told {
		mended.Tag = tag
	}
	if meter, told := fields[inventory.MeterField]; told {
		mended.Meter = meter
	}
	if err := b.meterAhead(ctx, shop, mended, yes); err != nil {
		return err
	}
	edits, err := shop.EditJob(ctx, id, fields)
	if err != nil {
		return err
	}
	if f, err = shop.Job(ctx, id); err != nil {
		return err
	}
	lines := []string{heading(f.Job, "mended.")}
	for _, e := range edits {
		lines = append(lines, fmt.Sprintf("%s: was %s, is %s.", e.Field, quoted(e.Old), quoted(e.New)))
	}
	return b.tell(said(append(lines, nextLine(f))...))
}

// quoted is a text in quotes, nothing in words.
func quoted(text string) string {
	if text == "" {
		return "nothing"
	}
	return fmt.Sprintf("%q", text)
}
