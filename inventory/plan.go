package inventory

import (
	"context"
	"encoding/json"
	"slices"
	"time"

	"shimwright/shim"
)

// A Source says where a planned shim comes from.
type Source string

// The sources of a shim.
const (
	SourceDrawn  Source = "drawn"  // from the box
	SourceMoved  Source = "moved"  // pulled from another valve of this engine
	SourceBought Source = "bought" // from the supplier
)

// A Placement is one valve that gets another shim. A valve that keeps its own
// has none.
type Placement struct {
	Valve  shim.Valve
	Size   shim.Length // of the shim that goes in
	Source Source
	From   shim.Valve // where Moved: the valve that it is pulled from
	Terms             // where Bought
	// Temporary is the size of a piece of the box that sits in the valve until its
	// own shim is at hand, 0 where there is none. The job holds it, and it never
	// leaves the box's record: once the valve is fitted it is back.
	Temporary shim.Length
}

// A KeptPlan is what one run of the planner decided for a job. A later plan of the
// same job replaces it; its row stays.
type KeptPlan struct {
	Job        int64
	Number     int   // 1, 2, 3, … within the job
	Seq        int64 // the ledger's last row when the plan was made
	Revision   int64 // of the diameter's stock that the plan was made on
	Time       time.Time
	Who        string
	Placements []Placement
	Document   json.RawMessage // the planner's own account, kept as it is
	Seal       Hash            // the store's; rules see none
}

// A Basis is the data a plan is made on.
type Basis struct {
	Job      Job
	Engine   Engine
	Readings []shim.Measurement // the last reading of each valve, with the shim that sat in it then
	Seats    []Seat             // what sits in each valve of the engine now
	Free     []Stock            // sizes of the job's diameter; Reserved counts the pieces of jobs that are not planned with it
	Lots     []Balance          // what is on hand in the job's diameter, lot by lot
	Orders   []Purchase         // what was bought for the job before
	Market   []Purchase         // what all jobs buy in the job's diameter, and what is on order for the shop
	Revision int64              // hand it back with the plan
}

// Basis gives what the planner needs for one job.
func (s *Shop) Basis(ctx context.Context, job int64) (Basis, error) {
	list, err := s.Bases(ctx, job)
	if err != nil {
		return Basis{}, err
	}
	return list[0], nil
}

// Bases gives what the planner needs for jobs that are planned together, in
// their order and all at one moment: what one of them holds is free to the others.
func (s *Shop) Bases(ctx context.Context, jobs ...int64) (list []Basis, err error) {
	err = s.store.View(ctx, func(r Reader) error {
		list, err = bases(r, jobs)
		return err
	})
	return list, err
}

func bases(r Reader, jobs []int64) ([]Basis, error) {
	list := make([]Basis, 0, len(jobs))
	for _, job := range jobs {
		w, err := load(r, job)
		if err != nil {
			return nil, err
		}
		basis := Basis{Job: w.Job, Engine: w.engine, Orders: w.purchases}
		latest, _ := w.latest()
		for _, v := range w.engine.Spec.Valves() {
			if m, read := latest[v]; read {
				basis.Readings = append(basis.Readings, m)
			}
			basis.Seats = append(basis.Seats, w.seated(v))
		}
		list = append(list, basis)
	}
	return list, stockUp(r, list)
}

// stockUp puts what is on hand into the bases. The holds of their own jobs are
// taken out of the reserved pieces. Jobs of one diameter share the lists.
func stockUp(r Reader, list []Basis) error {
	own := map[shim.Disc]int{}
	for i := range list {
		holds, err := r.Holds(HoldFilter{Job: list[i].Job.ID})
		if err != nil {
			return err
		}
		for _, h := range holds {
			own[h.Disc()] += h.Count
		}
	}
	stocked := map[shim.Length]*Basis{}
	for i := range list {
		b := &list[i]
		diameter := b.Job.Diameter
		if twin := stocked[diameter]; twin != nil {
			b.Revision, b.Lots, b.Free, b.Market = twin.Revision, twin.Lots, twin.Free, twin.Market
			continue
		}
		revision, err := r.Revision(diameter)
		if err != nil {
			return err
		}
		b.Revision = revision.Number
		if b.Lots, err = r.Balances(StockFilter{Disc: shim.Disc{Family: shim.Family{Diameter: diameter}}}); err != nil {
			return err
		}
		if b.Free, err = r.Stocks(StockFilter{Disc: shim.Disc{Family: shim.Family{Diameter: diameter}}}); err != nil {
			return err
		}
		if b.Market, err = r.Purchases(HoldFilter{Disc: shim.Disc{Family: shim.Family{Diameter: diameter}}}); err != nil {
			return err
		}
		for k := range b.Free {
			b.Free[k].Reserved -= own[shim.Disc{Family: shim.Family{Diameter: diameter}, Size: b.Free[k].Size}]
		}
		stocked[diameter] = b
	}
	return nil
}

