package main

import (
	"context"
	"fmt"

	"github.com/spf13/cobra"

	"shimwright/inventory"
	"shimwright/inventory/work"
	"shimwright/shim"
	"shimwright/shim/files"
)

type correctOptions struct {
	*which
	stampIs, micIs, diameterIs, familyIs, binIs string
	usedIs, freshIs                             bool
	note                                        string
}

func newBoxCorrect(a *app) *cobra.Command {
	o := &correctOptions{}
	cmd := &cobra.Command{
		Use:   "correct SIZE[xCOUNT] --is-...",
		Short: "Move shims to another bin, or correct their record",
		Long: `correct changes the record of shims: moved to another bin, measured with a
micrometer, or entered wrongly. SIZE and the flags --bin, --used, --new, --stamp
and --diameter select the shims; the flags that begin with --is give the new
values. The number of shims in the box does not change.`,
		Example: `  shimwright box correct 2.425x2 --is-bin A4
  shimwright box correct 2.425 --used --is-mic 2.418
  shimwright box correct 2.45 --is-stamp 2.475`,
		Args:              exactly(1, "one size"),
		ValidArgsFunction: completeOnce(a.completeSizes()),
		RunE:              func(cmd *cobra.Command, args []string) error { return runBoxCorrect(cmd, a, o, args) },
	}
	o.which = addWhich(a, cmd)
	flags := cmd.Flags()
	flags.Var((*trimmed)(&o.binIs), "is-bin", "their new bin")
	flags.StringVar(&o.micIs, "is-mic", "", "the `SIZE` measured with a micrometer; 0 removes the reading")
	flags.StringVar(&o.stampIs, "is-stamp", "", "the `SIZE` marked on them; 0 if it cannot be read")
	flags.StringVar(&o.diameterIs, "is-diameter", "", "their `DIAMETER`")
	flags.StringVar(&o.familyIs, "is-family", "", "their family, by its `NAME`; \"\" for plain discs")
	flags.BoolVar(&o.usedIs, "is-used", false, "they are used")
	flags.BoolVar(&o.freshIs, "is-new", false, "they are new")
	flags.StringVar(&o.note, "note", "", "reason, for the record")
	completesFlag(cmd, "is-bin", a.completeBins())
	completesFlag(cmd, "is-diameter", a.completeDiameters())
	completesFlag(cmd, "is-family", a.completeKinds())
	exclusive(cmd, "is-used", "is-new")
	return cmd
}

func runBoxCorrect(cmd *cobra.Command, a *app, o *correctOptions, args []string) error {
	o.binned = cmd.Flags().Changed("bin")
	u := o.units.unit()
	change, err := o.change(cmd, a, u)
	if err != nil {
		return err
	}
	return a.withBooking(cmd, func(ctx context.Context, shop *inventory.Shop) error {
		items, err := o.pick(ctx, a, shop, args)
		if err != nil {
			return err
		}
		if len(items) > 1 {
			return wrong("correct one kind at a time: select it with --bin, --used, --new, --stamp or --diameter", "these shims are of more than one kind")
		}
		from := items[0].Lot
		to := change(from)
		families, err := work.Families(ctx, shop)
		if err != nil {
			return err
		}
		to.Diameter, _ = snap(diametersOf(families), to.Diameter, u)
		a.compareMic(to, u)
		text, err := ofShop(ctx, shop, u)
		if err != nil {
			return err
		}
		r, err := shop.Correct(ctx, from, to, items[0].Count, o.note)
		if err != nil {
			return err
		}
		what := fmt.Sprintf("Corrected %d × %s, %s, to %s, %s", items[0].Count, text.counted(from), kindText(from, text), text.counted(to), kindText(to, text))
		return a.printBooked(what, r, text, thenUndo("nothing to do", r))
	})
}

// change returns a function that sets what the flags say.
func (o *correctOptions) change(cmd *cobra.Command, a *app, u shim.Unit) (func(inventory.Lot) inventory.Lot, error) {
	var changes []func(*inventory.Lot)
	read, err := o.reader(a, u, false, a.marksLater(cmd))
	if err != nil {
		return nil, err
	}
	stamp := func(text string, u shim.Unit) (shim.Length, error) {
		if d, is, err := read.mark(text); is || err != nil {
			return d.Size, err
		}
		return parseSizeOrNone(text, u)
	}
	for _, length := range []struct {
		flag, text string
		parse      func(string, shim.Unit) (shim.Length, error)
		set        func(*inventory.Lot, shim.Length)
	}{
		{"is-mic", o.micIs, parseSizeOrNone, func(l *inventory.Lot, size shim.Length) { l.Mic = size }},
		{"is-stamp", o.stampIs, stamp, func(l *inventory.Lot, size shim.Length) { l.Stamp = size }},
		{"is-diameter", o.diameterIs, parseDiameter, func(l *inventory.Lot, diameter shim.Length) { l.Diameter = diameter }},
	} {
		if !cmd.Flags().Changed(length.flag) {
			continue
		}
		value, err := length.parse(length.text, u)
		if err != nil {
			return nil, err
		}
		changes = append(changes, func(l *inventory.Lot) { length.set(l, value) })
	}
	if cmd.Flags().Changed("is-family") {
		changes = append(changes, func(l *inventory.Lot) { l.Kind = files.FamilyName(o.familyIs) })
	}
	if cmd.Flags().Changed("is-bin") {
		changes = append(changes, func(l *inventory.Lot) { l.Bin = o.binIs })
	}
	if o.usedIs || o.freshIs {
		changes = append(changes, func(l *inventory.Lot) { l.Used = o.usedIs })
	}
	if len(changes) == 0 {
		return nil, wrong("--is-bin, --is-mic, --is-stamp, --is-diameter, --is-family, --is-used or --is-new", "no new value given")
	}
	return func(l inventory.Lot) inventory.Lot {
		for _, change := range changes {
			change(&l)
		}
		return l
	}, nil
}

// parseSizeOrNone reads a size, or 0 for an unknown one.
func parseSizeOrNone(text string, u shim.Unit) (shim.Length, error) {
	if l, err := u.Parse(text); err == nil && l == 0 {
		return 0, nil
	}
	return parseSize(text, u)
}
