package inventory

import (
	"fmt"
	"slices"

	"shimwright/shim"
)

// reloaded adds to readings what a new reading of an opener makes of its closer's
// loaded gap: the closer's clearance is what is left of that gap, so that an
// opener read again changes it as well, unless a shim of the two was changed in
// between or the closer is read again too. A correction changes no shim.
func (w *work) reloaded(list []shim.Measurement) ([]shim.Measurement, error) {
	e, all := &w.engine.Spec, slices.Clone(list)
	for _, m := range list {
		closer := m.Valve
		closer.Closer = true
		at, has := e.Find(closer)
		if m.Valve.Closer || m.Reading.Kind == shim.Unread || !has || slices.ContainsFunc(list, func(o shim.Measurement) bool {
			place, known := e.Find(o.Valve)
			return known && place == at && o.Reading.Kind != shim.Unread
		}) {
			continue
		}
		closer = e.Valves()[at]
		if !closer.Closer {
			continue
		}
		last, seq := lastOf(w.checks, closer)
		changed := changedSince(w.checks, w.moves, seq, closer)
		opener := e.Counted(m.Reading)
		if last.Reading.Unloaded == (shim.Unloaded{}) || changed || last.Reading.TakenOff(opener) {
			continue
		}
		again := fmt.Sprintf("read its loaded gap again too: %s=loaded:CLEARANCE", closer)
		if over, known := w.openerOver(closer, seq); known && over != m.Size() && (m.Size() != 0 || w.Build) {
			return nil, shim.Fail(ErrInvalid, again,
				"valve %s was read loaded over another shim of %s: the new reading of %s cannot be taken off that gap", closer, m.Valve, m.Valve)
		}
		if !e.AsWarm(m.Temperature, last.Temperature) {
			return nil, shim.Fail(ErrInvalid, again,
				"valve %s was read loaded with the engine not as warm as now: the new reading of %s cannot be taken off that gap", closer, m.Valve)
		}
		r, known := shim.LoadedLess(last.Reading.Loaded(), opener, e.Measures().Leaves(m.With))
		if estimate, number := r.Estimate(); !known || number && estimate < 0 {
			return nil, shim.Fail(ErrInvalid, again,
				"valve %s was read loaded, %s less the opener's clearance: the new reading of %s takes that away", closer, last.Reading.Loaded().Format(e.Units.Clearance), m.Valve)
		}
		closed := shim.Measurement{Valve: closer, Reading: r, Temperature: last.Temperature, Note: last.Note, With: m.With}
		if w.Build { // where no size is none
			closed.Marks = last.Marks
		}
		all = append(all, closed)
	}
	return all, nil
}

// openerOver is the size that the opener was read over for the closer's last loaded gap, as
// far as the readings say; 0 in a fresh build is no shim.
func (w *work) openerOver(closer shim.Valve, seq int64) (size shim.Length, known bool) {
	var until []Check
	for i, c := range w.checks {
		if c.Seq <= seq && slices.ContainsFunc(c.Readings, func(m shim.Measurement) bool { return m.Valve == closer && m.Reading.Unloaded != (shim.Unloaded{}) }) {
			until = w.checks[:i+1]
		}
	}
	opener, _ := lastOf(until, closer.Other())
	size = opener.Size()
	return size, opener.Reading.Kind != shim.Unread && (size != 0 || w.Build)
}

// changedSince reports whether a shim of the closer or its opener was changed after that row
// of the ledger. What a correction books out and in was there all the time.
func changedSince(checks []Check, moves []Movement, seq int64, closer shim.Valve) bool {
	return slices.ContainsFunc(moves, func(x Movement) bool {
		corrected := slices.ContainsFunc(checks, func(c Check) bool {
			return c.carried() && x.Seq <= c.Seq && slices.ContainsFunc(moves, func(y Movement) bool { return y.Seq == c.Seq && y.Batch == x.Batch })
		})
		return x.Seq > seq && (x.Valve == closer || x.Valve == closer.Other()) && !corrected
	})
}

// Unloaded is the last reading of a closer's opener, to take off a loaded gap that is read
// alone; false where there is none, where it is provisional, or where a shim of the two was
// changed since.
func (f File) Unloaded(closer shim.Valve) (shim.Measurement, bool) {
	opener := closer.Other()
	m, seq := lastOf(f.Checks, opener)
	changed := changedSince(f.Checks, f.Standing, seq, closer)
	return m, m.Reading.Kind != shim.Unread && !changed && !slices.Contains(f.CloserFirst, opener)
}

// lastOf is a valve's last reading, and the ledger's last row then.
func lastOf(checks []Check, v shim.Valve) (last shim.Measurement, seq int64) {
	for _, c := range checks {
		for _, m := range c.Readings {
			if m.Valve == v && m.Reading.Kind != shim.Unread {
				last, seq = m, c.Seq
			}
		}
	}
	return last, seq
}
