package main

import (
	"context"
	"errors"
	"fmt"
	"io"
	"slices"
	"strings"

	"github.com/spf13/cobra"

	"shimwright/inventory"
	"shimwright/inventory/work"
	"shimwright/shim"
	"shimwright/shim/files"
	"shimwright/shim/paper"
	"shimwright/shim/plan"
	"shimwright/shim/report"
)

type jobPlanOptions struct {
	*planOptions
	last, supplier   string
	until            string
	all, anyway, yes bool
	asked            *plan.Request // kept for the next try
	// prices are those that the shop keeps of the supplier
	prices func() ([]shim.Offer, error)
}

func newJobPlan(a *app) *cobra.Command {
	o := &jobPlanOptions{}
	cmd := &cobra.Command{
		Use:   "plan JOB | --all",
		Short: "Plan a job, or all jobs together, and reserve the shims",
		Long: `plan finds the best plan for a job, like solve, from its readings and the shims
in the box that no other job has reserved. It keeps the plan, reserves the shims
from the box and puts the others on the shopping list. It replaces an earlier
plan; shims already fitted stay.

If the box changes while it plans, it says so and plans again. On the last try
other commands wait for it.

--all plans all measured jobs together, with those planned but not started. It
uses free shims and those reserved for these jobs, finds the best plan over all of
them and says what that saves over planning one by one. It keeps all plans or none.
Pulled shims stay with their engine. A job with valves not measured, shims on order
or a valve with no shim fitted is left out and named; the exit status is then 3.

A job opened with --build is a fresh build: everything is open, and the policy is
target unless you say otherwise (with --all, the policy you give or thrift).

--until looks ahead by the machine's wear (see shimwright machine show): of plans
equal in what is bought, disturbed and drawn it takes the one that most likely keeps
every valve inside until that meter reading, or until the maker's "interval". Under
blueprint it may buy more for that, and says so.

Before teardown, with clearances only, --last JOB plans on the shims left by an
earlier job of this machine, or last seen on a visit before it. plan asks if that
job has another tag. Such a plan is provisional: it is printed but not kept, and
nothing is reserved.`,
		Example: `  shimwright job plan 12
  shimwright job plan 12 --policy target --lift all
  shimwright job plan 12 --tradeoff
  shimwright job plan 12 --supplier "Willow Road"
  shimwright job plan 12 --last 7
  shimwright job plan --all`,
		Args: func(cmd *cobra.Command, args []string) error {
			if o.all && len(args) > 0 {
				return wrong("leave one of them out", "--all takes no job")
			}
			if o.all {
				return nil
			}
			return exactly(1, "a job number, a tag or --all")(cmd, args)
		},
		ValidArgsFunction: a.completeJobs(inventory.StateMeasured, inventory.StatePlanned, inventory.StateFitting, inventory.StateRechecked),
		RunE:              func(cmd *cobra.Command, args []string) error { return runJobPlan(cmd, a, o, args) },
	}
	o.planOptions = addPlanFlags(cmd)
	completesFlag(cmd, "lift", completeLift(a.engineOfJob))
	cmd.Flags().BoolVar(&o.all, "all", false, "plan all jobs together that have nothing fitted yet")
	cmd.Flags().BoolVar(&o.anyway, "anyway", false, "plan even if the readings after the fit do not match the fitted shims on record")
	cmd.Flags().StringVar(&o.last, "last", "", "earlier `JOB` of this machine, whose shims stand in for those not seen yet")
	cmd.Flags().BoolVar(&o.yes, "yes", false, "do not ask about a --last job with another tag")
	cmd.Flags().Var((*trimmed)(&o.supplier), "supplier", "supplier `NAME` whose kept price list to buy from; with --catalogue, that of its rows that name none")
	completesFlag(cmd, "supplier", a.fromShop(supplierWords))
	cmd.Flags().StringVar(&o.until, "until", "", "look ahead to this `METER` reading, or to the maker's interval: choose shims that keep all valves inside until then")
	exclusive(cmd, "all", "last")
	exclusive(cmd, "all", "until")
	exclusive(cmd, "last", "until")
	exclusive(cmd, "tradeoff", "until")
	completesFlag(cmd, "last", a.fromShop(func(ctx context.Context, shop *inventory.Shop, _ []string) ([]string, error) {
		return jobWords(ctx, shop, inventory.StateClosed)
	}))
	return cmd
}

