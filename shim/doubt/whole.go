package doubt

import (
	"math"
	"slices"

	"shimwright/shim"
)

// A Member is one valve of an engine, for [Model.All].
type Member struct {
	Limits   shim.Limits
	Expected shim.Length
	Parts
	// Out and In number the shims that come out and go in. The same number at
	// two valves is the same piece, with the same error; 0 is at this valve only.
	Out, In int
	// Gap numbers the opener's gap at an opener and at the closer whose loaded gap
	// its reading was taken off (see [shim.Reading.TakenOff]): what that reading
	// leaves open is in both clearances, with opposite signs. 0 is at no other.
	Gap int
}

// A Chance is a probability with what its computing leaves open.
type Chance struct {
	Probability float64
	// Error is the standard error of a sampled probability; 0 where it is exact.
	Error   float64
	Sampled bool
}

// All is the probability that all members lie inside their limits. Members with
// no error in common are independent, and their probabilities are multiplied.
// Errors in common are those of a leaf, at all valves read with it, of an opener's
// gap that was taken off its closer's loaded one, and of a shim that moves: its
// size counts for the valve that it leaves and against the one that it goes to. Where they are known the members are independent again,
// so that only they are integrated over: one exactly, more by a sample that is
// the same every time. Work bounds the sample: about so many times a member is
// looked at. A member without a number makes it 0.
func (m Model) All(members []Member, work int) Chance {
	w := whole{gauge: m.Gauge}
	all := Chance{Probability: 1}
	for i := range members {
		v := &members[i]
		s := m.Spread(v.Parts)
		if !s.Known() {
			return Chance{}
		}
		reach := s.Reach()
		if float64(v.Limits.Tight-v.Expected) <= -reach && reach <= float64(v.Limits.Loose-v.Expected) {
			continue // inside whatever the errors are
		}
		w.members = append(w.members, v)
	}
	groups := w.groups()
	tied := 0
	for _, g := range groups {
		if len(g) > 1 {
			tied += len(g)
		}
	}
	relative := 0.0 // variance
	for _, g := range groups {
		var c Chance
		if len(g) == 1 {
			c.Probability = m.Inside(g[0].Limits, g[0].Expected, g[0].Parts)
		} else {
			c = newBundle(m.Gauge, g).chance(work / tied)
		}
		all.Probability *= c.Probability
		all.Sampled = all.Sampled || c.Sampled
		if c.Probability == 0 {
			return all
		}
		relative += square(c.Error / c.Probability)
	}
	all.Error = all.Probability * math.Sqrt(relative)
	return all
}

func square(x float64) float64 { return x * x }

// An origin is where an error comes from: a leaf, by its mark, a shim or an
// opener's gap, by its number.
type origin struct {
	from from
	is   int64
	at   shim.Length // of a temperature: how far the table moved the readings
	set  shim.Gauge  // of a leaf: one of another set is another leaf
}

// from is the kind of an [origin].
type from uint8

const (
	ofLeaf   from = iota
	ofShim        // 0 is at one valve only
	ofTable       // what a temperature leaves open, by its half width
	ofGap         // where between two leaves the gap lies, or how a figure was rounded
	ofSecond      // the same of the second of two figures
)

// shared reports whether another member may have the error.
func (o origin) shared() bool { return o.is != 0 || o.from == ofLeaf }

// table is what the temperature leaves open, by the maker's table or without one:
// the same for all readings taken then.
func table(r shim.Reading) origin {
	return origin{from: ofTable, is: int64(r.Open), at: r.Shifted}
}

// mark is the leaf of the set that a figure of a reading is about, as it was read.
func mark(g shim.Gauge, r shim.Reading, figure shim.Length) origin {
	return origin{from: ofLeaf, is: int64(figure - r.Shifted), set: g}
}

// A gap is one of the gaps that a clearance was read by.
type gap struct {
	shim.Reading         // as it counts
	by           float64 // 1, or -1 where it was taken off
	number       int     // [Member.Gap]
}

// gaps lists the member's gaps: one, or the loaded one and the opener's.
func (v *Member) gaps(g shim.Gauge) []gap {
	if v.Reading.Unloaded == (shim.Unloaded{}) {
		return []gap{{v.Reading.Against(g), 1, v.Gap}}
	}
	return []gap{{v.Reading.Loaded().Against(g), 1, 0}, {v.Reading.Opener().Against(g), -1, v.Gap}}
}