// A Proposal is the planner's result for a [Basis].
type Proposal struct {
	Job        int64 // [Basis.Job]
	Revision   int64 // [Basis.Revision]
	Placements []Placement
	Document   json.RawMessage // kept as it is; may be nil
}

// PlanTogether lets the proposals stand as their jobs' plans, all or none, and
// holds the pieces that they draw: plans that were made on [Shop.Bases] and share
// the box among their jobs. A plan that stood before gives way; what it fitted
// stays. One without a shim to change is not kept after a fit, nor in the middle
// of one while a valve is outside its limits: the plan that stands is given. It
// is [ErrStale] where the diameter's stock changed since the basis was read: the
// plan may no longer be the best one.
func (s *Shop) PlanTogether(ctx context.Context, proposals []Proposal) (plans []KeptPlan, err error) {
	_, err = s.update(ctx, func(b *booking) error {
		plans, err = b.plan(proposals)
		return err
	})
	return plans, err
}

// PlanAtOnce reads the bases, lets the function plan on them and keeps what it
// proposes, in one: nobody else books meanwhile, so that the plan is never
// [ErrStale]. Others wait for it; [Shop.Bases] and [Shop.PlanTogether] let them
// go on. The function must not use the shop.
func (s *Shop) PlanAtOnce(ctx context.Context, jobs []int64, propose func([]Basis) ([]Proposal, error)) (plans []KeptPlan, err error) {
	_, err = s.update(ctx, func(b *booking) error {
		list, err := bases(b, jobs)
		if err != nil {
			return err
		}
		proposals, err := propose(list)
		if err != nil {
			return err
		}
		plans, err = b.plan(proposals)
		return err
	})
	return plans, err
}

// plan makes the proposals the current plans.
func (b *booking) plan(proposals []Proposal) (plans []KeptPlan, err error) {
	jobs := make([]*work, len(proposals))
	for i, p := range proposals {
		if slices.ContainsFunc(proposals[:i], func(q Proposal) bool { return q.Job == p.Job }) {
			return nil, shim.Fail(ErrInvalid, "", "job %d is given twice", p.Job)
		}
		if jobs[i], err = b.plannable(p); err != nil {
			return nil, err
		}
	}
	// What one of the jobs held another one may draw.
	held := make([][]Hold, len(jobs))
	for i, w := range jobs {
		if held[i], err = b.freeHolds(w.ID); err != nil {
			return nil, err
		}
	}
	for i, w := range jobs {
		p := proposals[i]
		list, err := w.placements(p.Placements)
		if err != nil {
			return nil, err
		}
		if err := b.drawable(w, list); err != nil {
			return nil, err
		}
		if len(list) == 0 {
			stands, err := b.stillStands(w, held[i])
			if err != nil {
				return nil, err
			}
			if stands {
				plans = append(plans, w.plan)
				continue
			}
		}
		plan := KeptPlan{Job: w.ID, Number: w.Job.Plan + 1, Seq: b.last.Seq, Revision: p.Revision, Time: b.at, Who: b.who,
			Placements: list, Document: p.Document}
		if err := b.replace(w, plan); err != nil {
			return nil, err
		}
		plans = append(plans, plan)
	}
	return plans, nil
}

