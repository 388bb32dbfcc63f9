package work

import (
	"cmp"
	"slices"

	"shimwright/inventory"
	"shimwright/shim"
	"shimwright/shim/wear"
)

// anotherMeter is what a series begins with where nobody knows what the old meter
// read.
const anotherMeter = "another meter"

// Why a visit is no part of the series.
const (
	noMeter       = "no meter reading"
	notUnderstood = "meter not understood"
	behind        = "its meter is behind the visit before"
	noShims       = "no shims known"
)

// A passing is a visit that has readings and a meter: what all its meters had
// counted since the series began, and the state that it was measured in.
type passing struct {
	visit int
	at    float64
	state shim.State
}

// begin finds the visits of the series: those since it was last broken, in the
// state that most of them were measured in, with a meter that rises.
func (t *Trend) begin() {
	t.know()
	t.readAt = map[shim.Valve]float64{}
	kinds := t.kinds()
	why := make([]string, len(t.Visits))
	anew := func(visit int, what string) {
		t.Began, t.began, t.opens = what, visit, what != anotherMeter
		for earlier := range visit {
			why[earlier] = "before: " + what
		}
		t.stood, t.readAt = false, map[shim.Valve]float64{}
	}
	var list []passing
	var ran, last float64 // what earlier meters had counted, and what the one in use read last
	var swap inventory.Job
	for i, v := range t.Visits {
		j := v.Job
		reset := cmp.Or(j.Reset, map[bool]string{true: "fresh build"}[j.Build])
		before := kinds[max(0, i-1)]
		switch {
		case reset != "" && j.State != inventory.StateCancelled:
			anew(i, reset)
			list, ran, last = nil, 0, 0
		case j.MeterNew == "" || sameSwap(swap, j):
		default: // a cancelled visit tells of it all the same
			if old, known := t.counts(j.MeterNew, before); known && old >= last {
				ran += old
			} else {
				anew(i, anotherMeter)
				list, ran = nil, 0
			}
			swap, last = j, 0
		}
		at, known := t.counts(j.Meter, kinds[i])
		if known {
			last = at
		}
		switch {
		case j.State == inventory.StateCancelled:
			why[i] = "cancelled"
		case j.Meter == "":
			why[i] = noMeter
		case !known:
			why[i] = notUnderstood
		case !t.stand(i, ran+at):
			why[i] = "no readings"
		case t.read(i):
			list = append(list, passing{i, ran + at, v.Engine.Spec.State})
		case t.shimless(i):
			why[i] = noShims
		default:
			why[i] = "no readings"
		}
	}
	t.choose(list, why)
	says := t.metered
	if len(t.Used) > 0 {
		says = t.Used[len(t.Used)-1]
	}
	if len(t.Visits) > 0 {
		if in, same := t.Visits[says].Engine.Spec.Interval.In(t.Kind); same {
			t.Interval = in
		}
	}
	for i, text := range why {
		if text != "" {
			t.Skipped = append(t.Skipped, Skipped{i, text})
		}
	}
	t.first, t.at = t.first-ran, t.at-ran
	for valve := range t.readAt {
		t.readAt[valve] -= ran
	}
	for k := range t.Series.Meters { // as the meter that is in now counts
		t.Series.Meters[k] -= ran
	}
}

// stand notes which valves were read at a visit with a meter, with a shim or
// without, in any state. It is false where none was.
func (t *Trend) stand(visit int, at float64) (some bool) {
	for _, valve := range t.Visits[visit].Engine.Spec.Valves() {
		if slices.ContainsFunc(t.readings(visit), func(list []shim.Measurement) bool { _, read := of(list, valve); return read }) {
			t.readAt[valve], some = at, true
		}
	}
	if some && !t.stood {
		t.stood, t.first = true, at
	}
	if some {
		t.at, t.metered = at, visit
	}
	return some
}

// kinds are what each visit's meter counts: as it is written, or else as at the
// visit before. Kind becomes the last one.
func (t *Trend) kinds() []shim.MeterKind {
	list := make([]shim.MeterKind, len(t.Visits))
	for i, v := range t.Visits {
		if m, known := shim.ParseMeter(v.Job.Meter); known && m.Kind != "" {
			if t.Kind == "" { // nobody wrote it before
				for earlier := range i {
					list[earlier] = m.Kind
				}
			}
			t.Kind = m.Kind
		}
		list[i] = t.Kind
	}
	return list
}

// counts is what a meter reads, in Kind.
func (t *Trend) counts(text string, kind shim.MeterKind) (float64, bool) {
	m, known := shim.ParseMeter(text)
	if m.Kind == "" {
		m.Kind = kind
	}
	at, same := m.In(t.Kind)
	return at, known && same
}

