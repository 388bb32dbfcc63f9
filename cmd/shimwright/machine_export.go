package main

import (
	"cmp"
	"context"
	"fmt"
	"io"

	"github.com/spf13/cobra"

	"shimwright/inventory"
	"shimwright/inventory/machinefile"
	"shimwright/shim"
)

type machineExportOptions struct{ out, name string }

func newMachineExport(a *app) *cobra.Command {
	o := &machineExportOptions{}
	cmd := &cobra.Command{
		Use:   "export MACHINE",
		Short: "Write everything of a machine to a file for another shop",
		Long: `export writes one JSON file with a machine's visits: dates, meter, who, the model
with its limits, readings before and after, shims, and the gauges used. Another shop
reads it with machine import. Prices stay here; the owner's note and names of
technicians go along.

See docs/machine-file.md.`,
		Example:           `  shimwright machine export 3 --name "Harbour Cycles" --out ab123.json`,
		Args:              exactly(1, "a machine's number or tag"),
		ValidArgsFunction: a.completeMachines,
		RunE:              func(cmd *cobra.Command, args []string) error { return runMachineExport(cmd, a, o, args) },
	}
	addOut(cmd, &o.out)
	cmd.Flags().StringVar(&o.name, "name", "", "your shop's name, for the other shop")
	return cmd
}

func runMachineExport(cmd *cobra.Command, a *app, o *machineExportOptions, args []string) error {
	return a.withShop(cmd, func(ctx context.Context, shop *inventory.Shop) error {
		id, err := machineNamed(ctx, shop, args[0])
		if err != nil {
			return err
		}
		file, err := shop.Machine(ctx, id)
		if err != nil {
			return err
		}
		err = a.writeTo(o.out, func(w io.Writer) error {
			return machinefile.Write(visibleJSON{w}, file, o.name, a.now())
		})
		if err != nil || o.out == "" {
			return err
		}
		return a.say("Wrote machine %d, %s, with %s to %s.\n", file.Machine.ID, shim.Visible(machineText(file.Machine)), shim.Count(len(file.Visits), "visit"), shim.Visible(o.out))
	})
}

// fromShop says which shop did an imported visit.
func fromShop(v *inventory.Imported) string {
	return fmt.Sprintf("from %s, imported %s", shopOf(v), day(v.Day))
}

func shopOf(v *inventory.Imported) string { return cmp.Or(v.Shop, "another shop") }
