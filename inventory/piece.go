package inventory

import (
	"slices"

	"shimwright/shim"
)

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
	plans []Plan
	in    map[shim.Valve]*piece
	loose map[Lot][]*piece // out of their valves, in the box
	taken []*piece
	// before tells how many pieces of a lot lay in the box before a row.
	before func(Lot, int64) (int, error)
}

// takenPieces follows what the job took out of the box, with all that was told
// of it since: as it went in, at a check, in a correction, as it came out.
func (b *booking) takenPieces(w *work) ([]*piece, error) {
	h := &hands{work: w, in: map[shim.Valve]*piece{}, loose: map[Lot][]*piece{}, before: b.before}
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
func (b *booking) before(l Lot, seq int64) (int, error) {
	rows, err := b.Movements(MovementFilter{Before: seq, Disc: l.Disc()})
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
	case m.Kind == Pulled:
		p := h.in[m.Valve]
		if delete(h.in, m.Valve); p == nil {
			p = &piece{}
		}
		p.told(m.Stamp, m.Mic)
		p.known.Mic = m.Mic // what was read in the valve was another one's where the fit was corrected
		p.known.Valve, p.batch = m.Valve, m.Batch
		h.loose[m.Lot] = append(h.loose[m.Lot], p)
	case m.Kind == Scrapped:
		h.out(m.Lot, func(p *piece) bool { return p.known.Valve == m.Valve && p.batch == m.Batch })
	case m.Kind == Corrected && m.Count < 0: // read as it goes in: the next row says as what
		p, err := h.take(m)
		if err != nil {
			return err
		}
		p.told(next[0].Stamp, next[0].Mic)
		p.known.Valve, p.batch = m.Valve, m.Batch
		h.loose[next[0].Lot] = append(h.loose[next[0].Lot], p)
	case m.Kind == Fitted:
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
	n, err := h.before(m.Lot, m.Seq)
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

// movedFrom is the valve whose shim the plan of then moves into the row's valve.
func (h *hands) movedFrom(m Movement) (shim.Valve, bool) {
	for _, plan := range slices.Backward(h.plans) {
		if plan.Seq >= m.Seq {
			continue
		}
		for _, p := range plan.Placements {
			if p.Valve == m.Valve && p.Source == Moved {
				return p.From, true
			}
		}
		break
	}
	return shim.Valve{}, false
}