// sameSwap reports whether a visit tells of another meter once more that a
// cancelled one told of already.
func sameSwap(before, now inventory.Job) bool {
	return before.State == inventory.StateCancelled && before.MeterNew == now.MeterNew
}

// choose takes the visits of the series: of the state with the most of them, the
// longest run whose meter never goes back. Visits at one meter are one check.
func (t *Trend) choose(list []passing, why []string) {
	var longest []passing
	for _, state := range []shim.State{shim.Cold, shim.Warm} {
		run := rising(slices.DeleteFunc(slices.Clone(list), func(p passing) bool { return p.state != state }))
		if n := len(run); n > len(longest) || n > 0 && n == len(longest) && run[n-1].visit > longest[n-1].visit {
			longest = run
		}
	}
	if len(longest) == 0 {
		return
	}
	t.State = longest[0].state
	for _, p := range list {
		switch {
		case slices.Contains(longest, p):
		case p.state != t.State:
			why[p.visit] = "measured " + p.state.String()
		case slices.ContainsFunc(longest, func(other passing) bool { return other.visit > p.visit && other.at < p.at }):
			why[p.visit] = "its meter is ahead of the visits after"
		default:
			why[p.visit] = behind
		}
	}
	for _, p := range longest {
		if n := len(t.Series.Meters); n == 0 || p.at-t.Series.Meters[n-1] > 0.005 {
			t.Series.Meters = append(t.Series.Meters, p.at)
		}
		t.use(p.visit)
	}
	t.last = longest[len(longest)-1].visit
	// What was read since is newer: it stands for the last check.
	for i := t.last + 1; i < len(t.Visits); i++ {
		switch why[i] {
		case noMeter, notUnderstood, behind:
			if t.Visits[i].Engine.Spec.State == t.State && t.read(i) {
				t.Placed = append(t.Placed, Skipped{i, why[i]})
				why[i] = ""
				t.use(i)
			}
		}
	}
}

// use takes a visit into the last check.
func (t *Trend) use(visit int) {
	t.Used, t.checks = append(t.Used, visit), append(t.checks, len(t.Series.Meters)-1)
}

// rising is the longest run of visits whose meter never goes back; of several the
// one with the later visits.
func rising(list []passing) []passing {
	long, from := make([]int, len(list)), make([]int, len(list))
	end := -1
	for i, p := range list {
		long[i], from[i] = 1, -1
		for j, q := range list[:i] {
			if q.at <= p.at+0.005 && long[j]+1 >= long[i] {
				long[i], from[i] = long[j]+1, j
			}
		}
		if end < 0 || long[i] >= long[end] {
			end = i
		}
	}
	var run []passing
	for ; end >= 0; end = from[end] {
		run = append(run, list[end])
	}
	slices.Reverse(run)
	return run
}

// readings are those of a visit that belong to the series. Where it begins with
// work done, that is what the visit left: what was found stands for it where
// nothing was fitted since.
func (t *Trend) readings(visit int) [][]shim.Measurement {
	v := &t.Visits[visit]
	k := t.known[visit]
	if visit != t.began || !t.opens || len(v.Left) == 0 && !changed(v) {
		return [][]shim.Measurement{k.found, k.left}
	}
	return [][]shim.Measurement{k.left}
}

// shimmed are a visit's readings, each with the shim that it was read over: that
// of the visits before where nobody saw it, since nothing was fitted in between.
type shimmed struct{ found, left []shim.Measurement }

// know finds the shims that were read over. Over work that wear cannot be followed
// across none is taken to be the same.
func (t *Trend) know() {
	in := map[shim.Valve]shim.Marks{}
	with := func(list []shim.Measurement) []shim.Measurement {
		list = slices.Clone(list)
		for i, m := range list {
			if m.Size() == 0 {
				list[i].Marks = in[m.Valve]
			} else {
				in[m.Valve] = m.Marks
			}
		}
		return list
	}
	for _, v := range t.Visits {
		if v.Job.Reset != "" || v.Job.Build {
			clear(in)
		}
		k := shimmed{found: with(v.Found)}
		for _, s := range v.Seats {
			switch {
			case s.Empty:
				delete(in, s.Valve)
			case s.Size() != 0:
				in[s.Valve] = s.Marks
			}
		}
		k.left = with(v.Left)
		t.known = append(t.known, k)
	}
}

// shimless reports whether a visit has a figure over a shim that nobody knows.
func (t *Trend) shimless(visit int) bool {
	return slices.ContainsFunc(slices.Concat(t.readings(visit)...), func(m shim.Measurement) bool {
		_, figure := m.Reading.Estimate()
		return figure && m.Size() == 0
	})
}

