package main

import (
	"context"
	"fmt"
	"slices"
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

// machineNamed reads a machine's number or a tag that leads to it. A text that is
// the number of one machine and the tag of another is refused.
func machineNamed(ctx context.Context, shop *inventory.Shop, text string) (int64, error) {
	found, err := machinesNamed(ctx, shop, text)
	if err == nil && len(found) == 0 {
		like, err := shop.Machines(ctx, text)
		if err == nil && len(like) > 0 {
			err = wrong("give the whole tag, or the number", "%q is neither the number nor the tag of a machine; it is part of %s", text, machineNames(like))
		}
		if err != nil {
			return 0, err
		}
	}
	return theMachine(text, found, err)
}

// machineLike is [machineNamed] for a look: it takes a part of a tag, of the frame
// number or of the owner's note too.
func machineLike(ctx context.Context, shop *inventory.Shop, text string) (int64, error) {
	found, err := machinesNamed(ctx, shop, text)
	if err == nil && len(found) == 0 {
		found, err = shop.Machines(ctx, text)
	}
	return theMachine(text, found, err)
}

// machinesNamed lists the machines that a text names in full.
func machinesNamed(ctx context.Context, shop *inventory.Shop, text string) ([]inventory.Machine, error) {
	if inventory.TagKey(text) == "" {
		return nil, wrong("see shimwright machine list", "no machine given")
	}
	digits, only := strings.CutPrefix(strings.TrimSpace(text), "#")
	var found []inventory.Machine
	if n, err := strconv.ParseInt(digits, 10, 64); err == nil && n > 0 {
		m, known, err := shop.Numbered(ctx, n)
		if err != nil {
			return nil, err
		}
		if known {
			found = append(found, m)
		}
		if only {
			return found, nil
		}
	}
	tagged, err := shop.Tagged(ctx, text)
	for _, m := range tagged {
		if !slices.ContainsFunc(found, func(other inventory.Machine) bool { return other.ID == m.ID }) {
			found = append(found, m)
		}
	}
	return found, err
}

func theMachine(text string, found []inventory.Machine, err error) (int64, error) {
	switch {
	case err != nil:
		return 0, err
	case len(found) == 0:
		return 0, wrong("see shimwright machine list", "%q is neither the number nor the tag of a machine", text)
	case len(found) == 1:
		return found[0].ID, nil
	}
	return 0, wrong(fmt.Sprintf("give its number, like #%d", found[0].ID), "%q matches %d machines: %s", text, len(found), machineNames(found))
}

func machineNames(list []inventory.Machine) string {
	var names []string
	for _, m := range list[:min(len(list), 8)] {
		names = append(names, fmt.Sprintf("machine %d (%s)", m.ID, machineText(m)))
	}
	return strings.Join(names, ", ")
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
change of the tag the old one still leads to the machine, until another one of its
model goes by it.`,
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
