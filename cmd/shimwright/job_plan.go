package main

import (
	"bytes"
	"context"
	"errors"
	"fmt"
	"io"
	"slices"

	"github.com/spf13/cobra"

	"shimwright/inventory"
	"shimwright/inventory/work"
	"shimwright/shim"
	"shimwright/shim/paper"
	"shimwright/shim/plan"
	"shimwright/shim/plan/planjson"
	"shimwright/shim/report"
)

type jobPlanOptions struct {
	*planOptions
	last, supplier   string
	all, anyway, yes bool
	asked            *plan.Request // once it was read, for the next try
}

func newJobPlan(b *bench) *cobra.Command {
	o := &jobPlanOptions{}
	cmd := &cobra.Command{
		Use:   "plan JOB | --all",
		Short: "Plan a job, or all of them together, and reserve what they draw",
		Long: `plan finds the best plan for a job, as solve does: from its readings, and from
the pieces of the box that no other job has reserved. It keeps the plan,
reserves what the plan draws and puts what it buys on the shopping list. A plan
that stood before gives way; what was fitted of it stays.

Where the box changes while it plans, it plans again and says so, and the last
time the other commands wait for it.

--all plans together all jobs that are measured, or planned with nothing of
their plan fitted yet, on what is free and what they hold themselves: the best
over all of them, and it says what that saves against one after another. All
plans are kept or none. Pulled shims stay with their engine. A job that is not
read in full, that has pieces on order or an empty valve is named and left out,
and the exit status is 3 then.

Before teardown, with clearances alone, --last JOB plans on the shims that an
earlier job of this engine left in it; of a valve whose shim that job never saw,
the shim that a visit before it knew. A job with another tag is asked about.
Such a plan is provisional: it is printed
and not kept, and nothing is reserved.`,
		Example: `  shimwright job plan 12
  shimwright job plan 12 --policy target --lift all
  shimwright job plan 12 --tradeoff
  shimwright job plan 12 --last 7
  shimwright job plan --all`,
		Args: func(cmd *cobra.Command, args []string) error {
			if o.all && len(args) > 0 {
				return hint(usage(errors.New("--all takes no job")), "leave one of them out")
			}
			if o.all {
				return nil
			}
			return exactly(1, "the number of a job, or --all")(cmd, args)
		},
		ValidArgsFunction: b.completeJobs(inventory.Measured, inventory.Planned, inventory.Fitting, inventory.Rechecked),
		RunE: func(cmd *cobra.Command, args []string) error {
			return b.withBooking(cmd, func(ctx context.Context, shop *inventory.Shop) error {
				if o.all {
					return runJobPlanAll(ctx, b, shop, o)
				}
				return runJobPlan(ctx, b, shop, o, args[0])
			})
		},
	}
	o.planOptions = addPlanFlags(cmd)
	completesFlag(cmd, "lift", completeLift(b.engineOfJob))
	cmd.Flags().BoolVar(&o.all, "all", false, "plan together all jobs with nothing of a plan fitted yet")
	cmd.Flags().BoolVar(&o.anyway, "anyway", false, "plan although what was read after the fit does not belong to the shims that are booked")
	cmd.Flags().StringVar(&o.last, "last", "", "earlier `JOB` of this engine, whose shims stand in for those not seen yet")
	cmd.Flags().BoolVar(&o.yes, "yes", false, "do not ask about a --last job with another tag")
	cmd.Flags().Var((*trimmed)(&o.supplier), "supplier", "`NAME` of the supplier of the --catalogue, where its rows name none")
	apart(cmd, "all", "last")
	completesFlag(cmd, "last", b.fromShop(func(ctx context.Context, shop *inventory.Shop, _ []string) ([]string, error) {
		return jobWords(ctx, shop, inventory.Closed)
	}))
	return cmd
}

