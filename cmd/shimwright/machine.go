package main

import (
	"context"
	"fmt"
	"strconv"
	"strings"

	"github.com/spf13/cobra"

	"shimwright/inventory"
	"shimwright/inventory/work"
	"shimwright/shim"
)

func newMachine(a *app) *cobra.Command {
	return newGroup("machine", "Look up customers' machines, their visits and their wear",
		`machine keeps what the shop knows of each customer's engine: every job with its tag
is a visit. It follows how the valves wear and says when to look again.

See docs/wear.md.`,
		newMachineList(a), newMachineShow(a), newMachineEdit(a), newMachineMerge(a), newMachineDue(a), newMachineExport(a), newMachineImport(a))
}

// machineNamed reads a machine's number, or a tag, frame number or part of one,
// which must match exactly one machine.
func machineNamed(ctx context.Context, shop *inventory.Shop, text string) (int64, error) {
	if n, err := strconv.ParseInt(strings.TrimPrefix(strings.TrimSpace(text), "#"), 10, 64); err == nil && n > 0 {
		known, err := shop.Machines(ctx, "")
		if err != nil {
			return 0, err
		}
		if len(known) > 0 && n <= known[len(known)-1].ID {
			return n, nil
		}
	}
	if inventory.TagKey(text) == "" {
		return 0, wrong("see shimwright machine list", "no machine given")
	}
	found, err := shop.Machines(ctx, text)
	if err != nil {
		return 0, err
	}
	var exact []inventory.Machine
	for _, m := range found {
		if inventory.TagKey(m.Tag) == inventory.TagKey(text) {
			exact = append(exact, m)
		}
	}
	if len(exact) > 0 {
		found = exact
	}
	switch len(found) {
	case 0:
		return 0, wrong("see shimwright machine list", "%q is neither the number nor the tag of a machine", text)
	case 1:
		return found[0].ID, nil
	}
	var names []string
	for _, m := range found[:min(len(found), 8)] {
		names = append(names, fmt.Sprintf("machine %d (%s)", m.ID, machineText(m)))
	}
	return 0, wrong("give its number", "%q matches %d machines: %s", text, len(found), strings.Join(names, ", "))
}

func machineText(m inventory.Machine) string { return m.Tag + ", " + m.Model }

// completeMachines completes machines by number, with their tags.
func (a *app) completeMachines(cmd *cobra.Command, args []string, begun string) ([]string, cobra.ShellCompDirective) {
	return a.fromShop(func(ctx context.Context, shop *inventory.Shop, _ []string) ([]string, error) {
		list, err := shop.Machines(ctx, "")
		var words []string
		for _, m := range list {
			words = append(words, fmt.Sprintf("%d\t%s", m.ID, machineText(m)))
		}
		return words, err
	})(cmd, args, begun)
}

type machineEditOptions struct{ tag, number, owner string }

func newMachineEdit(a *app) *cobra.Command {
	o := &machineEditOptions{}
	cmd := &cobra.Command{
		Use:   "edit MACHINE",
		Short: "Change a machine's tag, frame number or owner's note",
		Long: `edit changes what the shop knows of a machine; the old values are kept. After a
change of the tag the old one still leads to the machine.`,
		Example: `  shimwright machine edit 3 --number "FR 4411"
  shimwright machine edit "AB 123" --tag "CD 456" --owner "rides it on tracks"`,
		Args:              exactly(1, "a machine's number or tag"),
		ValidArgsFunction: a.completeMachines,
		RunE:              func(cmd *cobra.Command, args []string) error { return runMachineEdit(cmd, a, o, args) },
	}
	flags := cmd.Flags()
	flags.StringVar(&o.tag, "tag", "", "what it goes by: a plate")
	flags.StringVar(&o.number, "number", "", "number of the frame or the engine, as stamped")
	flags.StringVar(&o.owner, "owner", "", "a note of the owner's")
	return cmd
}

func runMachineEdit(cmd *cobra.Command, a *app, o *machineEditOptions, args []string) error {
	fields := map[inventory.Field]string{}
	for field, text := range map[inventory.Field]string{inventory.TagField: o.tag, inventory.NumberField: o.number, inventory.OwnerField: o.owner} {
		if cmd.Flags().Changed(string(field)) {
			fields[field] = text
		}
	}
	if len(fields) == 0 {
		return wrong("give --tag, --number or --owner", "nothing to change")
	}
	return a.withBooking(cmd, func(ctx context.Context, shop *inventory.Shop) error {
		id, err := machineNamed(ctx, shop, args[0])
		if err != nil {
			return err
		}
		m, err := shop.EditMachine(ctx, id, fields)
		if err != nil {
			return err
		}
		lines := []string{fmt.Sprintf("Machine %d, %s: changed.", m.ID, machineText(m))}
		for _, e := range m.Edits[max(0, len(m.Edits)-len(fields)):] {
			if _, asked := fields[e.Field]; asked && e.New == fields[e.Field] {
				lines = append(lines, fmt.Sprintf("%s: was %s, now %s.", e.Field, quoted(e.Old), quoted(e.New)))
			}
		}
		return a.tell(said(lines...))
	})
}

type machineMergeOptions struct{ yes bool }

func newMachineMerge(a *app) *cobra.Command {
	o := &machineMergeOptions{}
	cmd := &cobra.Command{
		Use:   "merge MACHINE INTO",
		Short: "Make two machines one",
		Long: `merge makes the visits of the first machine visits of the second: they turned out
to be one, with two plates or a tag written in two ways. Both must be of one model.
The first one's tag leads to the second from then on. It cannot be taken back.`,
		Example:           "  shimwright machine merge 7 3",
		Args:              exactly(2, "two machines, by number or tag"),
		ValidArgsFunction: a.completeMachines,
		RunE:              func(cmd *cobra.Command, args []string) error { return runMachineMerge(cmd, a, o, args) },
	}
	cmd.Flags().BoolVar(&o.yes, "yes", false, "do not ask")
	return cmd
}

func runMachineMerge(cmd *cobra.Command, a *app, o *machineMergeOptions, args []string) error {
	return a.withBooking(cmd, func(ctx context.Context, shop *inventory.Shop) error {
		var both [2]inventory.MachineFile
		for i, text := range args {
			id, err := machineNamed(ctx, shop, text)
			if err != nil {
				return err
			}
			if both[i], err = shop.Machine(ctx, id); err != nil {
				return err
			}
		}
		from, into := both[0].Machine, both[1].Machine
		if from.ID != into.ID && inventory.SameModel(from.Model, into.Model) {
			if err := a.confirm([]doubtful{{
				fmt.Sprintf("machine %d (%s, %s) becomes machine %d (%s, %s), and that stays", from.ID, from.Tag, shim.Count(len(both[0].Visits), "visit"), into.ID, into.Tag, shim.Count(len(both[1].Visits), "visit")),
				"check both with shimwright machine show",
			}}, o.yes); err != nil {
				return err
			}
		}
		m, err := shop.MergeMachine(ctx, from.ID, into.ID)
		if err != nil {
			return err
		}
		if err := work.KeepOutlook(ctx, shop, m.ID); err != nil {
			return err
		}
		now, err := shop.Machine(ctx, m.ID)
		if err != nil {
			return err
		}
		return a.tell(said(
			fmt.Sprintf("Machine %d is machine %d now: %s, with %s.", from.ID, m.ID, machineText(m), shim.Count(len(now.Visits), "visit")),
			fmt.Sprintf("Look at it: shimwright machine show %d", m.ID)))
	})
}
