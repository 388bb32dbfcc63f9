package crank

import (
	"cmp"
	"slices"
)

// cover gives so many angles, in order, such that each arc holds one of them:
// with one at the start of the cycle if that can be, then by merit. The number
// must be what fewest says.
func (c *cycle) cover(arcs []arc, count int) []int {
	r := &router{c: c, arcs: arcs, spots: c.spots(arcs)}
	r.known = make([]int, len(r.spots)*len(r.spots))
	// Angle 0 is always a spot, as none is of a better grade, and the first.
	if route, _, found := r.best(0, count); found {
		return route
	}
	// Every cover has an angle in every arc, in the shortest too.
	shortest := slices.MinFunc(arcs, func(a, b arc) int { return cmp.Compare(a.half, b.half) })
	var best []int
	var most merit
	for i, s := range r.spots {
		if c.clear(shortest, s.at) <= 0 {
			continue
		}
		if route, m, found := r.best(i, count); found && (best == nil || m.better(most)) {
			best, most = route, m
		}
	}
	return best
}

// A merit orders covers of equally many angles.
type merit struct {
	// grades holds the number of angles of each grade but the first, a byte
	// each, the worst grade in the highest: the lower, the better.
	grades uint64
	// clear is how far the valve that stands closest to its lobe is from it,
	// each measured where it stands furthest: the higher, the better.
	clear int
	// others holds the number of firing TDCs other than the one full turn from
	// the start, which needs no second mark: the lower, the better.
	others int
}

func (m merit) with(s spot) merit {
	if s.grade > atStart {
		m.grades += 1 << (8 * (s.grade - 1))
	}
	if s.grade == atFiring && !s.turn {
		m.others++
	}
	return m
}

func (m merit) better(n merit) bool {
	return cmp.Or(cmp.Compare(m.grades, n.grades), cmp.Compare(n.clear, m.clear), cmp.Compare(m.others, n.others)) < 0
}

// A router looks for the best round of spots that covers all arcs.
//
// Of a round's angles the one nearest to an arc's middle is one of the two
// between which that middle lies. So what a round is worth follows from what
// each pair of neighbours is worth to the arcs with their middles between
// them, and the best round is a shortest path. Grades add up and clear is a
// least one, so a better way to a spot stays better, or as good, whatever
// follows: the path is exact in these two. It is not so in what comes after
// clear, hence a second search among the rounds of the best clear (see best).
type router struct {
	c     *cycle
	arcs  []arc
	spots []spot
	known []int // gap by from and to, unknown where 0
}

// none says that a gap leaves an arc without an angle.
const none = -1

// gap is how far the arcs with their middles from the first spot up to the
// second are clear at the better of the two, the closest of them counted,
// or none. From a spot to itself is once round.
func (r *router) gap(from, to int) int {
	key := from*len(r.spots) + to
	if r.known[key] == 0 {
		r.known[key] = r.measure(r.spots[from].at, r.spots[to].at)
	}
	return r.known[key]
}

func (r *router) measure(from, to int) int {
	span := r.c.wrap(to - from)
	if span == 0 {
		span = r.c.full
	}
	least := r.c.full
	for _, a := range r.arcs {
		if r.c.wrap(a.mid-from) > span {
			continue
		}
		clear := max(r.c.clear(a, from), r.c.clear(a, to))
		if clear <= 0 {
			return none
		}
		least = min(least, clear)
	}
	return least
}

// round is the best round of so many spots that begins at the given one.
// Where enough is above 0, it is the best of those at least so clear, and
// being clearer is no merit.
func (r *router) round(start, count, enough int) (route []int, total merit, found bool) {
	n := len(r.spots)
	type step struct {
		merit
		from    int
		reached bool
	}
	// steps[k][i] is the best way to the i-th spot after the start with k
	// spots before it; the n-th is the start again.
	steps := make([][]step, count+1)
	for k := range steps {
		steps[k] = make([]step, n+1)
	}
	steps[0][0] = step{merit: merit{clear: r.c.full}.with(r.spots[start]), reached: true}
	for k := range count {
		for i, s := range steps[k][:n] {
			if !s.reached {
				continue
			}
			first, last := i+1, n-1
			if k == count-1 {
				first, last = n, n
			}
			for j := first; j <= last; j++ {
				to := (start + j) % n
				clear := r.gap((start+i)%n, to)
				if clear == none || clear < enough {
					continue
				}
				m := s.merit
				if m.clear = min(m.clear, clear); enough > 0 {
					m.clear = enough
				}
				if j < n {
					m = m.with(r.spots[to])
				}
				if t := &steps[k+1][j]; !t.reached || m.better(t.merit) {
					*t = step{m, i, true}
				}
			}
		}
	}
	home := steps[count][n]
	if !home.reached {
		return nil, merit{}, false
	}
	for k, i := count, home.from; k > 0; k-- {
		route = append(route, r.spots[(start+i)%n].at)
		i = steps[k-1][i].from
	}
	slices.Sort(route)
	return route, home.merit, true
}

// best is the best round of so many spots that begins at the given one.
func (r *router) best(start, count int) (route []int, total merit, found bool) {
	if _, total, found = r.round(start, count, 0); !found {
		return nil, merit{}, false
	}
	return r.round(start, count, total.clear)
}
