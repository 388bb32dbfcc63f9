package inventory

import (
	"context"
	"fmt"
	"slices"

	"shimwright/shim"
)

// A Correction says which shims were really fitted in some valves.
type Correction struct {
	Lay []Lay
	// PutRight means the shims have been put right since: each valve holds
	// what was booked for it again. The readings were taken before that.
	PutRight bool
	Note     string
}

// A Lay is one valve with the shim that was really in it: the shim booked into
// the valve From; else, where Mic is known, the shim booked into this valve,
// which is of another size; else a piece of the size Stamp from the box.
type Lay struct {
	Valve shim.Valve
	From  shim.Valve
	shim.Marks
}

// Exchanged lists what was where if each valve had the shim of the next one, and
// the last one that of the first.
func Exchanged(valves []shim.Valve) []Lay {
	list := make([]Lay, len(valves))
	for i, v := range valves {
		list[i] = Lay{Valve: v, From: valves[(i+1)%len(valves)]}
	}
	return list
}

// CorrectFit books what was really fitted. Readings taken since remain, with the
// shims that they were taken with. A plan made on the wrong shims no longer applies.
func (s *Shop) CorrectFit(ctx context.Context, job int64, c Correction) (Receipt, error) {
	return s.update(ctx, func(b *booking) error {
		w, err := load(b, job)
		if err != nil {
			return err
		}
		if err := w.correctable(); err != nil {
			return err
		}
		lay, err := w.lay(c)
		if err != nil {
			return err
		}
		if v, already := w.putRight(lay); already && c.PutRight {
			return shim.Fail(ErrState, "measure these valves again first", "job %d: valve %s was already put right and booked, and not measured since", job, v)
		}
		if err := validText("note", c.Note); err != nil {
			return err
		}
		if _, err := b.freeHolds(job); err != nil {
			return err
		}
		if w.State == StatePlanned {
			// Before anything is booked: it would count for the plan that is cancelled.
			if stands, err := b.restand(w); err != nil {
				return err
			} else if !stands {
				w.State = StateMeasured
			}
		}
		booked, err := b.relay(w, lay, c.Note)
		if err != nil {
			return err
		}
		if err := b.carryReadings(w, lay); err != nil {
			return err
		}
		if c.PutRight {
			if err := b.putBack(w, lay, booked, c.Note); err != nil {
				return err
			}
		}
		if err := b.PutJob(w.Job); err != nil {
			return err
		}
		return b.settle(job)
	})
}

// correctable refuses if the fit is missing or not complete.
func (w *work) correctable() error {
	switch {
	case w.State.Final():
		return w.fail("its record is final", "cannot be changed")
	case w.State == StateFitting:
		return w.fail("fit the rest of the plan first", "cannot be corrected until all its shims are fitted")
	case !w.anyFitted():
		return w.fail("fit its plan first", "has no fit to correct")
	}
	return nil
}

// putRight finds a valve whose last booking put its shim right and that has not been
// read since: in one booking a shim went in and out again.
func (w *work) putRight(list []laid) (shim.Valve, bool) {
	_, from := w.latest()
	for _, l := range list {
		batch, last, fitted := int64(0), int64(0), 0
		for _, m := range w.moves {
			if m.Valve != l.Valve || m.Kind != KindFitted {
				continue
			}
			if m.Batch != batch {
				batch, fitted = m.Batch, 0
			}
			fitted, last = fitted+1, m.Seq
		}
		if fitted > 1 && from[l.Valve].Seq < last {
			return l.Valve, true
		}
	}
	return shim.Valve{}, false
}

// laid is a [Lay] with what was booked for the valve and what was in it.
type laid struct {
	Lay
	booked, fact Lot
}

