package main

import (
	"context"
	"io"

	"github.com/spf13/cobra"

	"shimwright/inventory"
	"shimwright/shim/paper"
)

type jobSheetOptions struct {
	out    string
	intake *choice
	units  *choice
}

func newJobSheet(b *bench) *cobra.Command {
	o := &jobSheetOptions{}
	cmd := &cobra.Command{
		Use:   "sheet JOB",
		Short: "Print the measuring sheet of a job's engine",
		Long: `sheet writes the measuring sheet of the job's engine, as shimwright sheet does,
with the job's number, tag, meter and note filled in; name and date are for who
measures. It is one HTML file: open it in a browser and print it, on A4 or
Letter. docs/paper.md says more.`,
		Example: `  shimwright job sheet 12 --out sheet.html
  shimwright job sheet 12 --intake right --out sheet.html`,
		Args:              exactly(1, "the number of a job, or its tag"),
		ValidArgsFunction: b.completeJobs(inventory.StateOpen, inventory.StateMeasured, inventory.StatePlanned, inventory.StateFitting, inventory.StateFitted, inventory.StateRechecked),
		RunE: func(cmd *cobra.Command, args []string) error {
			return b.withShop(cmd, func(ctx context.Context, shop *inventory.Shop) error {
				return runJobSheet(ctx, b, shop, o, args[0])
			})
		},
	}
	addOut(cmd, &o.out)
	o.intake = addIntake(cmd)
	o.units = addDisplay(cmd)
	return cmd
}

func runJobSheet(ctx context.Context, b *bench, shop *inventory.Shop, o *jobSheetOptions, number string) error {
	id, err := jobNamed(ctx, shop, number, true)
	if err != nil {
		return err
	}
	f, err := shop.Job(ctx, id)
	if err != nil {
		return err
	}
	info := infoOf(f.Job)
	info.Name, info.Date = "", "" // of who measures, and when
	info.Intake = intakeOf(o.intake)
	if o.units.value != o.units.allowed[0] {
		u := o.units.unit()
		info.Units = &u
	}
	return b.writeOut(o.out, func(w io.Writer) error { return paper.Sheet(w, &f.Engine.Spec, info) })
}
