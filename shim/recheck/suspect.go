package recheck

import (
	"fmt"
	"math"
	"slices"

	"shimwright/shim"
	"shimwright/shim/doubt"
)

// Rules say what makes a figure of a check suspicious.
type Rules struct {
	// Cutoff is how many robust standard deviations from its siblings' median a
	// figure may be.
	Cutoff float64
	// FloorClearance and FloorSize are the least that such a deviation counts
	// for: siblings that agree to the micrometre make nobody suspicious.
	FloorClearance, FloorSize shim.Length
	// MarkOff is how far a mic reading may be from the size that it stands for,
	// unless that is its own stamp: see [shim.Marks.Differ].
	MarkOff shim.Length
	// Tightened and Loosened are how far wear may move a stack between two
	// checks, to a smaller and to a larger clearance.
	Tightened, Loosened shim.Length
	Gauge               shim.Gauge
	// Build is a fresh build: gaps over set-up shims, or over none, look like no
	// others, so that each valve is looked at by itself.
	Build bool
}

// UsualRules are the rules of a shop that states none.
//
//   - Cutoff 3.5: Iglewicz and Hoaglin, How to detect and handle outliers (1993),
//     for the modified z score.
//   - Tightened 0.10 mm: an owners' forum has seats and valves due where a stack
//     is more than 0.10 mm (0.004 in) under the original shim's.
//   - Loosened 0.05 mm, MarkOff 0.02 mm and the floors: common practice. Seats
//     wear more than cams do, so that a gap seldom opens.
var UsualRules = Rules{
	Cutoff:         3.5,
	FloorClearance: 20 * shim.Micrometre,
	FloorSize:      50 * shim.Micrometre,
	MarkOff:        20 * shim.Micrometre,
	Tightened:      100 * shim.Micrometre,
	Loosened:       50 * shim.Micrometre,
	Gauge:          doubt.Usual,
}

// A Reason says why a figure is suspicious.
type Reason uint8

// The reasons.
const (
	// FarClearance is a clearance far from those of its siblings.
	FarClearance Reason = iota
	// FarSize is an installed shim far from those of its siblings.
	FarSize
	// NoSuchSize is a shim that the catalogue has no size for.
	NoSuchSize
	// MarkDiffers is a mic reading far from the stamp.
	MarkDiffers
	// Moved is a stack that moved since the last check by more than wear could.
	Moved
	// ReadingsApart is two readings of one valve farther apart than the gauge
	// explains.
	ReadingsApart
	// SumMoved is the sum of the stacks of an opener and its closer. It stays when
	// the seat recedes, which takes from the one what it gives to the other.
	SumMoved
	// ShimInGap is a gap of a fresh build that is as wide as a shim, over a set-up shim.
	ShimInGap
)

// String is the reason in words.
func (r Reason) String() string {
	return [...]string{"clearance far from its siblings", "shim far from its siblings", "no such size", "mark and micrometer differ", "moved by more than wear could", "two readings far apart", "sum of opener and closer moved", "gap as wide as a shim"}[r]
}

// MarshalText is the reason's words.
func (r Reason) MarshalText() ([]byte, error) { return []byte(r.String()), nil }

// A Suspicion is a figure of a check that is worth a second look.
type Suspicion struct {
	Valve  shim.Valve
	Reason Reason
	// Value is the figure: the clearance, the size, how far the stack moved, or
	// how far two readings are apart.
	Value shim.Length
	// Typical is what it is compared with: the siblings' median, the nearest size
	// of the catalogue, the stamp; 0 for a stack that moved and for two readings.
	Typical shim.Length
	// Bound is how far apart the two may be.
	Bound shim.Length
	// Kind is Below or Above where the clearance has no number: Value is the
	// leaf that bounds it.
	Kind shim.ReadingKind
}

// show writes a length to 0.0001 mm or 0.00001 in: finer than anybody measures.
func show(u shim.Figures, l shim.Length) string { return u.Show(l, u.Places()-1, u.Places()+1) }

// OfSize reports whether the figure is the size of a shim; else it is a clearance.
func (s Suspicion) OfSize() bool {
	return s.Reason == FarSize || s.Reason == NoSuchSize || s.Reason == MarkDiffers
}

