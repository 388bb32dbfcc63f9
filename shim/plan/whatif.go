package plan

import (
	"context"
	"maps"
	"slices"

	"shimwright/shim"
)

// A What is a kind of change that a technician may ask about.
type What uint8

// The kinds of change.
const (
	// LiftToo opens one more camshaft.
	LiftToo What = iota
	// LeaveIn leaves in a camshaft that is lifted though all its valves are fine.
	LeaveIn
	// InBox has one more shim in the box, of any one of some sizes.
	InBox
	// FinerStep has a catalogue in half the steps.
	FinerStep
	// WiderRange has a catalogue that goes further at both ends.
	WiderRange
)

// A WhatIf is a change that would make a difference, and what it would lead to.
type WhatIf struct {
	What     What
	Job      int           // of the camshaft or the catalogue, counted from 0
	Camshaft string        // with LiftToo and LeaveIn
	Sizes    []shim.Length // with InBox, any one of these
	Family   shim.Family   // with InBox
	Step     shim.Length   // with FinerStep and WiderRange, as the next ones
	From, To shim.Length
	Criteria Criteria // of the plan that it would lead to
	// Outside is how many valves would end outside their limits or unmeasured,
	// those that are not opened included.
	Outside int
}

// further is by how many steps a wider catalogue goes on at either end.
const further = 20

// WhatIfs asks what else could have been done, by planning it: every answer is
// as exact as the plan itself. Only what would change the purchases, their cost
// or the valves left outside is told, or a camshaft that could stay in for
// nothing. The plan must be the request's.
func WhatIfs(ctx context.Context, q Request, p *Plan) ([]WhatIf, error) {
	stock, err := gatherStock(&q)
	if err != nil {
		return nil, err
	}
	q.shelf = stock.shelf
	a := &asker{ctx: ctx, request: q, plan: p, outside: p.Outside()}
	for i := range q.Jobs {
		if err := a.camshafts(i); err != nil {
			return nil, err
		}
	}
	if err := a.box(); err != nil {
		return nil, err
	}
	for i := range q.Jobs {
		if err := a.catalogue(i); err != nil {
			return nil, err
		}
	}
	return a.found, nil
}

// An asker plans one change after another.
type asker struct {
	ctx     context.Context
	request Request
	plan    *Plan
	outside int
	found   []WhatIf
}

// ask plans a changed request and keeps the answer where it is better than
// what is known of the plan.
func (a *asker) ask(q Request, w WhatIf) error {
	q.unlisted = true
	p, err := Make(a.ctx, q)
	if err != nil {
		return err
	}
	w.Criteria, w.Outside = p.Criteria, p.Outside()
	if a.better(&w) {
		a.found = append(a.found, w)
	}
	return nil
}

// better reports whether fewer valves stay outside, or as many with fewer or
// cheaper purchases. A camshaft left in only has to do no harm.
func (a *asker) better(w *WhatIf) bool {
	was, is := a.plan.Criteria, w.Criteria
	switch {
	case w.Outside != a.outside:
		return w.Outside < a.outside
	case is.Bought != was.Bought:
		return is.Bought < was.Bought
	case is.Cost != was.Cost:
		return is.Cost < was.Cost
	}
	return w.What == LeaveIn
}

// withJob is the request with one job changed.
func (a *asker) withJob(i int, change func(job *JobRequest)) Request {
	q := a.request
	q.Jobs = slices.Clone(q.Jobs)
	change(&q.Jobs[i])
	return q
}

// camshafts asks of each camshaft what lifting it too, or leaving it in, would do.
func (a *asker) camshafts(i int) error {
	j := &a.plan.Jobs[i]
	if j.Engine.Access != shim.ByCamshaft || j.Build {
		return nil
	}
	for _, cam := range j.Engine.CamshaftList() {
		at := slices.Index(j.Lifted, cam.Name)
		lift, what := append(slices.Clone(j.Lifted), cam.Name), LiftToo
		if at >= 0 {
			if len(j.Lifted) == 1 || a.needed(j, cam) {
				continue
			}
			lift, what = slices.Delete(slices.Clone(j.Lifted), at, at+1), LeaveIn
		} else if len(j.Lifted) == 0 {
			continue // nothing is opened, and nothing is wrong
		}
		q := a.withJob(i, func(job *JobRequest) { job.Lift = shim.Lift{Named: lift} })
		if err := a.ask(q, WhatIf{What: what, Job: i, Camshaft: cam.Name}); err != nil {
			return err
		}
	}
	return nil
}