// lay checks the correction against the engine and the shims in it.
func (w *work) lay(c Correction) ([]laid, error) {
	if len(c.Lay) == 0 {
		return nil, shim.Fail(ErrInvalid, "give the valves", "nothing to correct")
	}
	place := map[shim.Valve]int{}
	list := make([]laid, len(c.Lay))
	for i, l := range c.Lay {
		v, err := w.valve(l.Valve)
		if err != nil {
			return nil, err
		}
		if _, twice := place[v]; twice {
			return nil, shim.Fail(ErrInvalid, "give each valve once", "duplicate valve %s", v)
		}
		seat := w.seat(v, forever)
		lot := Lot{Family: w.family(v), Marks: seat.Marks, Used: true}
		if lot.Size() == 0 {
			return nil, shim.Fail(ErrInvalid, "read its shim first", "valve %s: the size of its shim is not known", v)
		}
		place[v] = i
		l.Valve = v
		list[i] = laid{Lay: l, booked: lot}
	}
	given := map[shim.Valve]bool{}
	for i := range list {
		l := &list[i]
		l.fact = l.booked
		if w.seat(l.Valve, forever).SetUp {
			return nil, shim.Fail(ErrInvalid, "write what a micrometer reads on it into a reading: job recheck VALVE=CLEARANCE/SIZE; a shim of its own is fitted by a plan",
				"valve %s has no shim of its own: what is in is a set-up shim of the bench set, or none, and the record knows none of them", l.Valve)
		}
		switch {
		case l.From != (shim.Valve{}):
			from, err := w.valve(l.From)
			if err != nil {
				return nil, err
			}
			at, known := place[from]
			if !known || given[from] || from == l.Valve {
				return nil, shim.Fail(ErrInvalid, "give every valve that had another valve's shim", "valve %s cannot have had the shim of %s", l.Valve, from)
			}
			if family := w.family(l.Valve); w.family(from) != family {
				return nil, shim.Fail(ErrInvalid, "check the valves", "valve %s takes %s: it cannot have had the shim of %s, which takes %s", l.Valve, family, from, w.family(from))
			}
			given[from] = true
			l.fact = list[at].booked
		case l.Mic != 0:
			if l.fact.Mic = l.Mic; l.Stamp != 0 {
				l.fact.Stamp = l.Stamp
			}
			if c.PutRight {
				return nil, shim.Fail(ErrInvalid, "correct it first, then book the new shim with a fit", "valve %s: a single shim cannot be put right this way", l.Valve)
			}
		default:
			l.fact = Lot{Family: w.family(l.Valve), Marks: shim.Marks{Stamp: l.Stamp}}
			for _, m := range w.moves {
				if m.Valve == l.Valve && m.Kind == KindFitted {
					l.booked = m.Lot // it never left its place
				}
			}
		}
		for _, size := range []shim.Length{l.fact.Stamp, l.fact.Mic} {
			if err := shim.ImplausibleSize(size, shim.MM); size != 0 && err != nil {
				return nil, shim.Fail(ErrInvalid, "", "valve %s: %w", l.Valve, err)
			}
		}
	}
	for _, l := range list {
		if l.From != (shim.Valve{}) && !given[l.Valve] {
			return nil, shim.Fail(ErrInvalid, "give the valve that had it", "no valve is given for the shim of %s", l.Valve)
		}
	}
	for i, x := range list {
		for _, y := range list[i+1:] {
			if x.From != (shim.Valve{}) || y.From != (shim.Valve{}) || x.Mic == 0 || y.Mic == 0 || w.family(x.Valve) != w.family(y.Valve) {
				continue
			}
			near := func(mic shim.Length, of, own Lot) bool { return (mic - of.Size()).Abs() < (mic-own.Size()).Abs()/2 }
			if near(x.Mic, y.booked, x.booked) && near(y.Mic, x.booked, y.booked) {
				return nil, shim.Fail(ErrInvalid, fmt.Sprintf("book the exchange: job correct %d %s %s; were both marks wrong all the same, book one after the other", w.ID, x.Valve, y.Valve),
					"the shims of %s and %s measure what the record has in the other valve: they are exchanged", x.Valve, y.Valve)
			}
		}
	}
	if err := w.corrects(list); err != nil {
		return nil, err
	}
	slices.SortFunc(list, func(x, y laid) int { return x.Valve.Compare(y.Valve) })
	return list, nil
}

// corrects refuses what the record has already: it would cancel a plan for nothing.
func (w *work) corrects(list []laid) error {
	known := func(l laid) bool { return w.seat(l.Valve, forever).Marks == l.fact.Marks }
	size := func(l laid) string { return w.engine.Spec.Units.Size.FormatAtLeast(l.fact.Size(), 3) }
	for _, l := range list {
		if l.From == (shim.Valve{}) && known(l) {
			return shim.Fail(ErrInvalid, "leave it out; if its reading does not belong to it, measure the valve again", "valve %s: the record has %s there already: there is nothing to correct", l.Valve, size(l))
		}
	}
	if swapped := func(l laid) bool { return l.From != (shim.Valve{}) }; slices.ContainsFunc(list, swapped) && !slices.ContainsFunc(list, func(l laid) bool { return swapped(l) && !known(l) }) {
		return shim.Fail(ErrInvalid, "check the valves", "these valves all have a shim of %s: an exchange of them corrects nothing", size(list[0]))
	}
	return nil
}

