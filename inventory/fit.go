package inventory

import (
	"context"
	"fmt"
	"slices"
	"strings"

	"shimwright/shim"
)

// A Fit is what the technician did.
type Fit struct {
	// Valves that were fitted, as the plan says unless Instead says otherwise;
	// none means all that are left of the plan.
	Valves []shim.Valve
	// Instead are valves that got something else.
	Instead []Instead
	// Out tells of pulled shims what differs from the readings.
	Out []Out
	// Taken tells where shims that went in came from, and In what a micrometer
	// read on them.
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

// A Taken is a shim that was taken from another bin than the plan says.
type Taken struct {
	Valve shim.Valve
	Bin   string
}

// An In is what was read on a shim that went in. A size of 0 was not read.
type In struct {
	Valve shim.Valve
	shim.Marks
}

// Fit books fitted shims: the pulled ones go into the box first, bought ones
// that nobody has booked in are received, and what was fitted is taken out. It
// is [ErrStale] where the plan's pieces are no longer held for it.
func (s *Shop) Fit(ctx context.Context, job int64, f Fit) (Receipt, error) {
	return s.update(ctx, func(b *booking) error {
		w, err := load(b, job)
		if err != nil {
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
	// promised are the pieces in the box that the plan has for its valves.
	promised map[slot]Lot
}

// task checks what was done against the job.
func (w *work) task(f Fit) (*task, error) {
	switch w.State {
	case Planned, Fitting:
	case Complete, Rechecked:
		if len(f.Instead) == 0 {
			return nil, w.fail("all of its shims are in", "has nothing left to fit")
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
			return Fail(ErrInvalid, "name each valve once", "valve %s is named twice", g.valve)
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
			return nil, Fail(ErrInvalid, "say what went in instead", "job %d: the plan has nothing left for valve %s", w.ID, v)
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

// wholeRing refuses, where shims are changed one by one, to book out the shim
// of a valve that is not fitted too: no valve is left without one there. What
// sits in the valves of a ring until all of them are fitted is booked only where
// it is a piece that the plan lends to the very valve.
func (w *work) wholeRing(t *task) error {
	if w.engine.Spec.Access != shim.ByValve {
		return nil
	}
	plan := map[shim.Valve]Placement{}
	for _, p := range w.left() {
		plan[p.Valve] = p
	}
	// takes gives the valve whose shim, still in it, goes into another.
	takes := func(g target) (shim.Valve, bool) {
		_, told := t.bins[g.valve]
		if told || !g.planned || g.Source != Moved || plan[g.From].Temporary != 0 {
			return shim.Valve{}, false
		}
		_, out := w.since(g.From, Pulled)
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
	return Fail(ErrRing, fmt.Sprintf("book them together once the last of them has its own shim: job fit %d %s; or tell with --instead what is in", w.ID, strings.Join(names, " ")),
		"valve %s gets the shim of %s, which would be booked as empty: with shims on top no valve is", open[0].valve, open[0].From)
}

// goesIn refuses a valve that gets no shim in this fit.
func (t *task) goesIn(v shim.Valve) error {
	if !slices.ContainsFunc(t.targets, func(g target) bool { return g.valve == v }) {
		return Fail(ErrInvalid, "name the valve as fitted too", "valve %s gets no shim in this fit", v)
	}
	return nil
}

// named finds the lots that stamp and mic reading name, of pieces that nobody was
// promised: such a piece went in instead of the planned one. A shim that is kept
// or moved is the very one, whatever is read on it. The job's own holds must be free.
func (b *booking) named(w *work, t *task, held []Hold) error {
	took := map[Lot]int{}
	for _, h := range held {
		took[h.Lot] += h.Count
	}
	for i := range t.targets {
		g := &t.targets[i]
		in := t.in[g.valve]
		bin, told := t.bins[g.valve]
		if in.Stamp == 0 || in.Mic == 0 || g.own || g.planned && g.Source == Moved && !told {
			continue
		}
		lots, err := spare(b, w.Diameter, in.Mic, w.ID)
		if err != nil {
			return err
		}
		for k := range lots {
			lots[k].Count -= took[lots[k].Lot]
		}
		best := pickWhere(lots, func(l Lot) bool { return l.Marks == in.Marks && (!told || strings.EqualFold(l.Bin, bin)) })
		if best < 0 {
			continue
		}
		took[lots[best].Lot]++
		t.lots[g.valve] = lots[best].Lot
		*g = target{valve: g.valve, size: in.Mic}
		t.left = slices.DeleteFunc(t.left, func(p Placement) bool { return p.Valve == g.valve })
	}
	return nil
}

// holding finds the pieces that the plan counts on, what was held first. It is
// [ErrStale] where one is gone or held by others. The job's own holds must be free.
func (b *booking) holding(w *work, t *task, held []Hold) (err error) {
	needs := w.onBox(t.left)
	if t.promised, err = w.promise(b, needs, held); err != nil {
		return err
	}
	for _, n := range needs {
		if _, here := t.promised[n.slot]; !here {
			return w.stale(n.size)
		}
	}
	return nil
}

func (w *work) stale(size shim.Length) error {
	return Fail(ErrStale, "plan the job again, or tell valve by valve what went in",
		"job %d: a shim of %s mm that its plan counts on is no longer in the box", w.ID, shim.MM.FormatAtLeast(size, 3))
}

// unlike is the error for a moved shim that came out as another one.
func (w *work) unlike(g target, size shim.Length) error {
	text := func(l shim.Length) string { return shim.MM.FormatAtLeast(l, 3) }
	leaves := ""
	if c, known := w.expect(g.valve, size); known {
		leaves = fmt.Sprintf(", which would leave %s mm", text(c))
	}
	return Fail(ErrStale, fmt.Sprintf("leave %s as it is, book the other valves alone, then plan the job again", g.valve),
		"valve %s: it was to get %s mm from %s, and %s mm came out of there%s", g.valve, text(g.size), g.From, text(size), leaves)
}

// pull books what came out of the valves, and out of those whose shim was
// moved into them.
func (b *booking) pull(w *work, t *task) error {
	var valves []shim.Valve
	for _, g := range t.targets {
		valves = append(valves, g.valve)
		if _, told := t.bins[g.valve]; g.planned && g.Source == Moved && !told {
			if _, out := w.since(g.From, Pulled); !out {
				valves = append(valves, g.From)
			}
		}
	}
	slices.SortFunc(valves, shim.Valve.Compare)
	for _, v := range slices.Compact(valves) {
		seat := w.seat(v, forever)
		if seat.Empty {
			continue
		}
		lot := Lot{Diameter: w.Diameter, Marks: seat.Marks, Used: true, Bin: t.Bin}
		out, told := t.out[v]
		if told && (out.Stamp != 0 || out.Mic != 0) {
			seat = seat.told(out.Stamp, out.Mic)
			lot.Stamp, lot.Mic = seat.Stamp, seat.Mic
		}
		if lot.Size() == 0 {
			return Fail(ErrInvalid, "measure it and tell what came out", "valve %s: nobody knows the size of the shim that came out", v)
		}
		if err := b.post(Movement{Kind: Pulled, Lot: lot, Count: 1, Job: w.ID, Valve: v, Note: t.Note}, respect); err != nil {
			return err
		}
		t.pulled[v] = lot
		if told && out.Scrap {
			if err := b.post(Movement{Kind: Scrapped, Lot: lot, Count: -1, Job: w.ID, Valve: v, Note: t.Note}, respect); err != nil {
				return err
			}
		}
	}
	return nil
}

// arrive books the bought pieces that are fitted and were not booked in.
func (b *booking) arrive(w *work, t *task) error {
	spare := map[shim.Length]int{}
	for _, p := range w.purchases {
		spare[p.Size] = w.arrived(p.Size) - w.used(p.Size)
	}
	for _, g := range t.targets {
		if _, told := t.bins[g.valve]; told || !g.planned || g.Source != Bought {
			continue
		}
		if spare[g.size]--; spare[g.size] >= 0 {
			continue
		}
		p, err := b.due(w, g)
		if err != nil {
			return err
		}
		i := Item{Lot: Lot{Diameter: w.Diameter, Marks: shim.Marks{Stamp: g.size}}, Count: 1, Quote: shim.Quote{Price: p.Price, Priced: p.Priced}, Note: t.Note}
		if err := b.came(p, 1, i); err != nil {
			return err
		}
	}
	return nil
}

// due is the purchase that a bought piece is of: one that is on order, else one
// that is to be ordered.
func (b *booking) due(w *work, g target) (Purchase, error) {
	list, err := b.Purchases(HoldFilter{Job: w.ID, Disc: shim.Disc{Diameter: w.Diameter, Size: g.size}})
	if err != nil {
		return Purchase{}, err
	}
	for _, open := range []func(Purchase) int{Purchase.Coming, Purchase.Missing} {
		for _, p := range list {
			if open(p) > 0 {
				return p, nil
			}
		}
	}
	return Purchase{Job: w.ID, Disc: shim.Disc{Diameter: w.Diameter, Size: g.size}, Terms: g.Terms}, nil
}

// place books what went in.
func (b *booking) place(w *work, t *task) error {
	for _, g := range t.targets {
		lot, err := b.choose(w, t, g)
		if err != nil {
			return err
		}
		delete(t.promised, slot{valve: g.valve})
		if lot, err = b.gauged(w, t, g, lot); err != nil {
			return err
		}
		if err := b.post(Movement{Kind: Fitted, Lot: lot, Count: -1, Job: w.ID, Valve: g.valve, Note: t.Note}, respect); err != nil {
			return err
		}
	}
	return nil
}

// gauged books the piece as what was read on it before it went in.
func (b *booking) gauged(w *work, t *task, g target, lot Lot) (Lot, error) {
	in, told := t.in[g.valve]
	if !told {
		return lot, nil
	}
	is := lot
	if in.Stamp != 0 {
		if lot.Stamp != 0 && in.Stamp != lot.Stamp {
			return lot, Fail(ErrInvalid, "tell another shim as what went in instead, or correct the box first",
				"valve %s: the shim for it is stamped %s mm, not %s mm", g.valve, shim.MM.FormatAtLeast(lot.Stamp, 3), shim.MM.FormatAtLeast(in.Stamp, 3))
		}
		is.Stamp = in.Stamp
	}
	if in.Mic != 0 {
		is.Mic = in.Mic
	}
	if is == lot {
		return lot, nil
	}
	for _, m := range []Movement{{Lot: lot, Count: -1}, {Lot: is, Count: 1}} {
		m.Kind, m.Job, m.Valve, m.Note = Corrected, w.ID, g.valve, t.Note
		if err := b.post(m, respect); err != nil {
			return lot, err
		}
	}
	return is, nil
}

// choose finds the lot that a shim is taken from: the one that was named by what
// was read on it; the bin that was told; the very shim that was moved or bought; the piece that the plan was promised;
// else one that nobody was promised, used before new.
func (b *booking) choose(w *work, t *task, g target) (Lot, error) {
	bin, told := t.bins[g.valve]
	lot, named := t.lots[g.valve]
	switch {
	case named:
		return lot, nil
	case g.own:
		lot, out := t.pulled[g.valve]
		if !out {
			return Lot{}, Fail(ErrInvalid, "tell the size that went in", "valve %s is empty and has no shim to keep", g.valve)
		}
		return lot, nil
	case told:
	case g.planned && g.Source == Moved:
		kept := slices.ContainsFunc(t.targets, func(o target) bool { return o.valve == g.From && o.own })
		switch lot, out := t.pulled[g.From]; {
		case out && kept:
			return Lot{}, w.stale(g.size)
		case out && t.out[g.From].Scrap:
			return Lot{}, Fail(ErrInvalid, "tell what went in instead, or from which bin another one was taken",
				"valve %s gets the shim of %s, which is thrown away", g.valve, g.From)
		case out && lot.Size() != g.size:
			now, err := load(b, w.ID) // with what came out in this fit
			if err == nil && !now.serves(g.Placement, lot.Size()) {
				err = now.unlike(g, lot.Size())
			}
			return lot, err
		case out:
			return lot, nil
		}
		fallthrough
	case g.planned:
		if lot, here := t.promised[slot{valve: g.valve}]; here {
			return lot, nil
		}
		bought := Lot{Diameter: w.Diameter, Marks: shim.Marks{Stamp: g.size}}
		if here, err := b.Balance(bought); g.Source == Bought && (err != nil || here.Count > 0) {
			return bought, err
		}
	}
	from := func(l Lot) bool { return !told || strings.EqualFold(l.Bin, bin) }
	all, err := b.Balances(StockFilter{Disc: shim.Disc{Diameter: w.Diameter, Size: g.size}})
	if err != nil {
		return Lot{}, err
	}
	others, err := spare(b, w.Diameter, g.size, w.ID)
	if err != nil {
		return Lot{}, err
	}
	free := slices.Clone(others)
	for v, lot := range t.promised {
		for i := range free {
			if free[i].Lot == lot && v.valve != g.valve {
				free[i].Count--
			}
		}
	}
	for _, lots := range [][]Balance{free, others, all} {
		if best := pickWhere(lots, from); best >= 0 {
			return lots[best].Lot, nil
		}
	}
	size := shim.MM.FormatAtLeast(g.size, 3)
	switch {
	case told:
		return Lot{}, Fail(ErrShort, "see where it lies with a listing of the box", "valve %s: there is no shim of %s mm in bin %s", g.valve, size, bin)
	case g.planned:
		return Lot{}, w.stale(g.size)
	}
	return Lot{}, Fail(ErrShort, "receive it first if it was never booked in", "valve %s: there is no shim of %s mm in the box", g.valve, size)
}