func runJobPlan(cmd *cobra.Command, a *app, o *jobPlanOptions, args []string) error {
	if o.all {
		return runJobPlanAll(cmd, a, o, args)
	}
	if cmd.Flags().Changed("until") && strings.TrimSpace(o.until) == "" {
		return wrong("write it like \"60,400 km\", or interval, or leave --until out", "--until is empty")
	}
	return a.withBooking(cmd, func(ctx context.Context, shop *inventory.Shop) error {
		id, err := jobNamed(ctx, shop, args[0], false)
		if err != nil {
			return err
		}
		planner, err := o.planner(ctx, a, shop)
		if err != nil {
			return err
		}
		draft, err := work.Draft(ctx, shop, id)
		if err != nil {
			return readFirst(err, id)
		}
		if draft.Of().Build {
			if err := o.fresh(cmd); err != nil {
				return err
			}
		}
		a.warnEmpty(draft)
		recalled, err := o.recall(ctx, a, shop, draft)
		if err != nil {
			return err
		}
		if !o.anyway {
			if err := o.steady(ctx, a, shop, id); err != nil {
				return err
			}
		}
		planner.Until = o.until
		_, kept, err := planner.Plan(ctx, shop, draft)
		if err != nil {
			return readFirst(err, id)
		}
		if kept != nil {
			err = showKept(a, planner.made, kept, o.output.value)
		} else {
			planner.made.infos = []paper.Info{infoOf(draft.Of())}
			err = a.printJobPlan(planner.made, o.output.value, said("Provisional: the plan is not kept and nothing is reserved; the shims have not been seen.", recalled,
				fmt.Sprintf("Next: take the shims out, enter them and plan again: shimwright job read %d in1a=/2.450 …", id)))
		}
		return ends(planner.made.Settled(), err)
	})
}

// A jobPlanner plans as the flags say and shows its progress.
type jobPlanner struct {
	work.Planner
	made *outcome // the latest plan
}

func (o *jobPlanOptions) planner(ctx context.Context, a *app, shop *inventory.Shop) (*jobPlanner, error) {
	book := marksNow(ctx, shop)
	o.prices = func() ([]shim.Offer, error) { return a.keptOffers(ctx, shop, o.supplier) }
	lift, err := o.check(a)
	if err != nil {
		return nil, err
	}
	p := &jobPlanner{}
	p.Lift = lift
	p.Terms = func(u shim.UnitPair) (*plan.Request, error) { return o.begin(a, u, book) }
	p.Make = func(ctx context.Context, q *plan.Request) (*plan.Plan, error) {
		if err := o.fits(q); err != nil {
			return nil, err
		}
		made, err := o.plan(ctx, a, q, "see --lift and --catalogue in shimwright job plan --help")
		if err != nil {
			return nil, err
		}
		p.made = made
		return made.Plan, nil
	}
	p.Changed = func(last bool) {
		if last {
			fmt.Fprintln(a.err, "The box or the orders changed again during planning: planning once more while other commands wait.")
		} else {
			fmt.Fprintln(a.err, "The box or the orders changed during planning: planning again.")
		}
	}
	return p, nil
}

// readFirst adds the hint for a job without readings.
func readFirst(err error, id int64) error {
	if errors.Is(err, work.ErrNotRead) {
		return shim.Fail(nil, fmt.Sprintf("enter them: shimwright job read %d CHECK.csv", id), "%w", err)
	}
	return err
}

// warnEmpty names the valves without their own shim.
func (a *app) warnEmpty(draft *work.Ready) {
	for _, s := range draft.StandIns {
		size := ofEngine(draft.Engine()).counted(inventory.Lot{Family: draft.Engine().FamilyOf(s.Valve), Marks: s.Marks})
		if draft.InPlace(s) {
			fmt.Fprintf(a.err, "warning: %s has its temporary shim %s fitted; the plan uses that one\n", s.Valve, size)
		} else {
			fmt.Fprintf(a.err, "warning: %s has no shim fitted; the plan uses a free %s from the box\n", s.Valve, size)
		}
	}
}

