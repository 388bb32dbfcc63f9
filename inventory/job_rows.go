package inventory

import (
	"cmp"
	"context"
	"fmt"
	"maps"
	"slices"
	"time"

	"shimwright/shim"
)

// A Seat is the shim in a valve now, as far as the job's rows say.
type Seat struct {
	Valve      shim.Valve
	Empty      bool // pulled, and nothing fitted since
	SetUp      bool // a fresh build, nothing fitted: the shim is one of the bench set, or there is none
	shim.Marks      // zero if not known
	// Temporary is the piece of the box that keeps an empty valve from standing
	// open by the plan; 0 where there is none.
	Temporary shim.Length
}

// told is the seat once a size was told of its shim: a mic reading stays with
// the stamp that it was read on.
func (s Seat) told(stamp, mic shim.Length) Seat {
	if mic == 0 && stamp == s.Stamp {
		mic = s.Mic
	}
	s.Stamp, s.Mic = stamp, mic
	return s
}

// work is a job with all that its rules need. What has been fitted and pulled
// is read off the ledger and not kept a second time.
type work struct {
	Job
	engine    Engine
	checks    []Check  // but those of undone corrections
	entered   int      // all checks
	plan      KeptPlan // the zero plan where no plan stands
	moves     []Movement
	purchases []Purchase
	spent     map[shim.Disc]int // of what came for the plan, the pieces fitted
}

// load reads a job.
func load(r Reader, id int64) (*work, error) {
	job, err := r.Job(id)
	if err != nil {
		return nil, err
	}
	w := &work{Job: job}
	if w.engine, err = r.Engine(job.Engine); err != nil {
		return nil, err
	}
	if err := w.loadChecks(r); err != nil {
		return nil, err
	}
	if job.Plan > 0 && job.State != StateOpen && job.State != StateMeasured {
		if w.plan, err = r.Plan(id, job.Plan); err != nil {
			return nil, err
		}
	}
	if w.purchases, err = r.Purchases(HoldFilter{Job: id}); err != nil {
		return nil, err
	}
	w.spent, err = w.spend(r)
	return w, err
}

// loadChecks reads what was measured, and what was fitted and pulled.
func (w *work) loadChecks(r Reader) (err error) {
	if w.checks, err = r.Checks(w.ID); err != nil {
		return err
	}
	rows, err := r.Movements(MovementFilter{Job: w.ID})
	if err != nil {
		return err
	}
	w.moves = standingRows(rows)
	w.entered = len(w.checks)
	w.checks = slices.DeleteFunc(w.checks, func(c Check) bool {
		return c.carried() && !slices.ContainsFunc(w.moves, func(m Movement) bool { return m.Seq == c.Seq })
	})
	w.readWith()
	return nil
}

// standingRows leaves out the rows that were taken back, and those that took them
// back. A row whose reversal was itself reversed stands again.
func standingRows(rows []Movement) []Movement {
	gone := map[int64]bool{}
	var kept []Movement
	for _, m := range slices.Backward(rows) {
		switch {
		case gone[m.Seq]:
		case m.Reverses != 0:
			gone[m.Reverses] = true
		default:
			kept = append(kept, m)
		}
	}
	slices.Reverse(kept)
	return kept
}

// family is that of the valve's shims.
func (w *work) family(v shim.Valve) shim.Family { return w.engine.Spec.FamilyOf(v) }

// disc is the kind of shim that the placement puts in.
func (w *work) disc(p Placement) shim.Disc { return w.family(p.Valve).Of(p.Size) }

// valve returns the engine's name for the valve: in2a becomes in2 if the side has
// one valve per cylinder.
func (w *work) valve(v shim.Valve) (shim.Valve, error) {
	place, found := w.engine.Spec.Find(v)
	if !found {
		valves := w.engine.Spec.Valves()
		return v, shim.Fail(ErrInvalid, fmt.Sprintf("its valves run from %s to %s", valves[0], valves[len(valves)-1]), "%s has no valve %s", w.Name, v)
	}
	return w.engine.Spec.Valves()[place], nil
}

// seat returns what was in the valve when the ledger's last row was upTo.
func (w *work) seat(v shim.Valve, upTo int64) Seat {
	seat := Seat{Valve: v, SetUp: w.Build}
	next := 0
	apply := func(limit int64) {
		for ; next < len(w.moves) && w.moves[next].Seq <= limit; next++ {
			m := w.moves[next]
			if m.Valve != v {
				continue
			}
			switch m.Kind {
			case KindPulled:
				seat = Seat{Valve: v, Empty: true}
			case KindFitted:
				seat = Seat{Valve: v, Marks: m.Marks}
			}
		}
	}
	for _, c := range w.checks {
		if c.Seq > upTo {
			break
		}
		apply(c.Seq)
		for _, m := range c.Readings {
			switch {
			case m.Valve != v:
			case m.Size() != 0:
				seat = Seat{Valve: v, SetUp: seat.SetUp, Marks: seat.Marks}.told(m.Stamp, m.Mic)
			case seat.SetUp && m.Reading.Kind != shim.Unread:
				seat.Marks = shim.Marks{} // measured without a shim
			}
		}
	}
	apply(upTo)
	return seat
}

