package main

import (
	"bytes"
	"context"
	"fmt"
	"io"

	"github.com/spf13/cobra"

	"shimwright/inventory"
	"shimwright/inventory/planner"
	"shimwright/inventory/sqlite"
	"shimwright/shim"
	"shimwright/shim/plan"
	"shimwright/shim/report"
)

type jobPlanOptions struct {
	*planOptions
	last string
}

func newJobPlan(b *bench) *cobra.Command {
	o := &jobPlanOptions{}
	cmd := &cobra.Command{
		Use:   "plan JOB",
		Short: "Plan a job on the shop's box, and reserve what it draws",
		Long: `plan finds the best plan for a job, as solve does: from its readings, and from
the pieces of the box that no other job has reserved. It keeps the plan,
reserves what the plan draws and puts what it buys on the shopping list. A plan
that stood before gives way; what was fitted of it stays.

Where the box changes while it plans, nothing is kept and the exit status is 4:
plan again.

Before teardown, with clearances alone, --last JOB plans on the shims that an
earlier job of this engine left in it. Such a plan is provisional: it is printed
and not kept, and nothing is reserved.`,
		Example: `  shimwright job plan 12
  shimwright job plan 12 --policy target --lift all
  shimwright job plan 12 --last 7`,
		Args:              exactly(1, "the number of a job"),
		ValidArgsFunction: completeJobs(inventory.Measured, inventory.Planned, inventory.Fitting, inventory.Rechecked),
		RunE: func(cmd *cobra.Command, args []string) error {
			return withShop(cmd, func(ctx context.Context, shop *inventory.Shop, _ *sqlite.Store) error {
				return runJobPlan(ctx, b, shop, o, args[0])
			})
		},
	}
	o.planOptions = addPlanFlags(cmd)
	completesFlag(cmd, "lift", completeLift(engineOfJob))
	cmd.Flags().StringVar(&o.last, "last", "", "earlier `JOB` of this engine, whose shims stand in for those not seen yet")
	completesFlag(cmd, "last", fromShop(func(ctx context.Context, shop *inventory.Shop, _ []string) ([]string, error) {
		return jobWords(ctx, shop, inventory.Closed)
	}))
	return cmd
}

func runJobPlan(ctx context.Context, b *bench, shop *inventory.Shop, o *jobPlanOptions, number string) error {
	id, err := jobNumber(number)
	if err != nil {
		return err
	}
	lift, err := o.check()
	if err != nil {
		return err
	}
	basis, err := shop.Basis(ctx, id)
	if err != nil {
		return err
	}
	if basis.Job.State == inventory.Open {
		return inventory.Fail(inventory.ErrState, fmt.Sprintf("enter them: shimwright job read %d CHECK.csv", id), "job %d has no readings yet", id)
	}
	ready, err := planner.Prepare(basis)
	if err != nil {
		return err
	}
	for _, s := range ready.StandIns {
		fmt.Fprintf(b.err, "warning: %s stands empty; the plan takes a free %s of the box for its shim\n", s.Valve, sizeText(s.Size(), basis.Engine.Spec.Units))
	}
	if err := o.recall(ctx, shop, ready, basis); err != nil {
		return err
	}
	p, err := o.make(b, ready, basis, lift)
	if err != nil {
		return err
	}
	if ready.Unseen {
		err = b.printJobPlan(p, o.output.value, said("Provisional: the plan is not kept and nothing is reserved, since nobody has seen the shims.",
			fmt.Sprintf("Next: take the shims out, enter them, plan again: shimwright job read %d in1a=/2.450 …", id)))
	} else {
		err = keepPlan(ctx, b, shop, ready, p, id, o.output.value)
	}
	if err == nil && !p.Served() {
		return errOutside
	}
	return err
}

