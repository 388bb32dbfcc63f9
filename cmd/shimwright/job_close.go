package main

import (
	"context"
	"errors"
	"fmt"
	"slices"
	"strings"

	"github.com/spf13/cobra"

	"shimwright/inventory"
	"shimwright/shim"
)

func newJobClose(a *app) *cobra.Command {
	var anyway bool
	cmd := &cobra.Command{
		Use:   "close JOB",
		Short: "End a job whose valves are proven to be inside their limits",
		Long: `close ends a job. Every valve's last reading has to be inside its limits, and
made after its shim was changed. --anyway closes the job all the same, but not
with an engine in pieces.`,
		Example:           "  shimwright job close 12",
		Args:              exactly(1, "the number of a job, or its tag"),
		ValidArgsFunction: a.completeJobs(inventory.StateRechecked, inventory.StateFitted, inventory.StatePlanned, inventory.StateMeasured, inventory.StateOpen),
		RunE: func(cmd *cobra.Command, args []string) error {
			return a.withBooking(cmd, func(ctx context.Context, shop *inventory.Shop) error {
				return runJobClose(ctx, a, shop, args[0], anyway)
			})
		},
	}
	cmd.Flags().BoolVar(&anyway, "anyway", false, "close the job although some valve is not proven to be inside its limits")
	return cmd
}

func runJobClose(ctx context.Context, a *app, shop *inventory.Shop, number string, anyway bool) error {
	id, err := jobNamed(ctx, shop, number, false)
	if err != nil {
		return err
	}
	f, err := shop.Job(ctx, id)
	if err != nil {
		return err
	}
	ordered := passed(f)
	err = shop.Close(ctx, id, anyway)
	switch {
	case errors.Is(err, inventory.ErrState) && !f.Job.State.Final() && !inPieces(f):
		// The error has told what is not proven.
		way := strings.TrimPrefix(next(f), strings.Join(short(f.Unproven), "; ")+"; ")
		return shim.Fail(nil, way+"; or close it all the same with --anyway", "%w", err)
	case err != nil:
		return err
	}
	if f, err = shop.Job(ctx, id); err != nil {
		return err
	}
	proof := fmt.Sprintf("All %d valves are inside their limits, measured after the last change.", len(f.Seats))
	if len(f.Unproven) > 0 {
		proof = fmt.Sprintf("Not proven: %s.", joined(short(f.Unproven)))
	}
	return a.tell(said(heading(f.Job, "closed."), proof, "Nothing is reserved for it any more.", ordered, fmt.Sprintf("Next: its record is kept: shimwright job show %d", id)))
}

// inPieces tells whether some valve stands empty.
func inPieces(f inventory.File) bool {
	return slices.ContainsFunc(f.Seats, func(s inventory.Seat) bool { return s.Empty })
}