// origins lists the errors of a member that another one may have too.
func (v *Member) origins(g shim.Gauge) []origin {
	g = g.Leaves(v.With)
	var list []origin
	if v.Reading.Open > 0 {
		list = append(list, table(v.Reading))
	}
	for _, r := range v.gaps(g) {
		if g.Leaf > 0 {
			list = append(list, mark(g, r.Reading, r.Low))
			if r.Second.Taken {
				list = append(list, mark(g, r.Reading, r.Second.Low))
			}
			if r.Kind == shim.Bracket {
				list = append(list, mark(g, r.Reading, r.High))
			}
		}
		if r.number != 0 && (g.Step > 0 || r.Kind == shim.Bracket) {
			list = append(list, origin{from: ofGap, is: int64(r.number)})
			if r.Second.Taken {
				list = append(list, origin{from: ofSecond, is: int64(r.number)})
			}
		}
	}
	if !v.Kept {
		if v.Out != 0 && sizeLimit(g, v.Installed) > 0 {
			list = append(list, origin{from: ofShim, is: int64(v.Out)})
		}
		if v.In != 0 && sizeLimit(g, v.Fitted) > 0 {
			list = append(list, origin{from: ofShim, is: int64(v.In)})
		}
	}
	return list
}

// A whole is the members whose place inside is not certain.
type whole struct {
	gauge   shim.Gauge
	members []*Member
}

// groups parts the members so that no two groups have an error in common, in
// their order.
func (w *whole) groups() [][]*Member {
	leader := make([]int, len(w.members))
	find := func(i int) int {
		for leader[i] != i {
			leader[i] = leader[leader[i]]
			i = leader[i]
		}
		return i
	}
	first := map[origin]int{}
	for i, v := range w.members {
		leader[i] = i
		for _, o := range v.origins(w.gauge) {
			if at, known := first[o]; known {
				a, b := find(at), find(i)
				leader[max(a, b)] = min(a, b)
			} else {
				first[o] = i
			}
		}
	}
	var groups [][]*Member
	at := map[int]int{}
	for i, v := range w.members {
		l := find(i)
		g, known := at[l]
		if !known {
			g = len(groups)
			at[l] = g
			groups = append(groups, nil)
		}
		groups[g] = append(groups[g], v)
	}
	return groups
}

// A bundle is members tied together by errors in common.
type bundle struct {
	halves  []float64 // of the errors in common
	members []tied
}

// A tied member is what it is where the errors in common are known.
type tied struct {
	low, high float64 // the limits, about what is expected
	own       []float64
	terms     []term // what the errors in common move it by
	between   []wedged
}

// A wedged error is that of a gap between two leaves: even from the one to the other, wherever
// their errors put them.
type wedged struct {
	by, width float64
	from, to  int // the sources of the leaves' errors
	place     int // that of where the gap lies between them, -1 where it is the member's own
}

type term struct {
	source int
	by     float64
}

