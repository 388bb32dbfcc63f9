package inventory

import (
	"fmt"
	"slices"

	"shimwright/shim"
)

// reloaded adds to readings what a new reading of an opener makes of its closer's
// loaded gap: the closer's clearance is what is left of that gap, so that an
// opener read again changes it as well, unless a shim of the two was changed in
// between or the closer is read again too.
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
		changed := slices.ContainsFunc(w.moves, func(x Movement) bool {
			return x.Seq > seq && (x.Valve == closer || x.Valve == closer.Other())
		})
		opener := e.Counted(m.Reading)
		if last.Reading.Unloaded == (shim.Unloaded{}) || changed || last.Reading.TakenOff(opener) {
			continue
		}
		if !e.AsWarm(m.Temperature, last.Temperature) {
			return nil, shim.Fail(ErrInvalid, fmt.Sprintf("read its loaded gap again too: %s=loaded:CLEARANCE", closer),
				"valve %s was read loaded with the engine not as warm as now: the new reading of %s cannot be taken off that gap", closer, m.Valve)
		}
		r, known := shim.LoadedLess(last.Reading.Loaded(), opener, e.Measures().Leaves(m.With))
		if estimate, number := r.Estimate(); !known || number && estimate < 0 {
			return nil, shim.Fail(ErrInvalid, fmt.Sprintf("read its loaded gap again too: %s=loaded:CLEARANCE", closer),
				"valve %s was read loaded, %s less the opener's clearance: the new reading of %s takes that away", closer, last.Reading.Loaded().Format(e.Units.Clearance), m.Valve)
		}
		all = append(all, shim.Measurement{Valve: closer, Reading: r, Temperature: last.Temperature, Note: last.Note, With: m.With})
	}
	return all, nil
}

// Unloaded is the last reading of a closer's opener, to take off a loaded gap that is read
// alone; false where there is none, where it is provisional, or where a shim of the two was
// changed since.
func (f File) Unloaded(closer shim.Valve) (shim.Measurement, bool) {
	opener := closer.Other()
	m, seq := lastOf(f.Checks, opener)
	changed := slices.ContainsFunc(f.Standing, func(x Movement) bool {
		return x.Seq > seq && (x.Valve == closer || x.Valve == opener)
	})
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
