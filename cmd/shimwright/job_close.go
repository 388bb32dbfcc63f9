package main

import (
	"context"
	"errors"
	"fmt"
	"slices"
	"strings"

	"github.com/spf13/cobra"

	"shimwright/inventory"
	"shimwright/inventory/work"
	"shimwright/shim"
	"shimwright/shim/report"
)

type jobCloseOptions struct {
	anyway bool
}

func newJobClose(a *app) *cobra.Command {
	o := &jobCloseOptions{}
	cmd := &cobra.Command{
		Use:   "close JOB",
		Short: "Close a job once every valve is proven inside its limits",
		Long: `close ends a job. Every valve's last reading must be inside its limits and taken
after its last shim change. --anyway closes the job without this proof, but not
while a valve has no shim fitted, or in a fresh build none of its own.`,
		Example:           "  shimwright job close 12",
		Args:              exactly(1, "a job number or tag"),
		ValidArgsFunction: a.completeJobs(inventory.StateRechecked, inventory.StateFitted, inventory.StatePlanned, inventory.StateMeasured, inventory.StateOpen),
		RunE:              func(cmd *cobra.Command, args []string) error { return runJobClose(cmd, a, o, args) },
	}
	cmd.Flags().BoolVar(&o.anyway, "anyway", false, "close the job even if a valve is not proven inside its limits")
	return cmd
}

func runJobClose(cmd *cobra.Command, a *app, o *jobCloseOptions, args []string) error {
	return a.withBooking(cmd, func(ctx context.Context, shop *inventory.Shop) error {
		f, err := fileNamed(ctx, shop, args[0], false)
		if err != nil {
			return err
		}
		ordered := passed(f)
		err = shop.Close(ctx, f.Job.ID, o.anyway)
		switch {
		case errors.Is(err, inventory.ErrState) && !f.Job.State.Final() && !inPieces(f):
			// The error already says what is not proven.
			way := strings.TrimPrefix(next(f), strings.Join(short(f.Unproven), "; ")+"; ")
			way = strings.ReplaceAll(way, "; ", "\n")
			if !slices.ContainsFunc(f.Seats, func(s inventory.Seat) bool { return s.SetUp }) { // else nothing closes it
				way += fmt.Sprintf("\nor close it all the same: shimwright job close %d --anyway", f.Job.ID)
			}
			return shim.Fail(nil, way, "%w", err)
		case err != nil:
			return err
		}
		if f, err = shop.Job(ctx, f.Job.ID); err != nil {
			return err
		}
		if err := work.KeepOutlook(ctx, shop, f.Job.Machine); err != nil {
			return err
		}
		proof := fmt.Sprintf("All %d valves were measured inside their limits after the last change.", len(f.Seats))
		if len(f.Unproven) > 0 {
			proof = fmt.Sprintf("Not proven: %s.", joined(short(f.Unproven)))
		}
		read := slices.DeleteFunc(slices.Clone(f.Found), func(m shim.Measurement) bool { // what was read since counts instead
			return slices.ContainsFunc(f.Since, func(last shim.Measurement) bool { return last.Valve == m.Valve && last.Reading.Kind != shim.Unread })
		})
		read = append(read, f.Since...)
		lines := append([]string{heading(f.Job, "closed."), proof}, report.Warmth(&f.Engine.Spec, f.Engine.Spec.Units.Clearance, read)...)
		lines = append(lines, gaugesUsed(f)...)
		return a.tell(said(append(lines, "Nothing is reserved for it any longer.", ordered, fmt.Sprintf("Its record is kept: shimwright job show %d", f.Job.ID))...))
	})
}

// inPieces reports whether any valve has no shim fitted.
func inPieces(f inventory.File) bool {
	return slices.ContainsFunc(f.Seats, func(s inventory.Seat) bool { return s.Empty })
}
