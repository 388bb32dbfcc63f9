package main

import (
	"context"
	"errors"
	"slices"
	"strings"

	"github.com/spf13/cobra"

	"shimwright/inventory"
	"shimwright/shim"
)

// addDiameter adds the flag that names the disc.
func addDiameter(cmd *cobra.Command, into *string) {
	cmd.Flags().StringVar(into, "diameter", "", "`DIAMETER` of the discs (default: the only one in the shop)")
	completesFlag(cmd, "diameter", completeDiameters)
}

// diametersOf lists the disc diameters of the shop's box and engines.
func diametersOf(ctx context.Context, shop *inventory.Shop) ([]shim.Length, error) {
	list, err := shop.Diameters(ctx)
	if err != nil {
		return nil, err
	}
	engines, err := shop.Engines(ctx, inventory.Page{})
	if err != nil {
		return nil, err
	}
	for _, e := range engines {
		list = append(list, e.Spec.Diameter)
	}
	slices.Sort(list)
	return slices.Compact(list), nil
}

// theDiameter is the diameter that was typed, else the only one in the shop,
// else what a person answers.
func (b *bench) theDiameter(ctx context.Context, shop *inventory.Shop, typed string, u shim.Unit) (shim.Length, error) {
	if typed != "" {
		return parseDiameter(typed, u)
	}
	list, err := diametersOf(ctx, shop)
	if err != nil {
		return 0, err
	}
	if len(list) == 1 {
		return list[0], nil
	}
	var names []string
	for _, d := range list {
		names = append(names, u.Format(d))
	}
	way := "give the diameter of the discs with --diameter"
	if len(names) > 0 {
		way += "; in the shop: " + strings.Join(names, ", ")
	}
	if b.person && !b.inUsed {
		if answer, err := b.prompt("diameter of the discs in " + u.String() + ": "); err == nil && answer != "" {
			return parseDiameter(answer, u)
		}
	}
	return 0, hint(usage(errors.New("which discs are meant?")), way)
}

// anyDiameter is the diameter that was typed, 0 for all.
func anyDiameter(typed string, u shim.Unit) (shim.Length, error) {
	if typed == "" {
		return 0, nil
	}
	return parseDiameter(typed, u)
}