// recall lets the shims that an earlier job left stand in for those not seen.
func (o *jobPlanOptions) recall(ctx context.Context, shop *inventory.Shop, ready *planner.Ready, basis inventory.Basis) error {
	if o.last == "" {
		return nil
	}
	id, err := jobNumber(o.last)
	if err != nil {
		return err
	}
	if !ready.Unseen {
		return hint(usage(fmt.Errorf("job %d has all its shims: it needs none of job %d", basis.Job.ID, id)), "leave --last out")
	}
	old, err := shop.Job(ctx, id)
	if err != nil {
		return err
	}
	if len(old.Seats) != len(ready.Check) {
		return hint(usage(fmt.Errorf("job %d is of another engine: %s", id, old.Job.Name)), "give an earlier job of this engine")
	}
	recall(ready.Check, lastOf(old, &basis.Engine.Spec))
	return nil
}

// make plans the job.
func (o *jobPlanOptions) make(b *bench, ready *planner.Ready, basis inventory.Basis, lift shim.Lift) (*plan.Plan, error) {
	u := basis.Engine.Spec.Units
	q, err := o.request(u)
	if err != nil {
		return nil, err
	}
	q.Gauge, err = o.readGauge(b)
	if err != nil {
		return nil, err
	}
	catalogue, err := o.offers(b, u)
	if err != nil {
		return nil, err
	}
	job := ready.Job(lift)
	job.Name = fmt.Sprint(basis.Job.ID)
	q.Jobs, q.Box, q.Offers = []plan.Job{job}, ready.Box, ready.Offers(catalogue)
	return makePlan(q, "see --lift and --catalogue in shimwright job plan --help")
}

// keepPlan lets the plan stand and prints it.
func keepPlan(ctx context.Context, b *bench, shop *inventory.Shop, ready *planner.Ready, p *plan.Plan, id int64, form string) error {
	var document bytes.Buffer
	if err := report.JSON(&document, p); err != nil {
		return err
	}
	kept, err := shop.Plan(ctx, id, ready.Proposal(p, document.Bytes()))
	if err != nil {
		return err
	}
	f, err := shop.Job(ctx, id)
	if err != nil {
		return err
	}
	fetch, err := fetchLine(ctx, shop, f)
	if err != nil {
		return err
	}
	u := f.Engine.Spec.Units
	held, ordered := 0, ""
	for _, h := range f.Holds {
		held += h.Count
	}
	for _, l := range f.Purchases {
		if n := l.Coming(); n > 0 {
			ordered += fmt.Sprintf(" %d × %s.", n, sizeText(l.Size, u))
		}
	}
	if ordered != "" {
		ordered = "On order for it already:" + ordered
	}
	return b.printJobPlan(p, form, said(fmt.Sprintf("Plan %d of job %d is kept; it reserves %s of the box.", kept.Number, id, count(held, "piece")), fetch, ordered, nextLine(f)))
}

// fetchLine says which shims to fetch from which bins.
func fetchLine(ctx context.Context, shop *inventory.Shop, f inventory.File) (string, error) {
	picks, err := shop.Picks(ctx, f.Job.ID)
	if err != nil {
		return "", err
	}
	line := ""
	for _, p := range picks {
		if !p.OnHand {
			continue
		}
		line += fmt.Sprintf(" %s for %s", lotText(p.Lot, f.Engine.Spec.Units), p.Valve)
		if p.Bin != "" {
			line += " (bin " + p.Bin + ")"
		}
		line += ";"
	}
	if line == "" {
		return "", nil
	}
	return "Fetch:" + line[:len(line)-1] + ".", nil
}

// printJobPlan prints the plan as solve does, with what it changed in the shop:
// below a table, else on standard error.
func (b *bench) printJobPlan(p *plan.Plan, form string, changed report.Section) error {
	var err error
	switch form {
	case "table", "markdown":
		err = b.write(func(w io.Writer) error {
			d := report.Plan(p)
			changed.Level, changed.Heading = 2, "In the shop"
			d.Sections = append(d.Sections, changed)
			if form == "markdown" {
				return d.Markdown(w)
			}
			return d.Text(w, b.color)
		})
	default:
		if err = printPlan(b, p, form, nil); err == nil {
			err = (&report.Document{Sections: []report.Section{changed}}).Text(b.err, false)
		}
	}
	return err
}
