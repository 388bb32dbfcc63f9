package main

import (
	"io"

	"github.com/spf13/cobra"

	"shimwright/shim/paper"
)

type sheetOptions struct {
	out    string
	intake *choice
	units  *choice
	info   paper.Info
}

func newSheet(a *app) *cobra.Command {
	o := &sheetOptions{}
	cmd := &cobra.Command{
		Use:   "sheet ENGINE.toml",
		Short: "Print a blank measuring sheet for the clipboard",
		Long: `sheet writes a measuring sheet of the engine as one HTML file: open it in a
browser and print it, on A4 or Letter. The head is drawn as it is seen from above,
cam-drive end at the top, with boxes for the clearance and the shim of each valve,
the limits, and the crank positions in their order.

Banks stand from left to right, and cylinders from the cam-drive end, as the engine
file lists them. Its intake_side says on which side the intake valves are, for
sheets and job cards; --intake overrules it for this sheet.
docs/paper.md says more.`,
		Example: `  shimwright sheet engine.toml --out sheet.html
  shimwright sheet engine.toml --intake right --name "R. Example" --out in.html`,
		Args:              exactly(1, "one engine file"),
		ValidArgsFunction: completeOnce(completeTOML),
		RunE:              func(cmd *cobra.Command, args []string) error { return runSheet(cmd, a, o, args) },
	}
	flags := cmd.Flags()
	addOut(cmd, &o.out)
	o.intake = addIntake(cmd)
	o.units = addDisplay(cmd)
	flags.StringVar(&o.info.Customer, "customer", "", "`TEXT` on the customer's line")
	flags.StringVar(&o.info.Machine, "machine", "", "`TEXT` on the machine's line")
	flags.StringVar(&o.info.Odometer, "odometer", "", "`TEXT` on the line for odometer or hours")
	flags.StringVar(&o.info.Name, "name", "", "`TEXT` on the line for who does the work")
	flags.StringVar(&o.info.Date, "date", "", "`TEXT` on the date's line")
	return cmd
}

func runSheet(_ *cobra.Command, a *app, o *sheetOptions, args []string) error {
	o.info.Intake = intakeOf(o.intake)
	if o.units.value != o.units.allowed[0] {
		u := o.units.unit()
		o.info.Units = &u
	}
	e, err := a.readEngine(args[0])
	if err != nil {
		return err
	}
	return a.writeOut(o.out, func(w io.Writer) error { return paper.Sheet(w, e, o.info) })
}
