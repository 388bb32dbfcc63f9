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
	From   shim.Valve // the valve it is pulled from, if moved
	Terms             // if bought
	// Temporary is the size of a shim from the box that sits in the valve until its
	// own is at hand; 0 means none. It is reserved for the job and stays in the box's
	// record, because it is back once the valve is fitted.
	Temporary shim.Length
	// Counted is how the plan counted on the size of a shim from the box. Such a shim
	// is reserved, if there is one.
	Counted Counted
}

// Counted is how a plan counts on the size of a shim from the box.
type Counted uint8

// The ways to know a size. Plans of the versions 1 to 3 say none.
const (
	Anyhow    Counted = iota
	ByStamp           // the mark on a new shim
	ByMic             // a micrometer
	ByOldMark         // the mark on a used shim
)

// countedAs is how a plan counts on a shim of the lot.
func countedAs(l Lot) Counted {
	switch {
	case l.Mic != 0:
		return ByMic
	case l.Used:
		return ByOldMark
	}
	return ByStamp
}

// surer reports whether a shim known otherwise is known as well or better.
func (c Counted) surer(other Counted) bool {
	switch c {
	case ByOldMark:
		return true
	case ByStamp:
		return other == ByMic
	}
	return false
}

// A KeptPlan is a plan kept for a job. A later plan of the same job replaces it;
// its row stays.
type KeptPlan struct {
	Job        int64
	Number     int   // 1, 2, 3, … within the job
	Seq        int64 // the ledger's last row when the plan was made
	Revision   int64 // of the stock that the plan was made on: the sum of those of its engine's families
	Time       time.Time
	Who        string
	Placements []Placement
	Document   json.RawMessage // the planner's output, kept as it is
	Seal       Hash            // the store's; rules see none
}

// A Basis is the data a plan is made on.
type Basis struct {
	Job      Job
	Engine   Engine
	Readings []shim.Measurement // the last reading of each valve, with the shim fitted at the time
	// CloserFirst are the openers whose reading is from when their closers showed no play;
	// it is never nil.
	CloserFirst []shim.Valve
	Seats       []Seat      // the shim in each valve now
	Free        []Stock     // sizes of the engine's families; Reserved leaves out the jobs planned with it
	Lots        []Balance   // the same by lot, without what other jobs hold
	Orders      []Purchase  // bought for the job before
	Market      []Purchase  // bought by all jobs in the engine's families, or on order for the shop
	Revision    int64       // goes back with the plan
	Gauge       *shim.Gauge // of the set that the last check that names one was made with, nil where nobody said
}

// Basis returns the data to plan one job on.
func (s *Shop) Basis(ctx context.Context, job int64) (Basis, error) {
	list, err := s.Bases(ctx, job)
	if err != nil {
		return Basis{}, err
	}
	return list[0], nil
}

// Bases returns the data to plan jobs together on, in their order and in one
// view: shims reserved for one of them are free to the others.
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
		basis := Basis{Job: w.Job, Engine: w.engine, Orders: w.purchases, CloserFirst: w.closersFirst()}
		latest, _ := w.latest()
		for _, v := range w.engine.Spec.Valves() {
			if m, read := latest[v]; read {
				basis.Readings = append(basis.Readings, m)
			}
			basis.Seats = append(basis.Seats, w.seated(v))
		}
		basis.Gauge = gaugeOf(w.checks)
		list = append(list, basis)
	}
	return list, stockUp(r, list)
}

// stockUp adds the stock to the bases. Shims reserved for their own jobs count as
// free.
func stockUp(r Reader, list []Basis) error {
	own := map[shim.Disc]int{}
	var jobs []int64
	for i := range list {
		jobs = append(jobs, list[i].Job.ID)
		holds, err := r.Holds(HoldFilter{Job: list[i].Job.ID})
		if err != nil {
			return err
		}
		for _, h := range holds {
			own[h.Disc()] += h.Count
		}
	}
	stocked := map[shim.Family]*Basis{} // what there is of the family alone
	for i := range list {
		b := &list[i]
		for _, family := range b.Engine.Spec.Families() {
			if stocked[family] == nil {
				part, err := stockOf(r, family, jobs, own)
				if err != nil {
					return err
				}
				stocked[family] = &part
			}
			part := stocked[family]
			b.Revision += part.Revision
			b.Lots = append(b.Lots, part.Lots...)
			b.Free = append(b.Free, part.Free...)
			b.Market = append(b.Market, part.Market...)
		}
	}
	return nil
}

