package inventory

import (
	"context"
	"fmt"
	"slices"
	"strings"

	"shimwright/shim"
)

// A Fit is what the technician fitted.
type Fit struct {
	// Valves that were fitted, as the plan says unless Instead says otherwise;
	// none means all that are left of the plan.
	Valves []shim.Valve
	// Instead are valves that got something else.
	Instead []Instead
	// Out says what differs from the readings in pulled shims.
	Out []Out
	// Taken says where fitted shims came from, and In what the micrometer read on
	// them.
	Taken []Taken
	In    []In
	Bin   string // where the pulled shims go
	Note  string
}

// An Instead is a valve that got another shim than planned.
type Instead struct {
	Valve shim.Valve
	Size  shim.Length // of the shim that went in; 0 where the valve kept its own
}

// An Out is a shim that came out of a valve.
type Out struct {
	Valve      shim.Valve
	shim.Marks      // none: as the readings say
	Scrap      bool // it does not go back into the box
}

// A Taken is a shim taken from a different bin than planned.
type Taken struct {
	Valve shim.Valve
	Bin   string
}

// An In is what was read on a shim that went in. A size of 0 means not read.
type In struct {
	Valve shim.Valve
	shim.Marks
}

// Fit books fitted shims: the pulled ones go into the box first, bought ones
// that nobody has booked in are received, and what was fitted is taken out. The
// error is [ErrStale] if the plan's pieces are no longer reserved for it.
func (s *Shop) Fit(ctx context.Context, job int64, f Fit) (Receipt, error) {
	return s.update(ctx, func(b *booking) error {
		w, err := load(b, job)
		if err != nil {
			return err
		}
		if err := b.familiesStand(job); err != nil { // another job of the machine may have fitted since
			return err
		}
		t, err := w.task(f)
		if err != nil {
			return err
		}
		held, err := b.freeHolds(job)
		if err != nil {
			return err
		}
		if err := b.named(w, t, held); err != nil {
			return err
		}
		if err := b.holding(w, t, held); err != nil {
			return err
		}
		for _, step := range []func(*work, *task) error{b.pull, b.arrive, b.place} {
			if err := step(w, t); err != nil {
				return err
			}
		}
		if err := b.PutJob(w.Job); err != nil {
			return err
		}
		return b.settle(job, held...)
	})
}

// A target is one valve and the shim that goes into it.
type target struct {
	valve   shim.Valve
	size    shim.Length
	own     bool // the valve keeps what came out of it
	planned bool
	Placement
}

// task is a [Fit] with the plan's part looked up.
type task struct {
	Fit
	targets []target
	left    []Placement // of the plan, once this fit is booked or told otherwise
	out     map[shim.Valve]Out
	pulled  map[shim.Valve]Lot // what came out in this fit
	bins    map[shim.Valve]string
	in      map[shim.Valve]In
	lots    map[shim.Valve]Lot // of the box, named by stamp and mic reading
	// promised are the pieces in the box that are reserved for its valves.
	promised map[slot]Lot
}