// relay books the recorded shims out of their valves, and those that were really
// there in. It returns the lots that came out.
func (b *booking) relay(w *work, list []laid, note string) (map[shim.Valve]Lot, error) {
	out := map[shim.Valve]Lot{}
	for _, l := range list {
		lot := l.booked
		if l.From == (shim.Valve{}) && l.Mic != 0 {
			lot = l.fact // one piece, known better
		}
		out[l.Valve] = lot
		if err := b.post(Movement{Kind: KindPulled, Lot: lot, Count: 1, Job: w.ID, Valve: l.Valve, Note: note}, respect); err != nil {
			return nil, err
		}
	}
	for i := range list {
		l := &list[i]
		if l.From == (shim.Valve{}) && l.Mic == 0 {
			lots, err := spare(b, w.family(l.Valve).Of(l.Stamp), w.ID)
			if err != nil {
				return nil, err
			}
			best := pick(lots)
			if best < 0 {
				return nil, shim.Fail(ErrShort, "receive it first if it was never booked in", "valve %s: no shim of %s mm in the box", l.Valve, shim.MM.FormatAtLeast(l.Stamp, 3))
			}
			l.fact = lots[best].Lot
		}
		if err := b.post(Movement{Kind: KindFitted, Lot: l.fact, Count: -1, Job: w.ID, Valve: l.Valve, Note: note}, respect); err != nil {
			return nil, err
		}
	}
	return out, nil
}

// putBack books what was in the valves out, and what was booked for them in again.
func (b *booking) putBack(w *work, list []laid, booked map[shim.Valve]Lot, note string) error {
	for _, l := range list {
		lot := l.fact
		lot.Used = true
		if err := b.post(Movement{Kind: KindPulled, Lot: lot, Count: 1, Job: w.ID, Valve: l.Valve, Note: note}, respect); err != nil {
			return err
		}
	}
	for _, l := range list {
		if err := b.post(Movement{Kind: KindFitted, Lot: booked[l.Valve], Count: -1, Job: w.ID, Valve: l.Valve, Note: note}, respect); err != nil {
			return err
		}
	}
	return nil
}

// carryReadings enters the readings since the fit a second time, with the shims
// that were really in the valves: the clearances remain.
func (b *booking) carryReadings(w *work, list []laid) error {
	readings, from := w.latest()
	check := Check{Job: w.ID, Number: w.entered + 1, Kind: CheckRecheck, Seq: b.last.Seq, Time: b.at, Who: b.who,
		Note: carriedNote}
	for _, l := range list {
		m, read := readings[l.Valve]
		since := !slices.ContainsFunc(w.moves, func(x Movement) bool { return x.Valve == l.Valve && x.Seq > from[l.Valve].Seq })
		if read && since && from[l.Valve].Kind == CheckRecheck {
			i := slices.IndexFunc(from[l.Valve].Readings, func(r shim.Measurement) bool { return r.Valve == l.Valve })
			m = from[l.Valve].Readings[i] // as it was read: what it counts for is worked out again
			m.Stamp, m.Mic = l.fact.Stamp, l.fact.Mic
			m.With = shim.Gauge{} // known by the check that it was made in
			check.Readings = append(check.Readings, m)
		}
	}
	if len(check.Readings) == 0 {
		return nil
	}
	return b.AddCheck(check)
}

// carriedNote marks a check that enters earlier readings again: nobody measured
// then.
const carriedNote = "read before, with the shims that lay in these valves in fact"

// carried reports that a correction entered the check.
func (c Check) carried() bool { return c.Kind == CheckRecheck && c.Note == carriedNote }

// reads reports whether the check has a reading of the valve.
func (c Check) reads(v shim.Valve) bool {
	return slices.ContainsFunc(c.Readings, func(m shim.Measurement) bool { return m.Valve == v && m.Reading.Kind != shim.Unread })
}

// A piece is one shim that a job had in hand.
type piece struct {
	taken bool  // out of the box; else it was in the engine
	from  Lot   // the lot that it was taken out of
	known Seat  // what was told of it last, and the valve that it came out of or was read for
	batch int64 // in which it was
}

func (p *piece) told(stamp, mic shim.Length) {
	if stamp == 0 {
		stamp = p.known.Stamp
	}
	p.known = p.known.told(stamp, mic)
}

// hands follows the pieces of a job through its rows.
type hands struct {
	*work
	plans []KeptPlan
	in    map[shim.Valve]*piece
	loose map[Lot][]*piece // out of their valves, in the box
	taken []*piece
	r     Reader
}

