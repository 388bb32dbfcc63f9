package work

import (
	"bytes"
	"context"
	"errors"
	"fmt"
	"slices"

	"shimwright/inventory"
	"shimwright/shim"
	"shimwright/shim/plan"
	"shimwright/shim/plan/planjson"
)

// Kinds of error, told apart with [errors.Is].
var (
	// ErrNotRead: the job has no readings yet.
	ErrNotRead = errors.New("no readings")
	// ErrNoneReady: no job is in a state to be planned together with others.
	ErrNoneReady = errors.New("no job to plan")
)

// A Planner says how jobs are planned.
type Planner struct {
	Lift shim.Lift
	// Terms are the request but for jobs, box and what is on order, lengths in the
	// unit of the jobs' model; Offers is the catalogue. They are asked for at each
	// try. nil plans as usual.
	Terms func(shim.UnitPair) (*plan.Request, error)
	// Make plans; nil is [plan.Make].
	Make func(context.Context, *plan.Request) (*plan.Plan, error)
	// Changed is called when the box or the orders changed while a plan was made: it is planned
	// again, the last time while the others wait. nil is nobody.
	Changed func(last bool)
	// Until is how far the plan of one job looks ahead: a meter reading, or
	// [Interval]. Empty is not at all.
	Until string
}

// A Kept is a plan as the shop has it now.
type Kept struct {
	inventory.KeptPlan // that stands
	File               inventory.File
	// Nothing: the plan that was made changes no shim.
	Nothing bool
}

// FitStands says that what stands is the plan that was fitted, and not the one
// that was made, which changes no shim.
func (k *Kept) FitStands() bool {
	return k.File.Fitted != nil && k.File.Fitted.Number == k.Number && len(k.Placements) > 0
}

// HalfFitStands says that what stands is a plan in the middle of its fit, and
// not the one that was made, which changes no shim.
func (k *Kept) HalfFitStands() bool { return !k.FitStands() && k.Nothing && len(k.Placements) > 0 }

// Held counts the pieces of the box that are reserved for a job.
func Held(f inventory.File) int {
	n := 0
	for _, h := range f.Holds {
		n += h.Count
	}
	return n
}

// Plan plans the job and keeps the plan. Where nobody has seen all its shims the
// plan is provisional: it is not kept, and Kept is nil.
func (p Planner) Plan(ctx context.Context, shop *inventory.Shop, r *Ready) (made *plan.Plan, k *Kept, err error) {
	if p.Until != "" {
		if r.ahead, err = lookAhead(ctx, shop, r.basis.Job, p.Until); err != nil {
			return nil, nil, err
		}
	}
	ahead := r.ahead
	var proposal inventory.Proposal
	made, proposal, err = p.alone(ctx, r)
	if err != nil || r.Unseen {
		return made, nil, err
	}
	list, err := p.keep(ctx, shop, []int64{r.basis.Job.ID}, []inventory.Proposal{proposal}, func(bases []inventory.Basis) ([]inventory.Proposal, error) {
		again, err := ready(bases[0])
		if err == nil {
			again.ahead = ahead
			made, proposal, err = p.alone(ctx, again)
		}
		return []inventory.Proposal{proposal}, err
	})
	if err != nil {
		return nil, nil, err
	}
	stands, err := kept(ctx, shop, list[0])
	stands.Nothing = len(proposal.Placements) == 0
	return made, &stands, err
}

// alone plans one job.
func (p Planner) alone(ctx context.Context, r *Ready) (*plan.Plan, inventory.Proposal, error) {
	job := r.Job(p.Lift)
	job.Name = fmt.Sprint(r.basis.Job.ID)
	made, err := p.make(ctx, []*Ready{r}, plan.Request{Jobs: []plan.JobRequest{job}, Box: r.Box})
	if err != nil || r.Unseen {
		return made, inventory.Proposal{}, err
	}
	proposal, err := propose(r, made)
	return made, proposal, err
}

// make plans what is asked for on the terms.
func (p Planner) make(ctx context.Context, ready []*Ready, asked plan.Request) (*plan.Plan, error) {
	q := &plan.Request{Margin: plan.DefaultMargin}
	if p.Terms != nil {
		var err error
		if q, err = p.Terms(asked.Jobs[0].Engine.Units); err != nil {
			return nil, err
		}
	}
	q.Jobs, q.Box = asked.Jobs, asked.Box
	q.Offers, q.OnOrder = Offers(ready, q.Offers)
	ahead := ready[0].ahead
	if ahead == nil || len(ready) > 1 {
		return p.made(ctx, q)
	}
	without, err := plan.Make(ctx, *q)
	if err != nil {
		return nil, err
	}
	q.Jobs = slices.Clone(q.Jobs)
	q.Jobs[0].Risk = ahead.risk(without.Jobs[0].Gauge)
	made, err := p.made(ctx, q)
	if err != nil {
		return nil, err
	}
	made.Jobs[0].Until = &plan.Until{
		Meter: ahead.meter.String(), Inside: ahead.inside(&made.Jobs[0]), Without: ahead.inside(&without.Jobs[0]),
		Bought: made.Criteria.Bought - without.Criteria.Bought,
	}
	return made, nil
}