func runJobPlan(ctx context.Context, b *bench, shop *inventory.Shop, o *jobPlanOptions, number string) error {
	id, err := jobNamed(ctx, shop, number, false)
	if err != nil {
		return err
	}
	lift, err := o.check(b)
	if err != nil {
		return err
	}
	basis, err := shop.Basis(ctx, id)
	if err != nil {
		return err
	}
	ready, recalled, err := o.prepare(ctx, b, shop, basis)
	if err != nil {
		return err
	}
	p, err := o.make(ctx, b, ready, basis, lift)
	if err != nil {
		return err
	}
	if ready.Unseen {
		p.infos = []paper.Info{infoOf(basis.Job)}
		err = b.printJobPlan(p, o.output.value, said("Provisional: the plan is not kept and nothing is reserved, since nobody has seen the shims.", recalled,
			fmt.Sprintf("Next: take the shims out, enter them, plan again: shimwright job read %d in1a=/2.450 …", id)))
	} else {
		var proposal inventory.Proposal // the one that was made last
		again := func(bases []inventory.Basis) ([]inventory.Proposal, error) {
			if err := measured(bases[0]); err != nil {
				return nil, err
			}
			if ready, err = work.Prepare(bases[0]); err != nil {
				return nil, err
			}
			if p, err = o.make(ctx, b, ready, bases[0], lift); err != nil {
				return nil, err
			}
			proposal, err = proposed(ready, p.Plan)
			return []inventory.Proposal{proposal}, err
		}
		if proposal, err = proposed(ready, p.Plan); err != nil {
			return err
		}
		var plans []inventory.Plan
		if plans, err = b.keep(ctx, shop, []int64{id}, []inventory.Proposal{proposal}, again); err != nil {
			return err
		}
		err = showKept(ctx, b, shop, p, plans[0], len(proposal.Placements) == 0, o.output.value)
	}
	if err == nil && !p.Settled() {
		return errOutside
	}
	return err
}

// prepare makes the job ready to be planned and says what it takes for
// granted, on which day its shims were known too.
func (o *jobPlanOptions) prepare(ctx context.Context, b *bench, shop *inventory.Shop, basis inventory.Basis) (*work.Ready, string, error) {
	if err := measured(basis); err != nil {
		return nil, "", err
	}
	ready, err := work.Prepare(basis)
	if err != nil {
		return nil, "", err
	}
	for _, s := range ready.StandIns {
		if slices.ContainsFunc(basis.Seats, func(in inventory.Seat) bool {
			return in.Valve == s.Valve && in.Temporary != 0 && in.Temporary == s.Size()
		}) {
			fmt.Fprintf(b.err, "warning: %s holds its temporary shim %s; the plan goes by that one\n", s.Valve, sizeText(s.Size(), basis.Engine.Spec.Units))
			continue
		}
		fmt.Fprintf(b.err, "warning: %s stands empty; the plan takes a free %s of the box for its shim\n", s.Valve, sizeText(s.Size(), basis.Engine.Spec.Units))
	}
	recalled, err := o.recall(ctx, b, shop, ready, basis)
	if err != nil {
		return nil, "", err
	}
	if !o.anyway {
		if err := o.steady(ctx, b, shop, basis.Job.ID); err != nil {
			return nil, "", err
		}
	}
	return ready, recalled, nil
}

// measured refuses a job without readings.
func measured(basis inventory.Basis) error {
	if id := basis.Job.ID; basis.Job.State == inventory.Open {
		return inventory.Fail(inventory.ErrState, fmt.Sprintf("enter them: shimwright job read %d CHECK.csv", id), "job %d has no readings yet", id)
	}
	return nil
}

// planTries is how often a command plans while others book: a box that changes
// under it as often is one that many plan on, and then it takes its turn.
const planTries = 3