// task checks the fit against the job.
func (w *work) task(f Fit) (*task, error) {
	switch w.State {
	case StatePlanned, StateFitting:
	case StateMeasured:
		if len(f.Instead) == 0 {
			return nil, w.fail("plan it first", "has nothing to fit")
		}
	case StateFitted, StateRechecked:
		if len(f.Instead) == 0 {
			return nil, w.fail("all of its shims are fitted", "has nothing left to fit")
		}
	default:
		return nil, w.fail("plan it first", "has nothing to fit")
	}
	t := &task{Fit: f, out: map[shim.Valve]Out{}, pulled: map[shim.Valve]Lot{}, bins: map[shim.Valve]string{}, in: map[shim.Valve]In{}, lots: map[shim.Valve]Lot{}}
	left := map[shim.Valve]Placement{}
	for _, p := range w.left() {
		left[p.Valve] = p
	}
	seen, told := map[shim.Valve]bool{}, map[shim.Valve]bool{}
	add := func(g target) error {
		if seen[g.valve] {
			return shim.Fail(ErrInvalid, "give each valve once", "duplicate valve %s", g.valve)
		}
		seen[g.valve] = true
		t.targets = append(t.targets, g)
		return nil
	}
	for _, i := range f.Instead {
		v, err := w.valve(i.Valve)
		if err != nil {
			return nil, err
		}
		p, planned := left[v]
		g := target{valve: v, size: i.Size, own: i.Size == 0, planned: planned && p.Size == i.Size}
		if g.planned {
			g.Placement = p
		}
		if err := add(g); err != nil {
			return nil, err
		}
		told[v] = true
	}
	for _, valve := range f.Valves {
		v, err := w.valve(valve)
		if err != nil {
			return nil, err
		}
		if told[v] {
			continue
		}
		p, planned := left[v]
		if !planned {
			return nil, shim.Fail(ErrInvalid, "give the shim that went in with --instead", "job %d: the plan has nothing left for valve %s", w.ID, v)
		}
		if err := add(target{valve: v, size: p.Size, planned: true, Placement: p}); err != nil {
			return nil, err
		}
	}
	if len(f.Valves) == 0 {
		for v, p := range left {
			if !seen[v] {
				_ = add(target{valve: v, size: p.Size, planned: true, Placement: p})
			}
		}
	}
	if len(t.targets) == 0 {
		return nil, w.fail("measure again", "has nothing left to fit")
	}
	slices.SortFunc(t.targets, func(x, y target) int { return x.valve.Compare(y.valve) })
	for _, p := range w.left() {
		if i := slices.IndexFunc(t.targets, func(g target) bool { return g.valve == p.Valve }); i < 0 || t.targets[i].planned {
			t.left = append(t.left, p)
		}
	}
	for _, o := range f.Out {
		v, err := w.valve(o.Valve)
		if err != nil {
			return nil, err
		}
		t.out[v] = o
	}
	for _, from := range f.Taken {
		v, err := w.valve(from.Valve)
		if err == nil {
			err = t.goesIn(v)
		}
		if err != nil {
			return nil, err
		}
		t.bins[v] = from.Bin
	}
	for _, in := range f.In {
		v, err := w.valve(in.Valve)
		if err == nil {
			err = t.goesIn(v)
		}
		if err != nil {
			return nil, err
		}
		t.in[v] = in
	}
	if err := w.wholeRing(t); err != nil {
		return nil, err
	}
	return t, validText("note", f.Note)
}

// wholeRing, for shims changed one by one, refuses to book out the shim of a valve
// that is not fitted as well: no valve may be left without one. What is in the
// valves of a ring until all of them are fitted is booked only if it is a piece
// that the plan lends to that valve.
func (w *work) wholeRing(t *task) error {
	if w.engine.Spec.Access != shim.ByValve {
		return nil
	}
	plan := map[shim.Valve]Placement{}
	for _, p := range w.left() {
		plan[p.Valve] = p
	}
	// takes returns the valve whose shim, still in it, goes into another.
	takes := func(g target) (shim.Valve, bool) {
		_, told := t.bins[g.valve]
		if told || !g.planned || g.Source != SourceMoved || plan[g.From].Temporary != 0 {
			return shim.Valve{}, false
		}
		_, out := w.since(g.From, KindPulled)
		return g.From, !out
	}
	together := slices.Clone(t.targets)
	var open []target // with a shim out of a valve that the fit leaves out
	for i := 0; i < len(together); i++ {
		g := together[i]
		from, still := takes(g)
		if !still || slices.ContainsFunc(together, func(o target) bool { return o.valve == from }) {
			continue
		}
		open = append(open, g)
		p := plan[from]
		together = append(together, target{valve: from, size: p.Size, planned: true, Placement: p})
	}
	if len(open) == 0 {
		return nil
	}
	names := make([]string, len(together))
	for i, g := range together {
		names[i] = g.valve.String()
	}
	slices.Sort(names)
	return shim.Fail(ErrRing, fmt.Sprintf("book them together once the last of them has its own shim: job fit %d %s; or give the shims that are in with --instead", w.ID, strings.Join(names, " ")),
		"valve %s gets the shim of %s, which would be left with no shim: not allowed with shims on top", open[0].valve, open[0].From)
}

// goesIn refuses a valve that gets no shim in this fit.
func (t *task) goesIn(v shim.Valve) error {
	if !slices.ContainsFunc(t.targets, func(g target) bool { return g.valve == v }) {
		return shim.Fail(ErrInvalid, "add the valve to the fit", "valve %s gets no shim in this fit", v)
	}
	return nil
}