// changed reports whether a shim is another one than it was read over.
func changed(v *inventory.Visit) bool {
	return slices.ContainsFunc(v.Found, func(m shim.Measurement) bool {
		return slices.ContainsFunc(v.Seats, func(s inventory.Seat) bool {
			return s.Valve == m.Valve && (s.Empty || s.Size() != m.Size())
		})
	})
}

// read reports whether a visit has a reading for the series.
func (t *Trend) read(visit int) bool {
	return slices.ContainsFunc(slices.Concat(t.readings(visit)...), func(m shim.Measurement) bool {
		_, known := t.Visits[visit].Engine.Spec.Setting(m)
		return known
	})
}

// inNow is the shim in a valve by the newest visit that knows one, cancelled or
// not, with a meter or without.
func (t *Trend) inNow(valve shim.Valve) (shim.Marks, bool) {
	for _, v := range slices.Backward(t.Visits[t.began:]) {
		at := slices.IndexFunc(v.Seats, func(s inventory.Seat) bool { return s.Valve == valve })
		switch {
		case at < 0:
		case v.Seats[at].Empty:
			return shim.Marks{}, false
		case v.Seats[at].Size() != 0:
			return v.Seats[at].Marks, true
		}
	}
	return shim.Marks{}, false
}

// judge finds the valves that are outside as they were left.
func (t *Trend) judge() {
	if len(t.Visits) == 0 {
		return
	}
	for _, valve := range t.Visits[len(t.Visits)-1].Engine.Spec.Valves() {
		if by, _ := t.outside(valve); by > 0 {
			t.Outside = append(t.Outside, valve)
		}
	}
}

// outside is by how much at least a valve's last reading proves it outside its
// limits with the shim that is in now, else 0; and whether the series has that
// reading.
func (t *Trend) outside(valve shim.Valve) (by shim.Length, followed bool) {
	for i := len(t.Visits) - 1; i >= t.began; i-- {
		v := &t.Visits[i]
		for _, list := range slices.Backward(t.readings(i)) {
			m, read := of(list, valve)
			if !read || v.Job.State == inventory.StateCancelled {
				continue
			}
			if now, known := t.inNow(valve); known && m.Size() != 0 && now.Size() != m.Size() {
				return 0, false
			}
			_, line := v.Engine.Spec.Setting(m)
			return beyond(v, m), line && slices.Contains(t.Used, i)
		}
	}
	return 0, false
}

// beyond is by how much at least a reading proves its valve outside, 0 where it
// does not.
func beyond(v *inventory.Visit, m shim.Measurement) shim.Length {
	train := v.Engine.Spec.TrainOf(m.Valve)
	limits := train.Limits
	if v.Job.Build {
		limits = train.Settling()
	}
	if !limits.Outside(m.Reading) {
		return 0
	}
	c, _ := m.Reading.Bound()
	return max(-limits.Room(c), shim.Micrometre)
}

// fill makes the series of the visits' readings.
func (t *Trend) fill() {
	last := t.Visits[t.Used[len(t.Used)-1]]
	engine := &last.Engine.Spec
	t.Series.Unit = t.unit()
	for _, valve := range engine.Valves() {
		train := engine.TrainOf(valve)
		v := wear.Valve{Valve: valve, Limits: train.Limits, Prior: wear.Road}
		if t.Kind == shim.Hours {
			v.Prior = wear.PerInterval(train.Limits)
		}
		if valve.Closer {
			v.Prior = v.Prior.Opening()
		}
		var shims []shim.Marks
		for k, i := range t.Used {
			visit := &t.Visits[i]
			gauge := gaugeOf(visit)
			for _, list := range t.readings(i) {
				at := slices.IndexFunc(list, func(m shim.Measurement) bool { return m.Valve == valve })
				if at < 0 {
					continue
				}
				m := list[at]
				setting, known := engine.Setting(m)
				if !known {
					continue
				}
				if len(shims) == 0 || shims[len(shims)-1] != m.Marks {
					shims = append(shims, m.Marks)
					v.Discs = append(v.Discs, disc(train, m.Marks, gauge))
				}
				r := reading(setting, m, gauge.Leaves(leaves(visit, m)))
				r.Check, r.Shim = t.checks[k], len(v.Discs)-1
				if n := len(v.Readings); n > 0 && v.Readings[n-1].Check == r.Check && v.Readings[n-1].Shim == r.Shim {
					v.Readings[n-1] = r // read again over the same shim: the same gap, the same leaves
					continue
				}
				v.Readings = append(v.Readings, r)
			}
		}
		// What is in it now may have been fitted since.
		if now, known := t.inNow(valve); known && len(v.Discs) > 0 && now != shims[len(shims)-1] {
			v.Discs = append(v.Discs, disc(train, now, gaugeOf(&last)))
		}
		if by, followed := t.outside(valve); !followed {
			v.Beyond = by
		}
		t.Series.Valves = append(t.Series.Valves, v)
	}
}