// seated returns what is in the valve now, and what the plan lends it.
func (w *work) seated(v shim.Valve) Seat {
	seat := w.seat(v, forever)
	for _, p := range w.left() {
		if seat.Empty && p.Valve == v {
			seat.Temporary = p.Temporary
		}
	}
	return seat
}

// setUp finds a valve of a fresh build that has no shim of its own.
func (w *work) setUp() (shim.Valve, bool) {
	for _, v := range w.engine.Spec.Valves() {
		if w.seat(v, forever).SetUp {
			return v, true
		}
	}
	return shim.Valve{}, false
}

// limits are those that a reading of the valve is held to: in a fresh build its
// allowance has not settled yet.
func (w *work) limits(v shim.Valve) shim.Limits {
	t := w.engine.Spec.TrainOf(v)
	if w.Build {
		return t.Settling()
	}
	return t.Limits
}

// empty lists the valves with no shim fitted.
func (w *work) empty() []shim.Valve {
	var list []shim.Valve
	for _, m := range w.moves {
		if m.Kind == KindPulled && !slices.Contains(list, m.Valve) && w.seat(m.Valve, forever).Empty {
			list = append(list, m.Valve)
		}
	}
	return list
}

// forever is past the ledger's end.
const forever = int64(1)<<62 - 1

// since finds the valve's last movement of a kind after the plan was made.
func (w *work) since(v shim.Valve, kind Kind) (Movement, bool) {
	for _, m := range slices.Backward(w.moves) {
		if m.Seq <= w.plan.Seq {
			break
		}
		if m.Valve == v && m.Kind == kind {
			return m, true
		}
	}
	return Movement{}, false
}

// left lists the placements of the plan not yet fitted.
func (w *work) left() []Placement {
	var list []Placement
	for _, p := range w.plan.Placements {
		if _, done := w.since(p.Valve, KindFitted); !done {
			list = append(list, p)
		}
	}
	return list
}

// used counts the pieces of a kind that came for the plan and were fitted.
func (w *work) used(d shim.Disc) int { return min(w.spent[d], w.arrived(d)) }

// spend counts the pieces that came for the plan and were fitted as planned. Where
// another piece of the box was fitted in place of one that had not come, or that
// still lay where it came, that one is there for the next valve.
func (w *work) spend(r Reader) (map[shim.Disc]int, error) {
	var fits []Movement
	for _, p := range w.plan.Placements {
		if m, done := w.since(p.Valve, KindFitted); done && p.Source == SourceBought && w.taken(m).Disc() == w.disc(p) {
			fits = append(fits, m)
		}
	}
	slices.SortFunc(fits, func(x, y Movement) int { return cmp.Compare(x.Seq, y.Seq) })
	spent := map[shim.Disc]int{}
	for _, fit := range fits {
		lot := w.taken(fit)
		came, lots := -spent[lot.Disc()], map[Lot]bool{}
		for _, m := range w.moves {
			if m.Kind == KindReceived && m.Disc() == lot.Disc() && w.plan.Seq < m.Seq && m.Seq < fit.Seq {
				came += m.Count
				lots[m.Lot] = true
			}
		}
		if came > 0 && !lots[lot] {
			here := 0
			for l := range lots {
				n, err := before(r, l, fit.Seq)
				if err != nil {
					return nil, err
				}
				here += n
			}
			if here >= came {
				continue
			}
		}
		spent[lot.Disc()] += min(1, max(0, came))
	}
	return spent, nil
}

// taken is the lot that a fitted shim was taken from: it is another one than
// went in where a micrometer was put to it first.
func (w *work) taken(fitted Movement) Lot {
	for _, m := range w.moves {
		if m.Kind == KindCorrected && m.Batch == fitted.Batch && m.Valve == fitted.Valve && m.Count < 0 {
			return m.Lot
		}
	}
	return fitted.Lot
}

// arrived counts the pieces of a kind that arrived for the current plan.
func (w *work) arrived(d shim.Disc) int {
	n := 0
	for _, p := range w.purchases {
		if p.Disc == d {
			n += p.Arrived
		}
	}
	return n
}

// needs counts the pieces of a kind that the plan buys, used ones included.
func (w *work) needs(d shim.Disc) int {
	n := w.used(d)
	for _, p := range w.left() {
		if p.Source == SourceBought && w.disc(p) == d {
			n++
		}
	}
	return n
}