// What says what is suspicious, with lengths in the units.
func (s Suspicion) What(p shim.UnitPair) string {
	if s.OfSize() {
		return s.WhatIn(p.Size)
	}
	return s.WhatIn(p.Clearance)
}

// WhatIn is [Suspicion.What] in one way of writing.
func (s Suspicion) WhatIn(u shim.Figures) string {
	value, typical := show(u, s.Value), show(u, s.Typical)
	switch s.Reason {
	case FarClearance:
		switch s.Kind {
		case shim.Below:
			value = "below " + value
		case shim.Above:
			value = "above " + value
		}
		return fmt.Sprintf("clearance %s %s, its siblings about %s", value, u, typical)
	case FarSize:
		return fmt.Sprintf("shim %s %s, its siblings about %s", value, u, typical)
	case NoSuchSize:
		return fmt.Sprintf("shim %s %s, the nearest size is %s", value, u, typical)
	case ReadingsApart:
		return fmt.Sprintf("its two readings are %s %s apart, the gauge explains %s", value, u, show(u, s.Bound))
	case ShimInGap:
		return fmt.Sprintf("a gap of %s %s over a set-up shim: was the shim in?", value, u)
	case MarkDiffers:
		return fmt.Sprintf("shim marked %s %s measures %s", typical, u, value)
	}
	way := "looser"
	if s.Value < 0 {
		way = "tighter"
	}
	if s.Reason == SumMoved {
		return fmt.Sprintf("opener and closer together are %s %s %s than at the last check, the gauge explains %s", show(u, s.Value.Abs()), u, way, show(u, s.Bound))
	}
	return fmt.Sprintf("%s %s %s than at the last check, wear explains %s", show(u, s.Value.Abs()), u, way, show(u, s.Bound))
}

// Hint says what to do about it.
func (s Suspicion) Hint() string {
	switch s.Reason {
	case FarClearance:
		return "set this valve on its base circle and measure it again"
	case FarSize, NoSuchSize:
		return "read the mark again and measure the shim"
	case ReadingsApart:
		return "turn the engine over, set this valve on its base circle and measure it again"
	case MarkDiffers:
		return "measure the shim again; a worn one is used at the size it has"
	case ShimInGap:
		return "if it was not, leave its size out: the gap is the sum then"
	case SumMoved:
		return "measure both again; if they stay, look at the closer's half rings: seat wear leaves the sum as it is"
	}
	return "measure again, and look whether the shim or the valve was changed since"
}

// Suspects lists what looks wrong in a check, in the engine's valve order. The
// check may be partial, as while it is being entered; last is the check that
// the job before ended with, nil where there is none.
func Suspects(e *shim.Engine, check, last []shim.Measurement, r Rules) []Suspicion {
	check, last = atLimits(e, check), atLimits(e, last)
	gauge := r.Gauge
	if e.Gauge != nil {
		gauge = *e.Gauge
	}
	found := readApart(check, gauge)
	if r.Build {
		for _, m := range check {
			found = append(found, setUp(e, m)...)
		}
		return found
	}
	for _, side := range shim.Sides {
		for _, closer := range []bool{false, true} {
			var own []shim.Measurement
			for _, m := range check {
				if m.Valve.Side == side && m.Valve.Closer == closer {
					own = append(own, m)
				}
			}
			found = append(found, r.farClearances(own)...)
			found = append(found, r.farSizes(own)...)
		}
	}
	for _, m := range check {
		found = append(found, r.size(e, m)...)
		for _, before := range last {
			place, known := e.Find(m.Valve)
			if was, had := e.Find(before.Valve); known && had && place == was {
				found = append(found, r.moved(e, before, m)...)
			}
		}
	}
	found = append(found, r.sums(e, check, last)...)
	slices.SortStableFunc(found, func(a, b Suspicion) int { return a.Valve.Compare(b.Valve) })
	return found
}