func newBundle(g shim.Gauge, members []*Member) *bundle {
	b := &bundle{}
	count := map[origin]int{}
	for _, v := range members {
		for _, o := range v.origins(g) {
			count[o]++
		}
	}
	index := map[origin]int{}
	source := func(o origin, half float64) int {
		at, known := index[o]
		if !known {
			at = len(b.halves)
			index[o] = at
			b.halves = append(b.halves, half)
		}
		return at
	}
	job := g
	for _, v := range members {
		g := job.Leaves(v.With)
		leaf := float64(g.Leaf)
		t := tied{low: float64(v.Limits.Tight - v.Expected), high: float64(v.Limits.Loose - v.Expected)}
		// put adds an error that moves the clearance by so much for each nm.
		put := func(o origin, half, by float64) {
			switch {
			case half == 0:
			case o.shared() && count[o] > 1:
				t.terms = append(t.terms, term{source(o, half), by})
			default:
				t.own = append(t.own, math.Abs(by)*half)
			}
		}
		put(table(v.Reading), float64(v.Reading.Open), 1)
		for _, r := range v.gaps(g) {
			place, second := origin{from: ofGap, is: int64(r.number)}, origin{from: ofSecond, is: int64(r.number)}
			switch {
			case r.Second.Taken:
				put(place, float64(g.Step)/4, r.by)
				put(second, float64(g.Step)/4, r.by)
				put(mark(g, r.Reading, r.Low), leaf, r.by/2)
				put(mark(g, r.Reading, r.Second.Low), leaf, r.by/2)
			case r.Kind == shim.Single:
				put(place, float64(g.Step)/2, r.by)
				put(mark(g, r.Reading, r.Low), leaf, r.by)
			case leaf == 0:
				put(place, float64(r.High-r.Low)/2, r.by)
			default:
				b := wedged{by: r.by, width: float64(r.High - r.Low), place: -1}
				b.from, b.to = source(mark(g, r.Reading, r.Low), leaf), source(mark(g, r.Reading, r.High), leaf)
				if place.shared() && count[place] > 1 {
					b.place = source(place, 0.5)
				}
				t.between = append(t.between, b)
			}
		}
		if v.Allowance > 0 {
			t.own = append(t.own, float64(v.Allowance))
		}
		if !v.Kept {
			k := v.Ratio.Float()
			put(origin{from: ofShim, is: int64(v.Out)}, float64(sizeLimit(g, v.Installed)), k)
			put(origin{from: ofShim, is: int64(v.In)}, float64(sizeLimit(g, v.Fitted)), -k)
		}
		b.members = append(b.members, t)
	}
	return b
}

// inside is the probability that the member lies inside where the errors in
// common are known. The room is for its own half widths.
func (t *tied) inside(errors []float64, room []float64) float64 {
	own, centre := append(room[:0], t.own...), 0.0
	for _, m := range t.terms {
		centre += m.by * errors[m.source]
	}
	for _, b := range t.between {
		from, to := errors[b.from], errors[b.to]
		centre += b.by * (from + to) / 2
		if b.place < 0 {
			own = append(own, math.Abs(b.width+to-from)/2)
		} else {
			centre += b.by * (b.width + to - from) * errors[b.place]
		}
	}
	return max(0, 1-lower(t.low-centre, own)-lower(centre-t.high, own))
}

// lower is the probability that rectangles add up to less than x.
func lower(x float64, halves []float64) float64 {
	reach := 0.0
	for _, a := range halves {
		reach += a
	}
	switch {
	case x <= -reach:
		return 0
	case x >= reach:
		return 1
	case x > 0:
		return 1 - rectangles(-x, halves, 0)
	}
	return rectangles(x, halves, 0)
}

// all is the probability that every member lies inside where the errors in
// common are known.
func (b *bundle) all(errors []float64) float64 {
	var room [most]float64
	p := 1.0
	for i := range b.members {
		if p *= b.members[i].inside(errors, room[:]); p == 0 {
			return 0
		}
	}
	return p
}

// chance integrates over the errors in common. Visits is how often each member
// may be looked at.
func (b *bundle) chance(visits int) Chance {
	if len(b.halves) == 1 {
		if cuts := b.cuts(); len(cuts)*len(fine.at) <= visits {
			return Chance{Probability: b.exact(cuts)}
		}
	}
	return b.sample(visits)
}

// cuts are the places of the only error in common at which a member's
// probability has a corner, and the ends.
func (b *bundle) cuts() []float64 {
	half := b.halves[0]
	cuts := []float64{-half, half}
	for i := range b.members {
		t := &b.members[i]
		by := 0.0
		for _, m := range t.terms {
			by += m.by
		}
		if by == 0 {
			continue
		}
		for corner := range 1 << len(t.own) {
			at := 0.0
			for k, a := range t.own {
				at += signed(a, corner>>k&1)
			}
			for _, limit := range []float64{t.low, t.high} {
				if e := (limit + at) / by; math.Abs(e) < half {
					cuts = append(cuts, e)
				}
			}
		}
	}
	slices.Sort(cuts)
	return slices.Compact(cuts)
}

// exact is the integral over one error in common, a polynomial from corner to
// corner.
func (b *bundle) exact(cuts []float64) float64 {
	total := 0.0
	for i, to := range cuts[1:] {
		from := cuts[i]
		total += (to - from) * fine.mean(func(e float64) float64 { return b.all([]float64{e}) }, from, to)
	}
	return min(1, total/(2*b.halves[0]))
}
