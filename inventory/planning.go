package inventory

import (
	"context"
	"encoding/json"
	"slices"

	"shimwright/shim"
)

// A Basis is what a plan is made on.
type Basis struct {
	Job      Job
	Engine   Engine
	Readings []shim.Measurement // the last reading of each valve, with the shim that sat in it then
	Seats    []Seat             // what sits in each valve of the engine now
	Free     []Stock            // sizes of the job's diameter; Reserved counts the pieces of other jobs only
	Lots     []Balance          // what is on hand in the job's diameter, lot by lot
	Orders   []Purchase         // what was bought for the job before
	Revision int64              // hand it back with the plan
}

// Basis gives what the planner needs.
func (s *Shop) Basis(ctx context.Context, job int64) (basis Basis, err error) {
	err = s.store.View(ctx, func(r Reader) error {
		w, err := load(r, job)
		if err != nil {
			return err
		}
		basis = Basis{Job: w.Job, Engine: w.engine, Orders: w.purchases}
		latest, _ := w.latest()
		for _, v := range w.engine.Spec.Valves() {
			if m, read := latest[v]; read {
				basis.Readings = append(basis.Readings, m)
			}
			basis.Seats = append(basis.Seats, w.seat(v, forever))
		}
		if basis.Revision, err = r.Revision(w.Diameter); err != nil {
			return err
		}
		if basis.Lots, err = r.Balances(StockFilter{Diameter: w.Diameter}); err != nil {
			return err
		}
		basis.Free, err = free(r, w.Job)
		return err
	})
	return basis, err
}

// free lists the sizes with pieces on hand, the job's own holds taken out of
// the reserved ones.
func free(r Reader, job Job) ([]Stock, error) {
	stocks, err := r.Stocks(StockFilter{Diameter: job.Diameter})
	if err != nil {
		return nil, err
	}
	holds, err := r.Holds(HoldFilter{Job: job.ID})
	if err != nil {
		return nil, err
	}
	own := map[shim.Length]int{}
	for _, h := range holds {
		own[h.Size] = h.Count
	}
	for i := range stocks {
		stocks[i].Reserved -= own[stocks[i].Size]
	}
	return stocks, nil
}

// A Proposal is what the planner made of a [Basis].
type Proposal struct {
	Revision   int64 // [Basis.Revision]
	Placements []Placement
	Document   json.RawMessage // kept as it is; may be nil
}

// Plan lets the proposal stand as the job's plan and holds the pieces that it
// draws. A plan that stood before gives way; what it fitted stays. It is
// [ErrStale] where the diameter's stock changed since the basis was read: the
// plan may no longer be the best one.
func (s *Shop) Plan(ctx context.Context, job int64, p Proposal) (plan Plan, err error) {
	_, err = s.update(ctx, func(b *booking) error {
		w, err := load(b, job)
		if err != nil {
			return err
		}
		switch w.State {
		case Measured, Planned, Fitting, Rechecked:
		case Open:
			return w.fail("enter the readings first", "cannot be planned")
		case Complete:
			return w.fail("measure again first", "cannot be planned")
		default:
			return w.fail("open a new job", "cannot be planned")
		}
		revision, err := b.Revision(w.Diameter)
		if err != nil {
			return err
		}
		if revision != p.Revision {
			return Fail(ErrStale, "plan again", "job %d: the box of diameter %s changed while the plan was made", job, w.Diameter)
		}
		if p.Placements, err = w.placements(p.Placements); err != nil {
			return err
		}
		if err := b.drawable(w, p.Placements); err != nil {
			return err
		}
		plan = Plan{Job: job, Number: w.Job.Plan + 1, Seq: b.last.Seq, Revision: revision, Time: b.at, Who: s.who,
			Placements: p.Placements, Document: p.Document}.sealed()
		return b.replace(w, plan)
	})
	return plan, err
}

// replace lets the plan stand.
func (b *booking) replace(w *work, plan Plan) error {
	if err := b.AddPlan(plan); err != nil {
		return err
	}
	if err := b.freeHolds(w.ID); err != nil {
		return err
	}
	purchases := map[shim.Length]Purchase{}
	for _, p := range w.purchases {
		purchases[p.Size] = p.carry()
	}
	for _, l := range plan.Placements {
		if l.Source != Bought {
			continue
		}
		p := purchases[l.Size]
		p.Job, p.Diameter, p.Size, p.Price, p.Priced = w.ID, w.Diameter, l.Size, l.Price, l.Priced
		p.Needed++
		purchases[l.Size] = p
	}
	for _, p := range purchases {
		if err := b.PutPurchase(p); err != nil {
			return err
		}
	}
	w.Job.State, w.Job.Plan = Planned, plan.Number
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
			return nil, Fail(ErrInvalid, "", "valve %s stands twice in the plan", v)
		}
		at[v], p.Valve = true, v
		if problem, hint := shim.ImplausibleSize(p.Size, shim.MM); problem != "" {
			return nil, Fail(ErrInvalid, hint, "valve %s: %s", v, problem)
		}
		if p.Source != Moved {
			p.From = shim.Valve{}
		}
		if p.Source != Bought {
			p.Price, p.Priced = 0, false
		}
		clean = append(clean, p)
	}
	slices.SortFunc(clean, func(x, y Placement) int { return x.Valve.Compare(y.Valve) })
	taken := map[shim.Valve]bool{}
	for i, p := range clean {
		switch p.Source {
		case Drawn, Bought:
			continue
		case Moved:
		default:
			return nil, Fail(ErrInvalid, "", "valve %s: %q is no source of a shim", p.Valve, p.Source)
		}
		from, err := w.valve(p.From)
		if err != nil {
			return nil, err
		}
		seat := w.seat(from, forever)
		switch {
		case !at[from]:
			return nil, Fail(ErrInvalid, "", "valve %s: the plan leaves %s, whose shim it takes, without one", p.Valve, from)
		case taken[from]:
			return nil, Fail(ErrInvalid, "", "valve %s: the shim of %s is moved twice", p.Valve, from)
		case seat.Empty:
			return nil, Fail(ErrInvalid, "its shim lies in the box: draw it", "valve %s: %s is empty", p.Valve, from)
		case seat.Size() != p.Size:
			return nil, Fail(ErrInvalid, "", "valve %s: the shim in %s is %s mm, not %s mm", p.Valve, from, seat.Size(), p.Size)
		}
		taken[from] = true
		clean[i].From = from
	}
	return clean, nil
}

// drawable checks that what the plan draws is free for this job.
func (b *booking) drawable(w *work, list []Placement) error {
	holds, err := b.Holds(HoldFilter{Job: w.ID})
	if err != nil {
		return err
	}
	left := map[shim.Length]int{}
	for _, p := range list {
		stock, err := b.Stock(w.Diameter, p.Size)
		if err != nil {
			return err
		}
		left[p.Size] = stock.Free()
	}
	for _, h := range holds {
		left[h.Size] += h.Count
	}
	for _, p := range list {
		if p.Source != Drawn {
			continue
		}
		if left[p.Size]--; left[p.Size] < 0 {
			return Fail(ErrShort, "plan again", "valve %s: no shim of %s mm is free in the box", p.Valve, p.Size)
		}
	}
	return nil
}
