package main

import (
	"context"
	"strings"

	"github.com/spf13/cobra"

	"shimwright/inventory"
	"shimwright/inventory/work"
	"shimwright/shim"
)

// addDiameter adds the flag that names the disc.
func addDiameter(b *bench, cmd *cobra.Command, into *string) {
	cmd.Flags().StringVar(into, "diameter", "", "`DIAMETER` of the discs (default: the only one in the shop)")
	completesFlag(cmd, "diameter", b.completeDiameters())
}

// theDiameter is the diameter that was typed, else the only one in the shop,
// else what a person answers.
func (b *bench) theDiameter(ctx context.Context, shop *inventory.Shop, typed string, u shim.Unit) (shim.Length, error) {
	list, err := work.Diameters(ctx, shop)
	if err != nil {
		return 0, err
	}
	if typed != "" {
		d, err := parseDiameter(typed, u)
		if err != nil {
			return 0, err
		}
		d, found := snap(list, d, u)
		if !found && len(list) > 0 {
			b.doubt("the shop had no discs of "+u.Format(d)+" "+u.String()+" until now", "in the shop: "+diameterNames(list, u))
		}
		return d, nil
	}
	if len(list) == 1 {
		return list[0], nil
	}
	way := "give the diameter of the discs with --diameter"
	if len(list) > 0 {
		way += "; in the shop: " + diameterNames(list, u)
	}
	if b.person && (b.typed != nil || !b.inUsed) {
		if answer, err := b.prompt("diameter of the discs in " + u.String() + ": "); err == nil && answer != "" {
			return parseDiameter(answer, u)
		}
	}
	return 0, wrong(way, "which discs are meant?")
}

// snap is the known length that the typed one means, and whether there is one:
// no decimal of an inch is exactly 8.9 mm. 0 stays 0.
func snap(list []shim.Length, typed shim.Length, u shim.Unit) (shim.Length, bool) {
	for _, l := range list {
		if typed != 0 && work.Same(typed, l, u) {
			return l, true
		}
	}
	return typed, false
}

func diameterNames(list []shim.Length, u shim.Unit) string {
	var names []string
	for _, d := range list {
		names = append(names, u.Format(d))
	}
	return strings.Join(names, ", ")
}

// anyDiameter is the diameter that was typed, 0 for all.
func anyDiameter(typed string, u shim.Unit) (shim.Length, error) {
	if typed == "" {
		return 0, nil
	}
	return parseDiameter(typed, u)
}
