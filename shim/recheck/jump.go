package recheck

import (
	"shimwright/shim"
	"shimwright/shim/doubt"
)

// Jumps lists the valves whose stack (see [shim.Setting.Stack]) moved between
// two lists of readings, in the order of the second, by more than the doubt
// explains: nothing wore between them, so what was read does not belong to the
// shim that is booked. Difference is that of the clearance. In a fresh build no size
// before is no shim.
func Jumps(e *shim.Engine, before, after []shim.Measurement, build bool, g shim.Gauge) []Deviation {
	settle := e.Setting
	if build {
		settle = e.SettingOf
	}
	was := map[shim.Valve]shim.Measurement{}
	for _, m := range before {
		was[m.Valve] = m
	}
	var found []Deviation
	for _, m := range after {
		at, read := m.Reading.Bound()
		now := m
		now.Reading = shim.ReadingOf(at)
		then, ok := settle(was[m.Valve])
		is, also := settle(now)
		if !read || !ok || !also {
			continue
		}
		old := was[m.Valve]
		installed := doubt.InPlace(old.Mic)
		if old.Size() == 0 {
			installed = doubt.None
		}
		difference := doubt.Model{Gauge: g.Leaves(m.With)}.Difference(doubt.Parts{
			Reading: old.Reading, With: g.Leaves(old.With), Ratio: is.Ratio, Kept: old.Size() == m.Size(),
			Installed: installed, Fitted: doubt.InPlace(m.Mic),
		}, m.Reading)
		d := Deviation{Valve: m.Valve, Difference: is.Stack() - then.Stack(), Bound: difference.Within(1 - alarm/float64(len(after)))}
		if d.Proves(m.Reading.Kind) {
			found = append(found, d)
		}
	}
	return found
}

// Proves reports whether a reading of this kind proves the difference to be more
// than the bound: a leaf that does not go only that the gap is smaller.
func (d Deviation) Proves(kind shim.ReadingKind) bool {
	switch kind {
	case shim.Below:
		return d.Difference < -d.Bound
	case shim.Above:
		return d.Difference > d.Bound
	}
	return d.Difference.Abs() > d.Bound
}