// setUp looks at one set-up shim, which need not be of a size on sale.
func setUp(e *shim.Engine, m shim.Measurement) (found []Suspicion) {
	size := m.Size()
	if size == 0 {
		return nil
	}
	thinnest, thickest := e.Sold(m.Valve)
	if nearest := min(max(size, thinnest), thickest); nearest != size && thickest != 0 {
		found = append(found, Suspicion{Valve: m.Valve, Reason: NoSuchSize, Value: size, Typical: nearest})
	}
	if gap, number := m.Reading.Estimate(); number && gap > shim.MaxClearance {
		found = append(found, Suspicion{Valve: m.Valve, Reason: ShimInGap, Value: gap, Bound: shim.MaxClearance})
	}
	return found
}

// readApart lists the valves whose two readings are farther apart than the gauge explains.
func readApart(check []shim.Measurement, g shim.Gauge) (found []Suspicion) {
	for _, m := range check {
		if by, explained, far := m.Reading.Apart(g.Leaves(m.With)); far {
			found = append(found, Suspicion{Valve: m.Valve, Reason: ReadingsApart, Value: by, Bound: explained})
		}
	}
	return found
}

// sums compares the sum of each opener's and its closer's stack with that of the
// last check, where both ends were measured both times.
func (r Rules) sums(e *shim.Engine, check, last []shim.Measurement) []Suspicion {
	at := func(list []shim.Measurement, v shim.Valve) (m shim.Measurement, s shim.Setting, ok bool) {
		place, _ := e.Find(v)
		for _, m := range list {
			if other, known := e.Find(m.Valve); known && other == place {
				s, ok = e.Setting(m)
				return m, s, ok
			}
		}
		return m, s, false
	}
	var found []Suspicion
	for _, closer := range check {
		if !closer.Valve.Closer {
			continue
		}
		var by shim.Length
		var variance float64
		complete := true
		for _, v := range []shim.Valve{closer.Valve.Other(), closer.Valve} {
			now, is, ok := at(check, v)
			before, was, had := at(last, v)
			complete = complete && ok && had
			if !complete {
				break
			}
			p := doubt.Parts{
				Reading: before.Reading, With: r.Gauge.Leaves(before.With), Ratio: is.Ratio, Kept: before.Size() == now.Size(),
				Installed: doubt.InPlace(before.Mic), Fitted: doubt.InPlace(now.Mic),
			}
			by += is.Stack() - was.Stack()
			variance += square(float64(doubt.Model{Gauge: r.Gauge.Leaves(now.With)}.Difference(p, now.Reading).Standard()))
		}
		if bound := shim.Length(coverage * math.Sqrt(variance)); complete && by.Abs() > bound {
			found = append(found, Suspicion{Valve: closer.Valve, Reason: SumMoved, Value: by, Bound: bound})
		}
	}
	return found
}

// coverage makes a bound of about 99 % of a standard uncertainty (JCGM 100:2008,
// table G.1, for a Gaussian).
const coverage = 2.576

// atLimits is a check as the limits judge it.
func atLimits(e *shim.Engine, check []shim.Measurement) []shim.Measurement {
	list := slices.Clone(check)
	for i, m := range list {
		list[i], _ = e.AtLimits(m)
	}
	return list
}

// nearest is the clearance that a reading allows and that is closest to the
// typical one: a leaf that does not go bounds it from above only.
func nearest(m shim.Reading, typical shim.Length) (shim.Length, bool) {
	switch m.Kind {
	case shim.Below:
		return min(m.Gap().High, typical), true
	case shim.Above:
		return max(m.Low, typical), true
	}
	return m.Estimate()
}

func (r Rules) farClearances(check []shim.Measurement) []Suspicion {
	var values []shim.Length
	for _, m := range check {
		if c, ok := m.Reading.Estimate(); ok {
			values = append(values, c)
		}
	}
	typical, bound, enough := r.typical(values, r.FloorClearance)
	if !enough {
		return nil
	}
	var found []Suspicion
	for _, m := range check {
		if c, ok := nearest(m.Reading, typical); ok && (c-typical).Abs() > bound {
			s := Suspicion{Valve: m.Valve, Reason: FarClearance, Value: c, Typical: typical, Bound: bound}
			if _, number := m.Reading.Estimate(); !number {
				s.Kind = m.Reading.Kind
			}
			found = append(found, s)
		}
	}
	return found
}

