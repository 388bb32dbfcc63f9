package stock

// A node is where a valve's shim comes from: a kind of the box by its place on the
// line, or below zero the pulled shim of valve ^node.
type node = int32

// A period is the valves from first up to, not including, last of a crowd, matched
// with their own pulled shims and with the box.
type period struct {
	*crowd
	first, last int
	counts      []int32   // of the box, by place on the line; shared by all periods
	at          [][]int32 // the valves that each kind of the box serves
	from        []node    // where each valve's shim comes from, if served
	served      []bool    // by valve
	owner       []int32   // by pulled shim the valve that it serves, or -1
	unserved    int
}

// A search is the room that searches take turns to work in.
type search struct {
	round  int32
	boxes  []mark // by place on the line
	pulled []mark // by valve
	queue  []int32
}

// A mark says in which round of searching a node was reached, and from which valve.
type mark struct{ round, from int32 }

func newSearch(c *crowd) *search {
	return &search{boxes: make([]mark, len(c.line)), pulled: make([]mark, len(c.valves))}
}

// newPeriod matches as many valves as can be served: with their own pulled shims
// first, so that no piece of the box is taken in place of one.
func newPeriod(c *crowd, first, last int, counts []int32, s *search) *period {
	n := last - first
	p := &period{crowd: c, first: first, last: last, counts: counts, at: make([][]int32, len(c.line)),
		from: make([]node, n), served: make([]bool, n), owner: make([]int32, n), unserved: n}
	for i := range p.owner {
		p.owner[i] = -1
	}
	for _, box := range []bool{false, true} {
		for v := first; v < last; v++ {
			if p.served[v-first] {
				continue
			}
			s.begin(int32(v))
			if end, found := p.look(s, box); found {
				p.shift(s, end)
			}
		}
	}
	return p
}

// begin begins a round of searching from the valves.
func (s *search) begin(valves ...int32) {
	s.round++
	s.queue = append(s.queue[:0], valves...)
}

// look follows the ways on which a valve takes a shim from another valve that has a
// choice, to a shim that serves nobody. Where there is none, all that it reached are
// the shims one more of which would serve one more valve.
func (p *period) look(s *search, box bool) (end node, found bool) {
	for at := 0; at < len(s.queue); at++ {
		i := s.queue[at]
		v := &p.valves[i]
		for _, k := range v.own {
			if s.pulled[k].round == s.round {
				continue
			}
			s.pulled[k] = mark{s.round, i}
			holder := p.owner[int(k)-p.first]
			if holder < 0 {
				return ^k, true
			}
			s.queue = append(s.queue, holder)
		}
		if !box || v.low == v.high {
			continue
		}
		// Outwards from the best size.
		for low, high := v.best, v.best+1; low >= v.low || high < v.high; low, high = low-1, high+1 {
			if low >= v.low && p.visit(s, low, i) {
				return low, true
			}
			if high < v.high && p.visit(s, high, i) {
				return high, true
			}
		}
	}
	return 0, false
}

// visit reaches a kind of the box from a valve, and reports whether a piece is free.
func (p *period) visit(s *search, k node, from int32) bool {
	if s.boxes[k].round == s.round {
		return false
	}
	s.boxes[k] = mark{s.round, from}
	if len(p.at[k]) < int(p.counts[k]) {
		return true
	}
	s.queue = append(s.queue, p.at[k]...)
	return false
}

// shift serves one more valve: each on the way that the search took gets the shim
// that it found there, up to the one that had none.
func (p *period) shift(s *search, end node) {
	for {
		var i int32
		if end < 0 {
			i = s.pulled[^end].from
		} else {
			i = s.boxes[end].from
		}
		before, had := p.from[int(i)-p.first], p.served[int(i)-p.first]
		if had && before >= 0 {
			p.leave(before, i)
		}
		p.from[int(i)-p.first], p.served[int(i)-p.first] = end, true
		if end < 0 {
			p.owner[int(^end)-p.first] = i
		} else {
			p.at[end] = append(p.at[end], i)
		}
		if !had {
			p.unserved--
			return
		}
		end = before
	}
}

// leave takes the valve off those that the kind serves.
func (p *period) leave(k node, i int32) {
	list := p.at[k]
	for at, v := range list {
		if v == i {
			list[at] = list[len(list)-1]
			p.at[k] = list[:len(list)-1]
			return
		}
	}
}

// wanted marks the kinds one more piece of which would save a purchase.
func (p *period) wanted(s *search, marks []bool) {
	s.begin()
	for v := p.first; v < p.last; v++ {
		if !p.served[v-p.first] {
			s.queue = append(s.queue, int32(v))
		}
	}
	p.look(s, true)
	for k := range marks {
		marks[k] = s.boxes[k].round == s.round
	}
}

// more serves one more valve with a piece of a wanted kind that has come into the box.
func (p *period) more(s *search) {
	s.begin()
	for v := p.first; v < p.last; v++ {
		if !p.served[v-p.first] {
			s.queue = append(s.queue, int32(v))
		}
	}
	if end, found := p.look(s, true); found {
		p.shift(s, end)
	}
}