// takenPieces follows what the job took out of the box, with everything entered
// about it since: as it went in, at a check, in a correction, as it came out.
func (b *booking) takenPieces(w *work) ([]*piece, error) {
	h := &hands{work: w, in: map[shim.Valve]*piece{}, loose: map[Lot][]*piece{}, r: b}
	for n := 1; n <= w.Plan; n++ {
		p, err := b.Plan(w.ID, n)
		if err != nil {
			return nil, err
		}
		h.plans = append(h.plans, p)
	}
	checks := w.checks
	for i, m := range w.moves {
		for ; len(checks) > 0 && checks[0].Seq < m.Seq; checks = checks[1:] {
			h.read(checks[0])
		}
		if err := h.follow(m, w.moves[i+1:]); err != nil {
			return nil, err
		}
	}
	for _, c := range checks {
		h.read(c)
	}
	return h.taken, nil
}

// before counts the pieces of a lot before a row of the ledger.
func before(r Reader, l Lot, seq int64) (int, error) {
	rows, err := r.Movements(MovementFilter{Before: seq, Disc: l.Disc()})
	n := 0
	for _, m := range rows {
		if m.Lot == l {
			n += m.Count
		}
	}
	return n, err
}

func (h *hands) read(c Check) {
	for _, m := range c.Readings {
		if p := h.in[m.Valve]; p != nil && m.Size() != 0 {
			p.told(m.Stamp, m.Mic)
		}
	}
}

func (h *hands) follow(m Movement, next []Movement) error {
	switch {
	case m.Kind == KindPulled:
		p := h.in[m.Valve]
		if delete(h.in, m.Valve); p == nil {
			p = &piece{}
		}
		p.told(m.Stamp, m.Mic)
		p.known.Mic = m.Mic // what was read in the valve was another one's where the fit was corrected
		p.known.Valve, p.batch = m.Valve, m.Batch
		h.loose[m.Lot] = append(h.loose[m.Lot], p)
	case m.Kind == KindScrapped:
		h.out(m.Lot, func(p *piece) bool { return p.known.Valve == m.Valve && p.batch == m.Batch })
	case m.Kind == KindCorrected && m.Count < 0: // read as it goes in: the next row says as what
		p, err := h.take(m)
		if err != nil {
			return err
		}
		p.told(next[0].Stamp, next[0].Mic)
		p.known.Valve, p.batch = m.Valve, m.Batch
		h.loose[next[0].Lot] = append(h.loose[next[0].Lot], p)
	case m.Kind == KindFitted:
		p, err := h.take(m)
		h.in[m.Valve] = p
		return err
	}
	return nil
}

// out takes a loose piece of the lot, the last that suits; nil where none does.
func (h *hands) out(l Lot, suits func(*piece) bool) *piece {
	list := h.loose[l]
	for i, p := range slices.Backward(list) {
		if suits(p) {
			h.loose[l] = slices.Delete(slices.Clone(list), i, i+1)
			return p
		}
	}
	return nil
}

// take finds the piece that goes into a valve: the one that it kept, the one
// just read, the one that the plan moves there; else one of the box, where
// there are others than the job's own.
func (h *hands) take(m Movement) (*piece, error) {
	from, moves := h.movedFrom(m)
	p := h.out(m.Lot, func(p *piece) bool {
		return p.batch == m.Batch && p.known.Valve == m.Valve || moves && p.known.Valve == from
	})
	if p != nil {
		return p, nil
	}
	n, err := before(h.r, m.Lot, m.Seq)
	if err != nil {
		return nil, err
	}
	if n <= len(h.loose[m.Lot]) {
		if p := h.out(m.Lot, func(*piece) bool { return true }); p != nil {
			return p, nil
		}
	}
	p = &piece{taken: true, from: m.Lot, known: Seat{Valve: m.Valve, Marks: m.Marks}, batch: m.Batch}
	h.taken = append(h.taken, p)
	return p, nil
}

// movedFrom is the valve whose shim the plan of that time moves into the row's valve.
func (h *hands) movedFrom(m Movement) (shim.Valve, bool) {
	for _, plan := range slices.Backward(h.plans) {
		if plan.Seq >= m.Seq {
			continue
		}
		for _, p := range plan.Placements {
			if p.Valve == m.Valve && p.Source == SourceMoved {
				return p.From, true
			}
		}
		break
	}
	return shim.Valve{}, false
}