// bought are the job's purchases, with the pieces that came in for plans which
// gave way. The ledger tells what came in and on what terms; what came in counts
// as needed, ordered and come.
func (w *work) bought() []Purchase {
	came, earlier := map[Purchase]int{}, map[shim.Disc]int{}
	for _, m := range w.moves {
		if m.Kind == KindReceived {
			came[Purchase{Job: w.ID, Disc: m.Disc(), Terms: m.paid()}] += m.Count
			earlier[m.Disc()] += m.Count
		}
	}
	list := slices.Clone(w.purchases)
	for i := range list {
		p := &list[i]
		came[Purchase{Job: w.ID, Disc: p.Disc, Terms: p.Terms}] -= p.Arrived
		earlier[p.Disc] -= p.Arrived
		p.Needed = max(p.Needed, p.Arrived) // where another shim went in, too
	}
	for _, k := range slices.SortedFunc(maps.Keys(came), Purchase.Compare) {
		// Version 1 booked a price and left the purchase's as it was.
		n := min(came[k], earlier[k.Disc])
		if n <= 0 {
			continue
		}
		earlier[k.Disc] -= n
		at := slices.IndexFunc(list, k.same)
		if at < 0 {
			at, list = len(list), append(list, k)
		}
		list[at].Needed += n
		list[at].Ordered += n
		list[at].Arrived += n
	}
	slices.SortFunc(list, Purchase.Compare)
	return list
}

// A Known is the latest known shim in a valve.
type Known struct {
	Seat
	Job       int64     // the visit that it is known from; 0 where nobody knows, or of one to another shop
	Elsewhere *Imported // the visit to another shop that it is known from
	Time      time.Time // when it was seen or fitted
	Fitted    bool      // a shop put it in; otherwise it was found there
}

// Known gives, for each valve of the job's engine, its last known shim: from
// the job itself where own is set, and from the earlier visits of the same
// machine with the same valves. After a visit to another shop only that one tells.
func (s *Shop) Known(ctx context.Context, job int64, own bool) (list []Known, err error) {
	err = s.store.View(ctx, func(r Reader) error {
		w, err := load(r, job)
		if err != nil {
			return err
		}
		visits, err := w.visits(r)
		if err != nil {
			return err
		}
		if own {
			visits = append([]*work{w}, visits...)
		}
		elsewhere, err := w.elsewhere(r)
		if err != nil {
			return err
		}
		list = nil
		for _, v := range w.engine.Spec.Valves() {
			k := Known{Seat: Seat{Valve: v}}
			for _, visit := range visits {
				if elsewhere != nil && !visit.Opened.After(elsewhere.Job.Opened) {
					continue
				}
				if seat := visit.seat(v, forever); seat.Size() != 0 && !seat.SetUp {
					k = visit.known(seat)
					break
				}
			}
			if elsewhere != nil && k.Job == 0 {
				k = elsewhere.known(v)
			}
			list = append(list, k)
		}
		return nil
	})
	return list, err
}

// visits are the earlier visits of the machine, newest first.
func (w *work) visits(r Reader) ([]*work, error) {
	if w.Machine == 0 {
		return nil, nil
	}
	jobs, err := r.Jobs(JobFilter{Machine: w.Machine})
	if err != nil {
		return nil, err
	}
	var list []*work
	for _, j := range jobs {
		if j.ID >= w.ID {
			continue
		}
		visit, err := load(r, j.ID)
		if err != nil {
			return nil, err
		}
		if sameValves(&visit.engine.Spec, &w.engine.Spec) {
			list = append(list, visit)
		}
	}
	return list, nil
}

// known tells when and how the job came to know the shim that sits in a valve.
func (w *work) known(seat Seat) Known {
	k := Known{Seat: seat, Job: w.ID}
	seq := int64(-1)
	for _, c := range w.checks {
		for _, m := range c.Readings {
			if m.Valve == seat.Valve && m.Size() != 0 {
				seq, k.Time = c.Seq, c.Time
			}
		}
	}
	for _, m := range w.moves {
		if m.Valve == seat.Valve && m.Kind == KindFitted && m.Seq > seq {
			k.Time, k.Fitted = m.Time, true
		}
	}
	return k
}

// A Pick says where the shim for a placement lies.
type Pick struct {
	Placement
	Lot    // the lot that [Shop.Fit] takes it from; the zero lot where OnHand is false
	OnHand bool
	// ForNow says that it is the temporary shim for the valve, not its own.
	ForNow bool
}

// picks tells, for what is left of the job's plan, the lots that the shims will
// be taken from: what to fetch from which bin. Shims that are still in the
// engine, or have not come in, are not on hand. Temporary shims come last.
func (w *work) picks(r Reader) ([]Pick, error) {
	left := w.left()
	holds, err := r.Holds(HoldFilter{Job: w.ID})
	if err != nil {
		return nil, err
	}
	given, err := w.promise(r, w.holdable(left), holds)
	if err != nil {
		return nil, err
	}
	var list []Pick
	for _, p := range left {
		lot, here := given[slot{valve: p.Valve}]
		list = append(list, Pick{Placement: p, Lot: lot, OnHand: here})
	}
	for _, p := range left {
		if lot, here := given[slot{p.Valve, true}]; here {
			list = append(list, Pick{Placement: p, Lot: lot, OnHand: true, ForNow: true})
		}
	}
	return list, nil
}
