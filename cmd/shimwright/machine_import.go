package main

import (
	"context"
	"fmt"

	"github.com/spf13/cobra"

	"shimwright/inventory"
	"shimwright/inventory/machinefile"
	"shimwright/inventory/work"
	"shimwright/shim"
)

type machineImportOptions struct {
	into string
	from string
	yes  bool
}

func newMachineImport(a *app) *cobra.Command {
	o := &machineImportOptions{}
	cmd := &cobra.Command{
		Use:   "import FILE",
		Short: "Keep the visits of a machine to another shop",
		Long: `import reads a file of machine export from another shop. Its visits are kept
beside your own, marked with the shop and the day, and count in the trend. Ledger,
box and jobs stay as they are.

A visit that is known is not kept twice: the same file again changes nothing. If you
have a machine of that tag and model, import asks whether it is the same one; --into
names the machine. A - reads standard input.`,
		Example: `  shimwright machine import ab123.json
  shimwright machine import ab123.json --into 7`,
		Args:              exactly(1, "a file of machine export"),
		ValidArgsFunction: completeOnce(completeFile),
		RunE:              func(cmd *cobra.Command, args []string) error { return runMachineImport(cmd, a, o, args) },
	}
	flags := cmd.Flags()
	flags.StringVar(&o.into, "into", "", "the `MACHINE` here that it is, by number or tag")
	completesFlag(cmd, "into", a.completeMachines)
	flags.StringVar(&o.from, "from", "", "name of the other shop, if the file has none")
	flags.BoolVar(&o.yes, "yes", false, "do not ask")
	return cmd
}

func runMachineImport(cmd *cobra.Command, a *app, o *machineImportOptions, args []string) error {
	name, in, err := a.open(args[0])
	if err != nil {
		return err
	}
	defer in.Close()
	file, err := machinefile.Read(shim.Visible(name), in)
	if err != nil {
		return err
	}
	for i := range file.Visits {
		if from := file.Visits[i].Imported; from.Shop == "" {
			from.Shop = o.from
		}
	}
	return a.withBooking(cmd, func(ctx context.Context, shop *inventory.Shop) error {
		into := int64(0)
		if o.into != "" {
			if into, err = machineNamed(ctx, shop, o.into); err != nil {
				return err
			}
		}
		would, err := shop.Trial().ImportMachine(ctx, file, into)
		if err != nil {
			return err
		}
		if here := would.Machine; into == 0 && !would.New && would.Known+would.Newer == 0 && would.Added > 0 {
			err := a.confirm([]doubtful{{
				fmt.Sprintf("machine %d here is a %s with the tag %s, too", here.ID, here.Model, here.Tag),
				fmt.Sprintf("if it is the same machine: --into %d, or --yes; if not, give yours another tag first: shimwright machine edit %d --tag", here.ID, here.ID),
			}}, o.yes)
			if err != nil {
				return err
			}
		}
		if would.Moved > 0 {
			if err := a.confirm([]doubtful{{
				fmt.Sprintf("%s of it are at machine %s: moved to machine %d", shim.Count(would.Moved, "visit"), joinedBy(would.From, func(id int64) string { return fmt.Sprint(id) }, ", "), would.Machine.ID),
				fmt.Sprintf("if both are one machine: shimwright machine merge %d %d", would.From[0], would.Machine.ID),
			}}, o.yes); err != nil {
				return err
			}
		}
		done, err := shop.ImportMachine(ctx, file, into)
		if err != nil {
			return err
		}
		m := done.Machine
		if done.Added+done.Newer+done.Moved > 0 {
			if err := work.KeepOutlook(ctx, shop, append(done.From, m.ID)...); err != nil {
				return err
			}
		}
		lines := []string{fmt.Sprintf("Machine %d, %s: %s imported.", m.ID, machineText(m), shim.Count(done.Added, "visit"))}
		if done.New {
			lines[0] = fmt.Sprintf("Machine %d, %s: new, with %s imported.", m.ID, machineText(m), shim.Count(done.Added, "visit"))
		}
		if done.Added+done.Newer+done.Moved == 0 && !done.New {
			lines[0] = fmt.Sprintf("Machine %d, %s: nothing new.", m.ID, machineText(m))
		}
		if done.Moved > 0 {
			lines = append(lines, fmt.Sprintf("%s moved here.", shim.Count(done.Moved, "visit")))
		}
		if done.Newer > 0 {
			lines = append(lines, fmt.Sprintf("%s known, brought up to date.", shim.Count(done.Newer, "visit")))
		}
		if done.Known > 0 {
			lines = append(lines, fmt.Sprintf("%s known already.", shim.Count(done.Known, "visit")))
		}
		return a.tell(said(append(lines, fmt.Sprintf("Look at it: shimwright machine show %d", m.ID))...))
	})
}