func (r Rules) farSizes(check []shim.Measurement) []Suspicion {
	var values []shim.Length
	for _, m := range check {
		if m.Size() != 0 {
			values = append(values, m.Size())
		}
	}
	typical, bound, enough := r.typical(values, r.FloorSize)
	if !enough {
		return nil
	}
	var found []Suspicion
	for _, m := range check {
		if m.Size() != 0 && (m.Size()-typical).Abs() > bound {
			found = append(found, Suspicion{Valve: m.Valve, Reason: FarSize, Value: m.Size(), Typical: typical, Bound: bound})
		}
	}
	return found
}

// siblings is how many figures make a median worth comparing with.
const siblings = 3

// typical is the median, and how far from it a figure may be: the cutoff times
// the median absolute deviation, scaled by 1.4826 to a standard deviation.
func (r Rules) typical(values []shim.Length, floor shim.Length) (median, bound shim.Length, enough bool) {
	if len(values) < siblings {
		return 0, 0, false
	}
	median = middle(values)
	var apart []shim.Length
	for _, v := range values {
		apart = append(apart, (v - median).Abs())
	}
	scale := max(1.4826*float64(middle(apart)), float64(floor))
	return median, shim.Length(r.Cutoff * scale), true
}

// middle is the median, rounded down to the nanometre.
func middle(values []shim.Length) shim.Length {
	sorted := slices.Sorted(slices.Values(values))
	n := len(sorted)
	return (sorted[(n-1)/2] + sorted[n/2]) / 2
}

// size looks at one installed shim by itself.
func (r Rules) size(e *shim.Engine, m shim.Measurement) []Suspicion {
	var found []Suspicion
	if m.Differ() {
		found = append(found, Suspicion{Valve: m.Valve, Reason: MarkDiffers, Value: m.Mic, Typical: m.Stamp, Bound: shim.WornApart})
	}
	size, bound := m.Stamp, shim.Length(0)
	if size == 0 {
		// A mic reading falls between two sizes where the shim is worn.
		size, bound = m.Mic, r.MarkOff
	}
	ranges := e.Ranges(m.Valve)
	if size == 0 || len(ranges) == 0 {
		return found
	}
	nearest := shim.Length(0)
	for _, c := range ranges {
		steps := max(0, size-c.From+c.Step/2) / c.Step
		candidate := c.From + min(steps, (c.To-c.From)/c.Step)*c.Step
		if nearest == 0 || (candidate-size).Abs() < (nearest-size).Abs() {
			nearest = candidate
		}
	}
	if (nearest - size).Abs() > bound {
		found = append(found, Suspicion{Valve: m.Valve, Reason: NoSuchSize, Value: size, Typical: nearest, Bound: bound})
	}
	return found
}

// moved compares a valve's stack with that of the last check.
func (r Rules) moved(e *shim.Engine, before, now shim.Measurement) []Suspicion {
	was, ok := e.Setting(before)
	is, also := e.Setting(now)
	if !ok || !also {
		return nil
	}
	p := doubt.Parts{
		Reading: before.Reading, With: r.Gauge.Leaves(before.With), Ratio: is.Ratio, Kept: before.Size() == now.Size(),
		Installed: doubt.InPlace(before.Mic), Fitted: doubt.InPlace(now.Mic),
	}
	doubtful := doubt.Model{Gauge: r.Gauge.Leaves(now.With)}.Difference(p, now.Reading).Expanded()
	by := is.Stack() - was.Stack()
	tightened, loosened := r.Tightened, r.Loosened
	if now.Valve.Closer { // what a receding seat takes from the opener, it gives to the closer
		tightened, loosened = loosened, tightened
	}
	if bound := tightened + doubtful; by < -bound {
		return []Suspicion{{Valve: now.Valve, Reason: Moved, Value: by, Bound: bound}}
	}
	if bound := loosened + doubtful; by > bound {
		return []Suspicion{{Valve: now.Valve, Reason: Moved, Value: by, Bound: bound}}
	}
	return nil
}
