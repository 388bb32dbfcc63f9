package main

import (
	"context"
	"fmt"
	"io"
	"slices"
	"strconv"

	"github.com/spf13/cobra"

	"shimwright/inventory"
	"shimwright/shim"
	"shimwright/shim/report"
)

type undoOptions struct {
	note   string
	yes    bool
	dryRun bool
	units  *choice
}

func newBoxUndo(a *app) *cobra.Command {
	o := &undoOptions{}
	cmd := &cobra.Command{
		Use:   "undo [BOOKING]",
		Short: "Undo a booking, by default the last one",
		Long: `undo reverses everything that one command booked. It shows the movements first
and asks. Nothing is deleted: both bookings stay in the history. An undo can be
undone.

Commands print the number of their booking, and box history lists them.`,
		Example: `  shimwright box undo
  shimwright box undo 17 --yes --note "wrong drawer"`,
		Args:              atMost(1, "one booking"),
		ValidArgsFunction: a.completeBatches(),
		RunE:              func(cmd *cobra.Command, args []string) error { return runBoxUndo(cmd, a, o, args) },
	}
	flags := cmd.Flags()
	flags.StringVar(&o.note, "note", "", "reason, for the record")
	flags.BoolVar(&o.yes, "yes", false, "do not ask")
	flags.BoolVar(&o.dryRun, "dry-run", false, "only show what would be undone")
	o.units = addUnits(cmd)
	return cmd
}

func runBoxUndo(cmd *cobra.Command, a *app, o *undoOptions, args []string) error {
	var batch int64
	if len(args) > 0 {
		n, err := strconv.ParseInt(args[0], 10, 64)
		if err != nil || n < 1 {
			return wrong("give the number that the command printed, or see shimwright box history", "%q is not the number of a booking", args[0])
		}
		batch = n
	}
	u := o.units.unit()
	return a.withBooking(cmd, func(ctx context.Context, shop *inventory.Shop) error {
		text, err := ofShop(ctx, shop, u)
		if err != nil {
			return err
		}
		batch, rows, err := batchOf(ctx, shop, batch)
		if err != nil {
			return err
		}
		if err := a.write(func(w io.Writer) error { return batchDocument(batch, rows, text).Narrow(a.width).Text(w, a.color) }); err != nil {
			return err
		}
		if o.dryRun {
			return nil
		}
		whose := ""
		if by := rows[0].Who; by != a.who(cmd) {
			whose = ", booked by " + by
		}
		if err := a.agree(fmt.Sprintf("Undo booking %d%s?", batch, whose), o.yes); err != nil {
			return err
		}
		r, err := shop.Undo(ctx, batch, o.note)
		if err != nil {
			return err
		}
		next := thenUndo("book it again correctly", r)
		if at := slices.IndexFunc(rows, func(m inventory.Movement) bool { return m.Job != 0 && m.Kind != inventory.KindReceived }); at >= 0 {
			if next, err = bookAgain(ctx, shop, rows[at].Job); err != nil {
				return err
			}
		}
		return a.printBooked(fmt.Sprintf("Undid booking %d%s, %s", batch, whose, moved(r.Movements, text)), r, text, next)
	})
}

// bookAgain says how to book again what was undone of a job's fit: a fit or, of
// one that is all fitted, a correction. It is the way to undo the undo too.
func bookAgain(ctx context.Context, shop *inventory.Shop, job int64) (string, error) {
	f, err := shop.Job(ctx, job)
	if err != nil {
		return "", err
	}
	if f.Job.State == inventory.StateFitted || f.Job.State == inventory.StateRechecked {
		return fmt.Sprintf("see what sits where with shimwright job show %d; correct it again with shimwright job correct %d.", job, job), nil
	}
	if f.Job.State == inventory.StatePlanned || f.Job.State == inventory.StateFitting {
		return fmt.Sprintf("book the fit again: shimwright job fit %d.", job), nil
	}
	return next(f) + ".", nil // nothing of a plan is left to fit
}

// batchOf reads a batch; 0 means the last one.
func batchOf(ctx context.Context, shop *inventory.Shop, batch int64) (int64, []inventory.Movement, error) {
	if batch == 0 {
		last, err := shop.History(ctx, inventory.MovementFilter{Newest: true, Limit: 1})
		if err != nil {
			return 0, nil, err
		}
		if len(last) == 0 {
			return 0, nil, shim.Fail(inventory.ErrUnknown, "", "nothing has been booked")
		}
		batch = last[0].Batch
	}
	var rows []inventory.Movement
	f := inventory.MovementFilter{After: batch - 1, Limit: historyChunk}
	for {
		part, err := shop.History(ctx, f)
		if err != nil {
			return 0, nil, err
		}
		for _, m := range part {
			if m.Batch != batch {
				part = nil
				break
			}
			rows = append(rows, m)
			f.After = m.Seq
		}
		if len(part) == 0 {
			break
		}
	}
	if len(rows) == 0 {
		return 0, nil, shim.Fail(inventory.ErrUnknown, "see shimwright box history", "there is no booking %d", batch)
	}
	return batch, rows, nil
}

// batchDocument shows a batch.
func batchDocument(batch int64, rows []inventory.Movement, u shimText) *report.Document {
	t := movementTable()
	for _, m := range rows[:min(len(rows), pageRows)] {
		t.Rows = append(t.Rows, movementRow(m, u))
	}
	section := report.Section{Lines: []string{fmt.Sprintf("Booking %d has %s:", batch, shim.Count(len(rows), "movement"))}, Table: t}
	if len(rows) > pageRows {
		section.Notes = []string{fmt.Sprintf("and %d more: shimwright box history", len(rows)-pageRows)}
	}
	return &report.Document{Sections: []report.Section{section}}
}
