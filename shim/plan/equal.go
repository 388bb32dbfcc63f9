package plan

import (
	"slices"

	"shimwright/shim"
)

// Shims of one size are as good as each other, and who gets which changes no
// criterion. It decides, though, which changes make rings, and a ring that no
// crank position opens at once costs a second visit. So equal shims of an
// engine are handed round such that as few rings as can be are broken.
//
// Seen by sizes, each changed valve takes one and gives one, like a road from
// size to size. Valves that hang together by their sizes can be worked through
// as one path where one of their shims comes from elsewhere: no second visit at
// all. Else as one ring, which is broken once; unless they fall into rings that
// each one crank position opens at once. See share.

// sameAs is what makes shims interchangeable.
type sameAs struct {
	family shim.Family
	size   shim.Length
	miked  bool
	used   bool // where that makes one less sure and the plan asks for a confidence
}

// A handing is the changed valves of one job whose shims are reached one by one.
type handing struct {
	job    int
	valves []*ValvePlan
	from   []int // by taker: the valve whose shim it gets, or below 0
	takes  []sameAs
	gives  []sameAs
	open   [][]bool // by position and valve: what may be open there
}

// handEqual hands equal shims round such that as few rings as can be are
// broken, and then such that the crank stops as seldom as can be.
func (p *Plan) handEqual(b *bench, q *Request) {
	p.follow()
	for i := range p.Jobs {
		if p.Jobs[i].Engine.Access == shim.ByCamshaft {
			continue
		}
		f := newFitting(p, []int{i})
		h := handing{job: i, open: f.bays[0].sets}
		if f.bays[0].openings == nil {
			h.open = nil
		}
		for n := range f.nodes {
			v, from := f.nodes[n].valve, -1
			if v.From != nil {
				if at, known := f.index[*v.From]; known {
					from = at
				}
			}
			h.valves, h.from = append(h.valves, v), append(h.from, from)
			matters := q.Jobs[i].Risk != nil || p.Confidence != 0 && p.Jobs[i].Gauge.UsedStamp() != p.Jobs[i].Gauge.Stamp
			h.takes = append(h.takes, sameAs{f.family(&f.nodes[n]), v.Size, v.Miked, matters && v.Used && !v.Miked})
			gives := sameAs{f.family(&f.nodes[n]), v.Installed, v.InstalledMiked, matters && !v.InstalledMiked}
			if v.SetUp {
				gives.size = 0 // that nobody takes
			}
			h.gives = append(h.gives, gives)
		}
		if slices.ContainsFunc(f.rings, func(ring []int) bool { return !f.atOnce(ring) }) {
			h.improve()
			p.follow()
		}
		if f.bays[0].openings != nil {
			h.tryAll(p, f, b)
		}
	}
}

// improve looks at the valves that hang together, one lot after another.
func (h *handing) improve() {
	lot := h.lots()
	for first := range h.valves {
		if lot[first] != first {
			continue
		}
		var members []int
		for n := range h.valves {
			if lot[n] == first {
				members = append(members, n)
			}
		}
		fed := slices.ContainsFunc(members, func(n int) bool { return h.from[n] < 0 })
		// Rings that nothing feeds are joined only where that saves one.
		if broken := h.brokenIn(members); broken > 0 && (fed || !h.share(members) && broken > 1) {
			h.join(members)
		}
	}
	for n, from := range h.from {
		if from >= 0 {
			h.valves[n].From = &Place{Job: h.job, Valve: h.valves[from].Valve}
		}
	}
}

// lots gives for each valve the first one of those that it hangs together with
// by their sizes.
func (h *handing) lots() []int {
	lot := make([]int, len(h.valves))
	for n := range lot {
		lot[n] = n
	}
	for a := range lot {
		for b := range lot {
			if h.takes[a] == h.takes[b] || h.takes[a] == h.gives[b] || h.gives[a] == h.gives[b] {
				for n, old := range slices.Clone(lot) {
					if old == max(lot[a], lot[b]) {
						lot[n] = min(lot[a], lot[b])
					}
				}
			}
		}
	}
	return lot
}

