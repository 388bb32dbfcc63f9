package recheck

import "shimwright/shim"

// A Remedy is what to do about shims that are not where, or not what, the record says.
type Remedy struct {
	// Move reports whether to put in what the record has: each exchanged shim where it
	// belongs, in place of one of a wrong size one of the right size.
	Move bool
	// Open reports whether some valve of the fault is not proven inside its limits with
	// the shims that are in.
	Open bool
	// Outside are the valves that the record's shims would leave outside their limits.
	Outside []shim.Valve
}

// Remedy holds a fault of shims against the limits: as the valves are, and with the
// shims that the record has, by what the plan expects of them and, where shims are
// exchanged and so their sizes known, by the readings too. Shims are moved only where that brings the valves nearer
// to being proven, and none leaves its limits that is inside by its reading. Good shims
// are never moved for the record.
func (j *ComparedJob) Remedy(f Fault) Remedy {
	var r Remedy
	if !f.OfShims() {
		return r
	}
	gain, worse := 0, false
	for i, valve := range f.Valves[:len(f.Sizes)] {
		at, known := j.Engine.Find(valve)
		if !known {
			return Remedy{}
		}
		v := &j.Valves[at]
		now, then := placeOf(v.Limits, v.Reading), v.asPlanned()
		if f.Kind == Exchanged && then == proven {
			then = v.with(f.Own(i), f.Sizes[i], j.Engine)
		}
		if now != proven {
			r.Open = true
		}
		if then == outside {
			r.Outside = append(r.Outside, v.Valve)
			worse = worse || now != outside
		}
		gain += int(now) - int(then)
	}
	r.Move = gain > 0 && !worse
	return r
}

// Own is the size that the record has in an exchanged fault's valve of that place.
func (f Fault) Own(i int) shim.Length {
	return f.Sizes[(i+len(f.Sizes)-1)%len(f.Sizes)] // the valve before holds it
}

// OfShims reports whether the fault is one of shims, in the wrong place or of another size.
func (f Fault) OfShims() bool { return f.Kind == Exchanged || f.Kind == WrongSize }

// How a valve stands to its limits, from good to bad.
const (
	proven    = iota // inside
	undecided        // inside, but across a limit; or without a number
	outside
)

// placeOf is how a valve of that reading stands to its limits.
func placeOf(l shim.Limits, r shim.Reading) int {
	switch judge(l, r) {
	case shim.OK:
		if l.Undecided(r) {
			return undecided
		}
		return proven
	case shim.Unmeasured:
		return undecided
	}
	return outside
}

// asPlanned is how the valve would stand with the shim that the record has, by what the
// plan expects of it.
func (v *ComparedValve) asPlanned() int {
	if v.Contain(v.Expected) {
		return proven
	}
	return outside
}

// with is how the valve would stand with a shim of its own size in place of the one that
// it holds, by what was read over that one.
func (v *ComparedValve) with(own, held shim.Length, e *shim.Engine) int {
	if estimate, numbered := v.Reading.Estimate(); !numbered || estimate <= 0 {
		return proven // nothing speaks against the plan
	}
	by := shim.Setting{Ratio: e.TrainOf(v.Valve).Ratio, Size: held}.Expect(own)
	return placeOf(v.Limits, v.Reading.Shift(by))
}