// recall uses the shims an earlier job left for those not seen, and says where
// they are known from.
func (o *jobPlanOptions) recall(ctx context.Context, a *app, shop *inventory.Shop, draft *work.Ready) (string, error) {
	if o.last == "" {
		return "", nil
	}
	id, err := jobNumber(o.last)
	if err != nil {
		return "", err
	}
	earlier, err := draft.Earlier(ctx, shop, id)
	switch {
	case errors.Is(err, work.ErrAllSeen):
		return "", wrong("leave --last out", "%w", err)
	case errors.Is(err, work.ErrOtherModel):
		return "", wrong("give an earlier job of the same model", "%w", err)
	case err != nil:
		return "", err
	}
	if earlier.OtherMachine {
		if err := a.confirm([]doubtful{{
			fmt.Sprintf("job %d has tag %s, job %d has %s: another machine has other shims", id, quoted(earlier.Job.Tag), draft.Of().ID, quoted(draft.Of().Tag)),
			"give an earlier job of this machine",
		}}, o.yes); err != nil {
			return "", err
		}
	}
	if v := earlier.Since; v != nil {
		if err := a.confirm([]doubtful{{
			fmt.Sprintf("the machine was elsewhere since job %d: %s; other shims may be in it", id, elsewhereText(v)),
			fmt.Sprintf("enter the shims that are in it: shimwright job read %d; what the other shop fitted: shimwright machine show %d", draft.Of().ID, draft.Of().Machine),
		}}, o.yes); err != nil {
			return "", err
		}
	}
	draft.Recall(earlier)
	if from := knownFrom(earlier.Known); from != "" {
		return "Shims not seen yet are taken from " + from + ".", nil
	}
	return "", nil
}