// ring is the ring that a valve is in, nil where it is on a path.
func (h *handing) ring(n int) []int {
	list := []int{n}
	for at := h.from[n]; at != n; at = h.from[at] {
		if at < 0 {
			return nil
		}
		list = append(list, at)
	}
	return list
}

// brokenIn counts the rings of these valves that no position opens at once.
func (h *handing) brokenIn(members []int) (count int) {
	for _, n := range members {
		ring := h.ring(n)
		atOnce := slices.ContainsFunc(h.open, func(open []bool) bool {
			return !slices.ContainsFunc(ring, func(at int) bool { return !open[at] })
		})
		if ring != nil && slices.Min(ring) == n && !atOnce {
			count++
		}
	}
	return count
}

// exchange lets two takers of equal shims change them.
func (h *handing) exchange(a, b int) {
	h.from[a], h.from[b] = h.from[b], h.from[a]
	v, w := h.valves[a], h.valves[b]
	v.Action, w.Action = w.Action, v.Action
	v.From, w.From = w.From, v.From
	v.Quote, w.Quote = w.Quote, v.Quote
	v.Used, w.Used = w.Used, v.Used
}

// join makes one path or one ring of all rings that hang together with others.
func (h *handing) join(members []int) {
	for more := true; more; {
		more = false
		for _, a := range members {
			ring := h.ring(a)
			if ring == nil {
				continue
			}
			for _, b := range members {
				if h.takes[a] == h.takes[b] && !slices.Contains(ring, b) {
					h.exchange(a, b)
					more = true
					break
				}
			}
			if ring = h.ring(a); ring == nil {
				continue
			}
			// A shim that is left over at the end of a path is as good as the ring's.
			given := map[int]bool{}
			for _, from := range h.from {
				given[from] = true
			}
			for _, b := range members {
				away := h.valves[b].To != nil && h.valves[b].To.Job != h.job
				if h.gives[b] == h.takes[a] && !given[b] && !away {
					h.from[a] = b
					h.valves[a].Used = !h.valves[b].InstalledMiked
					more = true
					break
				}
			}
		}
	}
}

// maxSteps bounds the search of share. Engines have few equal shims, and most
// lots take some tens of steps.
const maxSteps = 100_000

// share looks for a way to hand the shims round in rings that each one position
// opens at once: a position for every valve, such that at each position what
// the valves give is what they take. It follows every ring from its first valve
// on and goes back where it leads nowhere.
func (h *handing) share(members []int) bool {
	from := make([]int, len(h.valves))
	taken := make([]bool, len(h.valves)) // whether it has its shim
	steps := maxSteps
	var begin func() bool
	var follow func(first, last int, open []bool) bool
	begin = func() bool {
		at := slices.IndexFunc(members, func(n int) bool { return !taken[n] })
		if at < 0 {
			return true
		}
		first := members[at]
		for _, open := range h.open {
			if open[first] && follow(first, first, open) {
				return true
			}
		}
		return false
	}
	follow = func(first, last int, open []bool) bool {
		for _, n := range members {
			if steps--; steps < 0 {
				return false
			}
			// The first one takes its shim last, and closes the ring.
			if taken[n] || !open[n] || h.takes[n] != h.gives[last] {
				continue
			}
			taken[n], from[n] = true, last
			if n == first && begin() || n != first && follow(first, n, open) {
				return true
			}
			taken[n] = false
		}
		return false
	}
	if !begin() {
		return false
	}
	for _, n := range members {
		h.from[n] = from[n]
	}
	return true
}

// maxHandings bounds how many ways to hand equal shims round are tried for the
// fewest stops. A size that two valves take makes two ways, one that three take
// six.
const maxHandings = 200

