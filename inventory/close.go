package inventory

import (
	"context"
	"fmt"
	"slices"
	"strings"

	"shimwright/shim"
)

// Close ends a job. Every valve's last reading has to be inside its limits and
// made after its shim was changed; anyway closes the job all the same.
func (s *Shop) Close(ctx context.Context, job int64, anyway bool) error {
	_, err := s.update(ctx, func(b *booking) error {
		w, err := load(b, job)
		if err != nil {
			return err
		}
		if w.State.Final() {
			return w.fail("", "is at its end")
		}
		if empty := w.empty(); len(empty) > 0 {
			return Fail(ErrState, "fit what is left, undo it, or plan again", "job %d cannot be closed: valve %s stands empty", job, empty[0])
		}
		if open := w.unproven(); len(open) > 0 && !anyway {
			return Fail(ErrState, "finish the work and measure again, or close it anyway", "job %d cannot be closed: %s", job, some(open))
		}
		w.State, w.Anyway = Closed, len(w.unproven()) > 0
		if err := b.PutJob(w.Job); err != nil {
			return err
		}
		return b.settle(job)
	})
	return err
}

// some joins reasons, the first few of them.
func some(list []string) string {
	const most = 4
	text := strings.Join(list[:min(most, len(list))], "; ")
	if n := len(list) - most; n > 0 {
		text += fmt.Sprintf("; %d more valves", n)
	}
	return text
}

// unproven lists the valves whose clearance is not proven to be inside the
// limits, with the reason.
func (w *work) unproven() []string {
	readings, from := w.latest()
	var list []string
	for _, v := range w.engine.Spec.Valves() {
		m, read := readings[v]
		changed := w.fittedBetween(v, from[v].Seq, forever)
		switch {
		case !read:
			list = append(list, fmt.Sprintf("%s is not measured", v))
		case changed:
			list = append(list, fmt.Sprintf("%s is not measured since its shim was changed", v))
		default:
			limits := w.engine.Spec.Train(v.Side).Limits
			if verdict := limits.Judge(m.Reading); verdict != shim.OK {
				list = append(list, fmt.Sprintf("%s is %s", v, verdict))
			} else if limits.Undecided(m.Reading) {
				list = append(list, fmt.Sprintf("%s is undecided: %s", v, limits.Deciding(m.Reading, w.engine.Spec.Units)))
			}
		}
	}
	return list
}

// Cancel gives a job up: what it held is free again, what was fitted goes back
// into the box and what was pulled out of it. Pieces that were bought for the
// job stay in the box, and what was read on a shim stays known. It is [ErrShort]
// where a pulled shim was used elsewhere since.
func (s *Shop) Cancel(ctx context.Context, job int64, note string) (Receipt, error) {
	return s.update(ctx, func(b *booking) error {
		w, err := load(b, job)
		if err != nil {
			return err
		}
		if w.State.Final() {
			return w.fail("", "is at its end")
		}
		taken, err := b.takenPieces(w)
		if err != nil {
			return err
		}
		w.State = Cancelled
		if err := b.PutJob(w.Job); err != nil {
			return err
		}
		rows := slices.DeleteFunc(slices.Clone(w.moves), func(m Movement) bool { return m.Kind == Received })
		if err := b.reverse(rows, []int64{job}, note); err != nil {
			return err
		}
		return b.stillKnown(taken, note)
	})
}

// stillKnown books anew what was told of shims of the box since they were taken
// out of it: they are back in it.
func (b *booking) stillKnown(taken []*piece, note string) error {
	for _, p := range taken {
		is := p.from
		is.Stamp, is.Mic = p.known.Stamp, p.known.Mic
		here, err := b.Balance(p.from)
		if err != nil {
			return err
		}
		if is == p.from || here.Count == 0 { // its like was used since, and it went into the engine instead
			continue
		}
		for _, row := range []Movement{{Lot: p.from, Count: -1}, {Lot: is, Count: 1}} {
			row.Kind, row.Note = Corrected, note
			if err := b.post(row, override); err != nil {
				return err
			}
		}
	}
	return nil
}