// plannable loads the job of a proposal where it can be planned, and on the box
// as it is.
func (b *booking) plannable(p Proposal) (*work, error) {
	w, err := load(b, p.Job)
	if err != nil {
		return nil, err
	}
	switch w.State {
	case StateMeasured, StatePlanned, StateFitting, StateRechecked:
	case StateOpen:
		return nil, w.fail("enter the readings first", "cannot be planned")
	case StateFitted:
		return nil, w.fail("measure again first", "cannot be planned")
	default:
		return nil, w.fail("open a new job", "cannot be planned")
	}
	revision, err := b.Revision(w.Diameter)
	if err != nil {
		return nil, err
	}
	if revision.Number != p.Revision {
		return nil, shim.Fail(ErrStale, "plan again", "job %d: the box or the orders of diameter %s changed during planning", p.Job, w.Diameter)
	}
	return w, nil
}

// replace makes the plan the current one.
func (b *booking) replace(w *work, plan KeptPlan) error {
	if err := b.AddPlan(plan); err != nil {
		return err
	}
	if err := b.carry(w); err != nil {
		return err
	}
	w.Job.State, w.Job.Plan = StatePlanned, plan.Number
	if err := b.PutJob(w.Job); err != nil {
		return err
	}
	return b.settle(w.ID)
}

// placements checks a plan against the engine and what sits in it.
func (w *work) placements(list []Placement) ([]Placement, error) {
	clean := make([]Placement, 0, len(list))
	at := map[shim.Valve]bool{}
	for _, p := range list {
		v, err := w.valve(p.Valve)
		if err != nil {
			return nil, err
		}
		if at[v] {
			return nil, shim.Fail(ErrInvalid, "", "duplicate valve %s in the plan", v)
		}
		at[v], p.Valve = true, v
		if err := shim.ImplausibleSize(p.Size, shim.MM); err != nil {
			return nil, shim.Fail(ErrInvalid, "", "valve %s: %w", v, err)
		}
		if p.Temporary != 0 {
			if err := shim.ImplausibleSize(p.Temporary, shim.MM); err != nil {
				return nil, shim.Fail(ErrInvalid, "", "valve %s: %w", v, err)
			}
		}
		if p.Source != SourceMoved {
			p.From = shim.Valve{}
		}
		if p.Source != SourceBought {
			p.Terms = Terms{}
		}
		clean = append(clean, p)
	}
	slices.SortFunc(clean, func(x, y Placement) int { return x.Valve.Compare(y.Valve) })
	taken := map[shim.Valve]bool{}
	for i, p := range clean {
		switch p.Source {
		case SourceDrawn, SourceBought:
			continue
		case SourceMoved:
		default:
			return nil, shim.Fail(ErrInvalid, "", "valve %s: %q is not a shim source", p.Valve, p.Source)
		}
		from, err := w.valve(p.From)
		if err != nil {
			return nil, err
		}
		seat := w.seat(from, forever)
		switch {
		case !at[from]:
			return nil, shim.Fail(ErrInvalid, "", "valve %s: the plan takes the shim of %s and leaves that valve without one", p.Valve, from)
		case taken[from]:
			return nil, shim.Fail(ErrInvalid, "", "valve %s: the plan moves the shim of %s twice", p.Valve, from)
		case seat.Empty:
			return nil, shim.Fail(ErrInvalid, "its shim is in the box: draw it", "valve %s: %s has no shim fitted", p.Valve, from)
		case seat.Size() != p.Size:
			return nil, shim.Fail(ErrInvalid, "", "valve %s: the shim in %s is %s mm, not %s mm", p.Valve, from, seat.Size(), p.Size)
		}
		taken[from] = true
		clean[i].From = from
	}
	return clean, nil
}

// drawable checks that what the plan draws is free, now that the job holds nothing.
func (b *booking) drawable(w *work, list []Placement) error {
	left := map[shim.Length]int{}
	for _, p := range list {
		for _, size := range []shim.Length{p.Size, p.Temporary} {
			if size == 0 {
				continue
			}
			stock, err := b.Stock(w.Diameter, size)
			if err != nil {
				return err
			}
			left[size] = stock.Free()
		}
	}
	take := func(v shim.Valve, size shim.Length) error {
		if left[size]--; left[size] < 0 {
			return shim.Fail(ErrShort, "plan again", "valve %s: no free shim of %s mm in the box", v, size)
		}
		return nil
	}
	for _, p := range list {
		if p.Source == SourceDrawn {
			if err := take(p.Valve, p.Size); err != nil {
				return err
			}
		}
		if p.Temporary != 0 {
			if err := take(p.Valve, p.Temporary); err != nil {
				return err
			}
		}
	}
	return nil
}