// keep lets the proposals stand. Where the box changed while they were made, it
// plans again, and the last time nobody else can book meanwhile.
func (b *bench) keep(ctx context.Context, shop *inventory.Shop, jobs []int64, list []inventory.Proposal, again func([]inventory.Basis) ([]inventory.Proposal, error)) ([]inventory.Plan, error) {
	for try := 1; ; try++ {
		plans, err := shop.PlanTogether(ctx, list)
		if !errors.Is(err, inventory.ErrStale) {
			return plans, err
		}
		if try == planTries {
			fmt.Fprintln(b.err, "The box or the orders changed again while the plan was made: planned once more while the others wait.")
			return shop.PlanAtOnce(ctx, jobs, again)
		}
		fmt.Fprintln(b.err, "The box or the orders changed while the plan was made: planned again.")
		bases, err := shop.Bases(ctx, jobs...)
		if err != nil {
			return nil, err
		}
		if list, err = again(bases); err != nil {
			return nil, err
		}
	}
}

// proposed is the plan as the shop keeps it.
func proposed(ready *work.Ready, p *plan.Plan) (inventory.Proposal, error) {
	var document bytes.Buffer
	if err := planjson.Encode(&document, p); err != nil {
		return inventory.Proposal{}, err
	}
	return ready.Proposal(p, document.Bytes()), nil
}

// recall lets the shims that an earlier job left stand in for those not seen,
// and says from when they are known.
func (o *jobPlanOptions) recall(ctx context.Context, b *bench, shop *inventory.Shop, ready *work.Ready, basis inventory.Basis) (string, error) {
	if o.last == "" {
		return "", nil
	}
	id, err := jobNumber(o.last)
	if err != nil {
		return "", err
	}
	if !ready.Unseen {
		return "", hint(usage(fmt.Errorf("job %d has all its shims: it needs none of job %d", basis.Job.ID, id)), "leave --last out")
	}
	old, err := shop.Job(ctx, id)
	if err != nil {
		return "", err
	}
	if len(old.Seats) != len(ready.Check) {
		return "", hint(usage(fmt.Errorf("job %d is of another engine: %s", id, old.Job.Name)), "give an earlier job of this engine")
	}
	if inventory.TagKey(old.Job.Tag) != inventory.TagKey(basis.Job.Tag) {
		if err := b.confirm([]doubtful{{
			fmt.Sprintf("job %d has the tag %s, job %d has %s: another machine has other shims", id, quoted(old.Job.Tag), basis.Job.ID, quoted(basis.Job.Tag)),
			"give an earlier job of this machine",
		}}, o.yes); err != nil {
			return "", err
		}
	}
	known, err := shop.Known(ctx, id, true)
	if err != nil {
		return "", err
	}
	last := lastOf(old, &basis.Engine.Spec)
	fillKnown(last, known)
	recall(ready.Check, last)
	if from := knownFrom(known); from != "" {
		return "Shims not seen yet are taken as known from " + from + ".", nil
	}
	return "", nil
}

// make plans the job.
func (o *jobPlanOptions) make(ctx context.Context, b *bench, ready *work.Ready, basis inventory.Basis, lift shim.Lift) (*outcome, error) {
	u := basis.Engine.Spec.Units
	q, err := o.begin(b, u)
	if err != nil {
		return nil, err
	}
	job := ready.Job(lift)
	job.Name = fmt.Sprint(basis.Job.ID)
	q.Jobs, q.Box = []plan.Job{job}, ready.Box
	q.Offers, q.OnOrder = ready.Offers(q.Offers)
	return o.plan(ctx, b, q, jobPlanWay)
}

// jobPlanWay is where to look when a job cannot be planned as asked.
const jobPlanWay = "see --lift and --catalogue in shimwright job plan --help"