// begin starts a request from the flags and their files.
func (o *jobPlanOptions) begin(a *app, u shim.UnitPair, book func() (*shim.MarkBook, error)) (*plan.Request, error) {
	if o.asked == nil {
		q, err := o.request(u.Clearance)
		if err != nil {
			return nil, err
		}
		if q.Gauge, err = o.readGauge(a); err != nil {
			return nil, err
		}
		marks := files.Marks{}
		if o.catalogue != "" {
			if marks.Book, err = book(); err != nil {
				return nil, err
			}
		}
		if q.Offers, err = o.offers(a, u.Size, marks); err != nil {
			return nil, err
		}
		if o.supplier != "" && o.catalogue == "" {
			if q.Offers, err = o.prices(); err != nil {
				return nil, err
			}
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

// fits refuses a supplier's kept price list without a single shim for the engines.
func (o *jobPlanOptions) fits(q *plan.Request) error {
	if o.supplier == "" || o.catalogue != "" {
		return nil
	}
	var families []shim.Family
	for _, job := range q.Jobs {
		families = append(families, job.Engine.Families()...)
	}
	for _, offer := range o.asked.Offers {
		if slices.ContainsFunc(families, func(f shim.Family) bool {
			return f == offer.Family || offer.Diameter == 0 && f.Kind == offer.Kind
		}) {
			return nil
		}
	}
	return wrong("see shimwright supplier prices", "the price list of %s has no shims of %s", o.asked.Offers[0].Supplier, familyText(families[0], shim.MM))
}

// showKept prints the new plan and says which plan is now current: an earlier
// one, if there is no shim to change and something was fitted.
func showKept(a *app, p *outcome, kept *work.Kept, form string) error {
	f := kept.File
	news := fmt.Sprintf("Plan %d of job %d is kept; it reserves %s in the box.", kept.Number, kept.Job, shim.Count(work.Held(f), "shim"))
	info := cardInfo(f)
	switch {
	case kept.FitStands():
		news, info.Fetch = fmt.Sprintf("No shim to change: the fit of job %d stays as it is, and this plan is not kept.", kept.Job), nil
	case kept.HalfFitStands():
		news, info.Fetch = fmt.Sprintf("No shim to change: plan %d of job %d, partly fitted, still applies, and this plan is not kept.", kept.Number, kept.Job), nil
	}
	p.infos = []paper.Info{info}
	p.picked(f)
	fetch := fetchLine(f)
	u := ofEngine(&f.Engine.Spec)
	ordered := ""
	for _, l := range f.Purchases {
		if n := l.Coming(); n > 0 {
			ordered += fmt.Sprintf(" %d × %s.", n, u.disc(l.Disc))
		}
	}
	if ordered != "" {
		ordered = "Already on order for it:" + ordered
	}
	return a.printJobPlan(p, form, said(news, outOfDate(f), fetch, ordered, nextOf(f, &p.Jobs[0])))
}

// nextOf is [afterPlan] as a line for people.
func nextOf(f inventory.File, made *plan.JobPlan) string {
	if text := afterPlan(f, made); text != "" {
		return "Next: " + text
	}
	return ""
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

// fetches says which shim is for which valve and where it is.
func fetches(f inventory.File) []string {
	var list []string
	for _, p := range f.Picks {
		if p.OnHand {
			text := fmt.Sprintf("%s for %s", ofEngine(&f.Engine.Spec).lot(p.Lot), p.Valve)
			if p.ForNow {
				text += " for now"
			}
			list = append(list, fmt.Sprintf("%s (%s)", text, pieceText(p.Lot)))
		}
	}
	return list
}

// printJobPlan prints the plan as solve does, with the changes in the shop:
// below a table, otherwise on standard error.
func (a *app) printJobPlan(p *outcome, form string, changed report.Section) error {
	if form == "table" || form == "markdown" {
		return a.write(func(w io.Writer) error {
			d := p.document()
			changed.Level, changed.Heading = 2, "In the shop"
			d.Sections = append(d.Sections, changed)
			if form == "markdown" {
				return d.Markdown(w)
			}
			return d.Narrow(a.width).Text(w, a.color)
		})
	}
	if err := p.print(a, form); err != nil {
		return err
	}
	return (&report.Document{Sections: []report.Section{changed}}).Narrow(a.places).Text(a.err, false)
}

// runJobPlanAll plans all jobs together that have nothing fitted yet.
func runJobPlanAll(cmd *cobra.Command, a *app, o *jobPlanOptions, _ []string) error {
	return a.withBooking(cmd, func(ctx context.Context, shop *inventory.Shop) error {
		planner, err := o.planner(ctx, a, shop)
		if err != nil {
			return err
		}
		_, kept, skipped, err := planner.PlanAll(ctx, shop)
		if err != nil {
			return noneTogether(err)
		}
		lines := keptLines(kept, planner.made)
		for _, s := range skipped {
			lines = append(lines, heading(s.Job, "left out: %s. Plan it alone: shimwright job plan %d", s.Why, s.Job.ID))
		}
		err = a.printJobPlan(planner.made, o.output.value, said(lines...))
		return ends(planner.made.Settled() && len(skipped) == 0, err)
	})
}

// noneTogether adds the hint if no job can be planned with others.
func noneTogether(err error) error {
	var none *work.NoneError
	switch {
	case errors.Is(err, work.ErrNoneReady):
		return shim.Fail(nil, "shimwright job list shows the state of each", "%w", err)
	case errors.As(err, &none):
		var why []string
		for _, s := range none.Skipped {
			why = append(why, fmt.Sprintf("job %d: %s", s.Job.ID, s.Why))
		}
		return shim.Fail(nil, "shimwright job show JOB gives the next step of each", "%w: %s", err, strings.Join(short(why), "; "))
	}
	return err
}

// keptLines reports the result for each job.
func keptLines(list []work.Kept, p *outcome) []string {
	var lines []string
	missing, coming := 0, 0
	p.infos = make([]paper.Info, 0, len(list))
	files := make([]inventory.File, 0, len(list))
	for i := range list {
		kept, f := &list[i], list[i].File
		files = append(files, f)
		for _, l := range f.Purchases {
			missing += l.Missing()
			coming += l.Coming()
		}
		info := cardInfo(f)
		if kept.FitStands() {
			info.Fetch = nil
			lines = append(lines, heading(f.Job, "no shim to change: its fit stays as it is, and this plan is not kept."), nextOf(f, &p.Jobs[i]))
		} else {
			lines = append(lines, heading(f.Job, "plan %d is kept; it reserves %s in the box.", kept.Number, shim.Count(work.Held(f), "shim")), outOfDate(f), fetchLine(f), nextOf(f, &p.Jobs[i]))
		}
		p.infos = append(p.infos, info)
	}
	p.picked(files...)
	if missing > 0 {
		lines = append(lines, fmt.Sprintf("To buy for all jobs: %s: shimwright job order", shim.Count(missing, "shim")))
	}
	if coming > 0 {
		lines = append(lines, fmt.Sprintf("Already on order for them: %s.", shim.Count(coming, "shim")))
	}
	return lines
}