// tryAll tries every way to hand the shims round for the least toil. It keeps
// the first one of equals, and leaves off where nothing can be better.
func (h *handing) tryAll(p *Plan, f *fitting, b *bench) {
	alone := true // whether no shim comes from or goes to another engine
	for n, v := range h.valves {
		alone = alone && (v.From == nil || h.from[n] >= 0) && (v.To == nil || v.To.Job == h.job)
	}
	kinds := h.kinds()
	if !alone || len(kinds) == 0 {
		return
	}
	measure := func(best *toil) toil {
		p.follow()
		f.chain()
		return f.toil(b, best)
	}
	least, best, kept := f.cover(), measure(nil), h.tokens()
	again := best.again // as few as can be: improve has seen to that
	tries := 0
	var try func(kind, slot int)
	try = func(kind, slot int) {
		enough := best.wanting == 0 && best.again == again && best.stops <= least
		switch {
		case enough || tries > maxHandings || f.looks <= 0:
		case kind == len(kinds):
			tries++
			if now := measure(&best); now.less(best) {
				best, kept = now, h.tokens()
			}
		case slot == len(kinds[kind].takers):
			try(kind+1, 0)
		default:
			k := kinds[kind]
			for i := range k.tokens {
				t := &k.tokens[i]
				if t.used || slices.ContainsFunc(k.tokens[:i], func(other token) bool { return !other.used && other.same(t) }) {
					continue
				}
				t.used = true
				h.put(k.takers[slot], *t)
				try(kind, slot+1)
				t.used = false
			}
		}
	}
	try(0, 0)
	for n, t := range kept {
		h.put(n, t)
	}
	p.follow()
}

// A token is a shim to be given, and where it comes from.
type token struct {
	from   int
	action Action
	place  *Place
	price  shim.Price
	priced bool
	worn   bool // as [ValvePlan.Used]
	used   bool
}

func (t *token) same(other *token) bool {
	return t.from < 0 && t.from == other.from && t.action == other.action && t.price == other.price && t.priced == other.priced && t.worn == other.worn
}

// tokens is what each valve gets now.
func (h *handing) tokens() []token {
	list := make([]token, len(h.valves))
	for n, v := range h.valves {
		list[n] = token{from: h.from[n], action: v.Action, place: v.From, price: v.Price, priced: v.Priced, worn: v.Used}
	}
	return list
}

// put gives a valve what the token stands for.
func (h *handing) put(n int, t token) {
	v := h.valves[n]
	h.from[n] = t.from
	v.Action, v.From, v.Price, v.Priced, v.Used = t.action, t.place, t.price, t.priced, t.worn
}

// A kind is valves that take equal shims, and all such shims: those that they
// take and those that are left over.
type kind struct {
	takers []int
	tokens []token
}

// kinds lists the kinds where there is a choice.
func (h *handing) kinds() []kind {
	var list []kind
	given := map[int]bool{}
	for _, from := range h.from {
		given[from] = true
	}
	now := h.tokens()
	for first := range h.valves {
		if slices.Index(h.takes, h.takes[first]) != first {
			continue
		}
		var k kind
		for n := range h.valves {
			if h.takes[n] == h.takes[first] {
				k.takers, k.tokens = append(k.takers, n), append(k.tokens, now[n])
			}
		}
		for n, v := range h.valves {
			if h.gives[n] == h.takes[first] && !given[n] {
				k.tokens = append(k.tokens, token{from: n, action: Swap, place: &Place{Job: h.job, Valve: v.Valve}, worn: !v.InstalledMiked})
			}
		}
		if len(k.tokens) > 1 {
			list = append(list, k)
		}
	}
	return list
}

// cover is the fewest positions at which all of the valves can be opened: no
// list has fewer stops.
func (f *fitting) cover() int {
	sets := f.bays[0].sets
	var within func(open []bool, left int) bool
	within = func(open []bool, left int) bool {
		first := slices.Index(open, false)
		if first < 0 || left == 0 {
			return first < 0
		}
		for _, set := range sets {
			if set[first] {
				more := slices.Clone(open)
				for n := range more {
					more[n] = more[n] || set[n]
				}
				if within(more, left-1) {
					return true
				}
			}
		}
		return false
	}
	count := 0
	for !within(make([]bool, len(f.nodes)), count) {
		count++
	}
	return count
}
