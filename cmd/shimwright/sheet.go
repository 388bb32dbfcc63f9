package main

import (
	"io"

	"github.com/spf13/cobra"

	"shimwright/shim/paper"
)

type sheetOptions struct {
	out    string
	intake *choice
	warmth warmth
	units  *display
	info   paper.Info
}

func newSheet(a *app) *cobra.Command {
	o := &sheetOptions{}
	cmd := &cobra.Command{
		Use:   "sheet ENGINE.toml",
		Short: "Print a blank measuring sheet for the clipboard",
		Long: `sheet writes a measuring sheet for the engine as one HTML file: open it in a
browser and print it on A4 or Letter. It shows the head from above, cam-drive end
at the top, with boxes for the clearance and the shim of each valve, the limits,
and the crank positions in order.

Banks are drawn from left to right and cylinders from the cam-drive end, in the
order of the engine file. intake_side in the engine file says on which side the
intake valves are; --intake overrides it for this sheet. See docs/paper.md.`,
		Example: `  shimwright sheet engine.toml --out sheet.html
  shimwright sheet engine.toml --intake right --name "R. Example" --out in.html`,
		Args:              exactly(1, "one engine file"),
		ValidArgsFunction: completeOnce(completeTOML),
		RunE:              func(cmd *cobra.Command, args []string) error { return runSheet(cmd, a, o, args) },
	}
	flags := cmd.Flags()
	addOut(cmd, &o.out)
	o.intake = addIntake(cmd)
	o.warmth.addState(cmd)
	o.units = addDisplay(cmd)
	flags.StringVar(&o.info.Customer, "customer", "", "`TEXT` for the customer line")
	flags.StringVar(&o.info.Machine, "machine", "", "`TEXT` for the machine line")
	flags.StringVar(&o.info.Odometer, "odometer", "", "`TEXT` for the odometer or hours line")
	flags.StringVar(&o.info.Name, "name", "", "`TEXT` for the technician line")
	flags.StringVar(&o.info.Date, "date", "", "`TEXT` for the date line")
	return cmd
}

func runSheet(_ *cobra.Command, a *app, o *sheetOptions, args []string) error {
	o.info.Intake = intakeOf(o.intake)
	o.info.Units = o.units.showing()
	e, err := a.readEngine(args[0])
	if err != nil {
		return err
	}
	if e, err = o.warmth.engine(e); err != nil {
		return err
	}
	return a.writeOut(o.out, func(w io.Writer) error { return paper.Sheet(w, e, o.info) })
}