// begin is a request with what the flags and their files say.
func (o *jobPlanOptions) begin(b *bench, u shim.Unit) (*plan.Request, error) {
	if o.supplier != "" && o.catalogue == "" {
		return nil, hint(usage(errors.New("--supplier says whose the --catalogue is")), "name the catalogue too: --catalogue FILE")
	}
	if o.asked == nil {
		q, err := o.request(u)
		if err != nil {
			return nil, err
		}
		if q.Gauge, err = o.readGauge(b); err != nil {
			return nil, err
		}
		if q.Offers, err = o.offers(b, u); err != nil {
			return nil, err
		}
		for i := range q.Offers {
			if q.Offers[i].Supplier == "" {
				q.Offers[i].Supplier = o.supplier
			}
		}
		o.asked = q
	}
	q := *o.asked
	return &q, nil
}

// showKept prints the plan that was made, and says which one stands now: another
// one where there is no shim to change and something was fitted.
func showKept(ctx context.Context, b *bench, shop *inventory.Shop, p *outcome, kept inventory.Plan, nothing bool, form string) error {
	f, err := shop.Job(ctx, kept.Job)
	if err != nil {
		return err
	}
	news := fmt.Sprintf("Plan %d of job %d is kept; it reserves %s of the box.", kept.Number, kept.Job, count(held(f), "piece"))
	info := cardInfo(f)
	switch {
	case stillFitted(f, kept):
		news, info.Fetch = fmt.Sprintf("No shim to change: the fit of job %d stands, and this plan is not kept.", kept.Job), nil
	case nothing && len(kept.Placements) > 0:
		news, info.Fetch = fmt.Sprintf("No shim to change: plan %d of job %d, half fitted, stands, and this plan is not kept.", kept.Number, kept.Job), nil
	}
	p.infos = []paper.Info{info}
	fetch := fetchLine(f)
	u := f.Engine.Spec.Units
	ordered := ""
	for _, l := range f.Purchases {
		if n := l.Coming(); n > 0 {
			ordered += fmt.Sprintf(" %d × %s.", n, sizeText(l.Size, u))
		}
	}
	if ordered != "" {
		ordered = "On order for it already:" + ordered
	}
	return b.printJobPlan(p, form, said(news, fetch, ordered, nextLine(f)))
}

// stillFitted tells that the plan found no shim to change after a fit: what
// stands is the plan that was fitted.
func stillFitted(f inventory.File, kept inventory.Plan) bool {
	return f.Fitted != nil && f.Fitted.Number == kept.Number && len(kept.Placements) > 0
}

// held counts the pieces that are reserved for the job.
func held(f inventory.File) int {
	n := 0
	for _, h := range f.Holds {
		n += h.Count
	}
	return n
}

// fetchLine says which shims to fetch from which bins.
func fetchLine(f inventory.File) string {
	line := ""
	for _, text := range fetches(f) {
		line += " " + text + ";"
	}
	if line == "" {
		return ""
	}
	return "Fetch:" + line[:len(line)-1] + "."
}

// fetches says, shim by shim, which piece is for which valve and where it lies.
func fetches(f inventory.File) []string {
	var list []string
	for _, p := range f.Picks {
		if p.OnHand {
			text := fmt.Sprintf("%s for %s", lotText(p.Lot, f.Engine.Spec.Units), p.Valve)
			if p.ForNow {
				text += " for now"
			}
			list = append(list, fmt.Sprintf("%s (%s)", text, pieceText(p.Lot)))
		}
	}
	return list
}

// printJobPlan prints the plan as solve does, with what it changed in the shop:
// below a table, else on standard error.
func (b *bench) printJobPlan(p *outcome, form string, changed report.Section) error {
	if form == "table" || form == "markdown" {
		return b.write(func(w io.Writer) error {
			d := p.document()
			changed.Level, changed.Heading = 2, "In the shop"
			d.Sections = append(d.Sections, changed)
			if form == "markdown" {
				return d.Markdown(w)
			}
			return d.Narrow(b.width).Text(w, b.color)
		})
	}
	if err := p.print(b, form); err != nil {
		return err
	}
	return (&report.Document{Sections: []report.Section{changed}}).Narrow(b.places).Text(b.err, false)
}