// stockOf is what there is of one family for the jobs, which hold some of it.
func stockOf(r Reader, f shim.Family, jobs []int64, own map[shim.Disc]int) (b Basis, err error) {
	revision, err := r.Revision(f)
	if err != nil {
		return b, err
	}
	b.Revision = revision.Number
	if b.Lots, err = r.Balances(StockFilter{Disc: f.Of(0)}); err != nil {
		return b, err
	}
	if b.Free, err = r.Stocks(StockFilter{Disc: f.Of(0)}); err != nil {
		return b, err
	}
	if b.Market, err = r.Purchases(HoldFilter{Disc: f.Of(0)}); err != nil {
		return b, err
	}
	for k := range b.Free {
		b.Free[k].Reserved -= own[b.Free[k].Disc]
	}
	holds, err := r.Holds(HoldFilter{Disc: f.Of(0)})
	held := map[Lot]int{}
	for _, h := range holds {
		if !slices.Contains(jobs, h.Job) {
			held[h.Lot] += h.Count
		}
	}
	for k := range b.Lots {
		b.Lots[k].Count -= held[b.Lots[k].Lot]
	}
	return b, err
}

// A Proposal is the planner's result for a [Basis].
type Proposal struct {
	Job        int64 // [Basis.Job]
	Revision   int64 // [Basis.Revision]
	Placements []Placement
	Document   json.RawMessage // kept as it is; may be nil
}

// PlanTogether keeps the proposals as their jobs' plans, all or none, and reserves
// the shims they draw. They were made on [Shop.Bases]. An earlier plan is replaced;
// what it fitted stays. A plan without a shim to change is not kept after a fit, or
// during one while a valve is outside its limits: the current plan is returned. The
// error is [ErrStale] if the stock of its families changed since the basis was read,
// because the plan may no longer be the best.
func (s *Shop) PlanTogether(ctx context.Context, proposals []Proposal) (plans []KeptPlan, err error) {
	_, err = s.update(ctx, func(b *booking) error {
		plans, err = b.plan(proposals)
		return err
	})
	return plans, err
}

// PlanAtOnce reads the bases, calls the function to plan on them and keeps its
// proposals in one transaction. Others wait, so the plan is never [ErrStale];
// [Shop.Bases] and [Shop.PlanTogether] do not make them wait. The function must not
// use the shop.
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
		if err := b.familiesStand(p.Job); err != nil {
			return nil, err
		}
	}
	// Shims reserved for one of the jobs may go to another.
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

// plannable loads the job of a proposal. It fails if the job cannot be planned or
// the box changed.
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
	now := int64(0)
	for _, f := range w.engine.Spec.Families() {
		revision, err := b.Revision(f)
		if err != nil {
			return nil, err
		}
		now += revision.Number // each only ever rises
	}
	if now != p.Revision {
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

// placements checks a plan against the engine and its fitted shims.
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
		case w.family(from) != w.family(p.Valve):
			return nil, shim.Fail(ErrInvalid, "", "valve %s takes %s, not the shim of %s", p.Valve, w.family(p.Valve), from)
		case seat.SetUp:
			return nil, shim.Fail(ErrInvalid, "", "valve %s: the shim in %s is a set-up shim of the bench set", p.Valve, from)
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

// drawable checks that the shims the plan draws are free. The job must have none
// reserved.
func (b *booking) drawable(w *work, list []Placement) error {
	left := map[shim.Disc]int{}
	for _, p := range list {
		for _, size := range []shim.Length{p.Size, p.Temporary} {
			if size == 0 {
				continue
			}
			d := w.family(p.Valve).Of(size)
			stock, err := b.Stock(d)
			if err != nil {
				return err
			}
			left[d] = stock.Free()
		}
	}
	take := func(v shim.Valve, size shim.Length) error {
		d := w.family(v).Of(size)
		if left[d]--; left[d] < 0 {
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