// needed reports whether some valve under the camshaft is not known to be inside its limits.
func (a *asker) needed(j *JobPlan, cam shim.Camshaft) bool {
	return slices.ContainsFunc(j.Valves, func(v ValvePlan) bool { return (v.Verdict != shim.OK || v.Undecided) && j.Engine.Covers(cam, v.Valve) })
}

// box asks which one more shim in the box would save a purchase or serve one
// more valve. Sizes that do equally well are one answer.
func (a *asker) box() error {
	wanted := map[shim.Disc]bool{}
	for i := range a.plan.Jobs {
		j := &a.plan.Jobs[i]
		for k := range j.Valves {
			v := &j.Valves[k]
			if v.Action != Buy && (v.Served() || !takesPart(v)) {
				continue
			}
			thin, thick := v.setting(j.Engine).Accepts()
			for _, offer := range between(a.request.shelf.catalogue(j.Engine, j.Engine.FamilyOf(v.Valve)), thin, thick) {
				wanted[offer.Disc] = true
			}
		}
	}
	discs := spread(slices.SortedFunc(maps.Keys(wanted), shim.Disc.Compare), mostAsked)
	first := len(a.found)
	for _, d := range discs {
		q := a.request
		q.Box = append(slices.Clone(q.Box), shim.BoxRow{Marks: shim.Marks{Stamp: d.Size}, Family: d.Family, Count: 1})
		if err := a.ask(q, WhatIf{What: InBox, Family: d.Family, Sizes: []shim.Length{d.Size}}); err != nil {
			return err
		}
	}
	better := slices.DeleteFunc(a.found[first:], a.bought)
	a.found = append(a.found[:first], merge(better)...)
	return nil
}

// mostAsked bounds the sizes that are asked about: each takes a plan.
const mostAsked = 400

// spread is the list, or where it is longer than most so many of it, evenly.
func spread[T any](list []T, most int) []T {
	every := (len(list) + most - 1) / most
	if every <= 1 {
		return list
	}
	var some []T
	for i := every / 2; i < len(list); i += every {
		some = append(some, list[i])
	}
	return some
}

// bought reports whether the answer only says that a shim on the shopping list
// need not be bought where it is in the box.
func (a *asker) bought(w WhatIf) bool {
	was, is := a.plan.Criteria, w.Criteria
	return w.Outside == a.outside && is.Bought == was.Bought-1 && slices.ContainsFunc(a.plan.Shopping, func(lot Pieces) bool {
		return lot.Disc == w.Family.Of(w.Sizes[0]) && is.Cost == was.Cost-lot.Price
	})
}

// merge makes one answer of those in the same words.
func merge(list []WhatIf) []WhatIf {
	var merged []WhatIf
	for _, w := range list {
		at := slices.IndexFunc(merged, func(m WhatIf) bool {
			return m.Family == w.Family && m.Outside == w.Outside && m.Criteria.Bought == w.Criteria.Bought && m.Criteria.Cost == w.Criteria.Cost && m.Criteria.Disturbed == w.Criteria.Disturbed
		})
		if at < 0 {
			merged = append(merged, w)
			continue
		}
		merged[at].Sizes = append(merged[at].Sizes, w.Sizes...)
	}
	return merged
}

// catalogue asks what an engine's catalogue in finer steps or with a wider
// range would do.
func (a *asker) catalogue(i int) error {
	e := a.request.Jobs[i].Engine
	if a.request.NoBuy || a.request.Offers != nil || len(e.Catalogue) == 0 || a.plan.Jobs[i].Criteria.Unserved == 0 {
		return nil
	}
	// Range by range: what is said of sizes from one to another has to hold for
	// that grid.
	for k := range e.Catalogue {
		with := func(r shim.Range) Request {
			engine := *e
			engine.Catalogue = slices.Clone(e.Catalogue)
			engine.Catalogue[k] = r
			return a.withJob(i, func(job *JobRequest) { job.Engine = &engine })
		}
		r := e.Catalogue[k]
		if r.Step%2 == 0 {
			r.Step /= 2
			if err := a.ask(with(r), WhatIf{What: FinerStep, Job: i, Step: r.Step, From: r.From, To: r.To}); err != nil {
				return err
			}
		}
		r = e.Catalogue[k]
		r.From -= min(further, (r.From-shim.MinSize)/r.Step) * r.Step
		r.To += min(further, (shim.MaxSize-r.To)/r.Step) * r.Step
		if err := a.ask(with(r), WhatIf{What: WiderRange, Job: i, Step: r.Step, From: r.From, To: r.To}); err != nil {
			return err
		}
	}
	return nil
}