func (p Planner) made(ctx context.Context, q *plan.Request) (*plan.Plan, error) {
	if p.Make != nil {
		return p.Make(ctx, q)
	}
	return plan.Make(ctx, *q)
}

// propose is the plan of one job as the shop keeps it.
func propose(r *Ready, p *plan.Plan) (inventory.Proposal, error) {
	var document bytes.Buffer
	if err := planjson.Encode(&document, p); err != nil {
		return inventory.Proposal{}, err
	}
	return r.Proposal(p, document.Bytes()), nil
}

// tries is how often jobs are planned while others book: a box that changes under
// it as often is one that many plan on, and then it takes its turn.
const tries = 3

// keep lets the proposals stand. Where the box changed while they were made, it
// plans again, and the last time nobody else can book meanwhile.
func (p Planner) keep(ctx context.Context, shop *inventory.Shop, jobs []int64, list []inventory.Proposal, again func([]inventory.Basis) ([]inventory.Proposal, error)) ([]inventory.KeptPlan, error) {
	for try := 1; ; try++ {
		plans, err := shop.PlanTogether(ctx, list)
		if !errors.Is(err, inventory.ErrStale) {
			return plans, err
		}
		if p.Changed != nil {
			p.Changed(try == tries)
		}
		if try == tries {
			return shop.PlanAtOnce(ctx, jobs, again)
		}
		bases, err := shop.Bases(ctx, jobs...)
		if err != nil {
			return nil, err
		}
		if list, err = again(bases); err != nil {
			return nil, err
		}
	}
}

func kept(ctx context.Context, shop *inventory.Shop, p inventory.KeptPlan) (Kept, error) {
	f, err := shop.Job(ctx, p.Job)
	return Kept{KeptPlan: p, File: f}, err
}

// joinable are the states of jobs that can be planned together with others.
var joinable = []inventory.State{inventory.StateMeasured, inventory.StatePlanned}

// A NoneError says that no job can be planned together with others.
type NoneError struct{ Skipped []Skip }

func (*NoneError) Error() string { return "no job can be planned together with others" }

// PlanAll plans together all jobs that have nothing of a plan fitted yet, and
// keeps all the plans or none. It is [ErrNoneReady] where there is no such job, and
// a [NoneError] where each has to be planned alone or cannot be planned yet.
func (p Planner) PlanAll(ctx context.Context, shop *inventory.Shop) (made *plan.Plan, list []Kept, skipped []Skip, err error) {
	jobs, err := shop.Jobs(ctx, inventory.JobFilter{States: joinable})
	if err != nil {
		return nil, nil, nil, err
	}
	if len(jobs) == 0 {
		return nil, nil, nil, shim.Fail(errors.Join(inventory.ErrState, ErrNoneReady), "", "no job is measured or planned")
	}
	ids := make([]int64, len(jobs))
	for i, j := range jobs {
		ids[i] = j.ID
	}
	slices.Sort(ids) // the oldest first
	bases, err := shop.Bases(ctx, ids...)
	if err != nil {
		return nil, nil, nil, err
	}
	joint := func(bases []inventory.Basis) ([]inventory.Proposal, error) {
		bases = slices.DeleteFunc(slices.Clone(bases), func(basis inventory.Basis) bool { return !slices.Contains(joinable, basis.Job.State) })
		var ready []*Ready
		if ready, skipped = Together(bases); len(ready) == 0 {
			return nil, &NoneError{skipped}
		}
		if made, err = p.make(ctx, ready, Request(ready, p.Lift)); err != nil {
			return nil, err
		}
		proposals := make([]inventory.Proposal, len(ready))
		for i, r := range ready {
			if proposals[i], err = propose(r, made.Alone(i)); err != nil {
				return nil, err
			}
		}
		return proposals, nil
	}
	proposals, err := joint(bases)
	if err != nil {
		return nil, nil, nil, err
	}
	plans, err := p.keep(ctx, shop, ids, proposals, joint)
	if err != nil {
		return nil, nil, nil, err
	}
	for _, one := range plans {
		k, err := kept(ctx, shop, one)
		if err != nil {
			return nil, nil, nil, err
		}
		list = append(list, k)
	}
	return made, list, skipped, nil
}
