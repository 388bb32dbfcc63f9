package main

import (
	"context"
	"fmt"
	"strings"

	"github.com/spf13/cobra"

	"shimwright/inventory"
	"shimwright/inventory/work"
	"shimwright/shim"
	"shimwright/shim/report"
)

type jobCancelOptions struct {
	yes, dryRun bool
	note        string
}

func newJobCancel(a *app) *cobra.Command {
	o := &jobCancelOptions{}
	cmd := &cobra.Command{
		Use:   "cancel JOB",
		Short: "Cancel a job: free its reserved shims and reverse its fit",
		Long: `cancel ends a job without finishing it. Its reserved shims are free again. The
shims it fitted go back into the box and the pulled ones back into the engine, so
put them back first. Shims bought for the job stay in the box; shims on order go
to the next job that needs the size.`,
		Example: `  shimwright job cancel 12 --dry-run
  shimwright job cancel 12 --yes --note "sold as it is"`,
		Args:              exactly(1, "a job number or tag"),
		ValidArgsFunction: a.completeJobs(inventory.StateOpen, inventory.StateMeasured, inventory.StatePlanned, inventory.StateFitting, inventory.StateFitted, inventory.StateRechecked),
		RunE: func(cmd *cobra.Command, args []string) error {
			return a.withBooking(cmd, func(ctx context.Context, shop *inventory.Shop) error {
				return runJobCancel(ctx, a, shop, args[0], o)
			})
		},
	}
	flags := cmd.Flags()
	flags.BoolVar(&o.yes, "yes", false, "do not ask")
	flags.BoolVar(&o.dryRun, "dry-run", false, "show what would change, without changing it")
	flags.StringVar(&o.note, "note", "", "why")
	return cmd
}

func runJobCancel(ctx context.Context, a *app, shop *inventory.Shop, number string, o *jobCancelOptions) error {
	f, err := fileNamed(ctx, shop, number, false)
	if err != nil {
		return err
	}
	u := ofEngine(&f.Engine.Spec)
	var held []string
	for _, h := range f.Holds {
		held = append(held, fmt.Sprintf("%d × %s", h.Count, u.disc(h.Disc())))
	}
	free := "Nothing is reserved for it."
	if len(held) > 0 {
		free = "Free again: " + joined(held) + "."
	}
	if !f.Job.State.Final() {
		if o.dryRun {
			return a.tell(said(heading(f.Job, "%s; it would be cancelled.", f.Job.State), free, fmt.Sprintf("%s of its fit would be reversed.", shim.Count(fitted(f.Movements), "movement"))))
		}
		if err := a.agree(heading(f.Job, "%s. %s Cancel it?", f.Job.State, free), o.yes); err != nil {
			return err
		}
	}
	receipt, err := shop.Cancel(ctx, f.Job.ID, o.note)
	if err != nil {
		return err
	}
	ordered := passed(f)
	back := said("Nothing was fitted.")
	if len(receipt.Movements) > 0 {
		back = report.Section{
			Lines: []string{fmt.Sprintf("Fit reversed (booking %d); put the shims back like this:", receipt.Batch)},
			Table: exchanged(work.Reversed(receipt.Movements), u),
		}
	}
	return a.tell(said(heading(f.Job, "cancelled."), free, ordered), back)
}

// passed says what is on order for a job that is ending.
func passed(f inventory.File) string {
	var list []string
	for _, p := range f.Purchases {
		if n := p.Coming(); n > 0 {
			list = append(list, fmt.Sprintf("%d × %s", n, ofEngine(&f.Engine.Spec).disc(p.Disc)))
		}
	}
	if len(list) == 0 {
		return ""
	}
	return "On order for it: " + joined(list) + ". These go to the next job that needs the size, or into the box. To cancel the order: shimwright job order --withdrawn"
}

// fitted counts the fit movements that were not reversed.
func fitted(list []inventory.Movement) int {
	n := 0
	for _, m := range list {
		if m.Kind == inventory.KindFitted || m.Kind == inventory.KindPulled {
			if n++; m.Reverses != 0 {
				n -= 2
			}
		}
	}
	return n
}

// joined joins items with semicolons.
func joined(list []string) string { return strings.Join(list, "; ") }
