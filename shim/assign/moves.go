package assign

import "slices"

// moves are the moves from one bin to another, or to None: the cheapest one,
// unless its group is None, and the others, the first of which, as many as
// sorted says, are a heap by cost.
type moves struct {
	to, group int32
	sorted    int32
	cost      Cost
	others    []move
}

// A move of a group that has changed since is void. The cost of one that a
// single row makes is nil, and found anew when it is needed.
type move struct {
	group, age int32
	cost       *Cost
}

// renew makes the group's old moves void and offers the new ones.
func (s *byGroup) renew(id int32) {
	g := &s.groups[id]
	g.age++
	g.new = false
	for _, h := range g.held {
		for i := range s.moves[h.bin] {
			if m := &s.moves[h.bin][i]; m.group == id {
				s.advance(h.bin, m)
			}
		}
	}
	g.held = slices.DeleteFunc(g.held, func(h held) bool { return h.count == 0 })
	for i, h := range g.held {
		if s.kept[h.bin] && !slices.ContainsFunc(g.held[:i], func(other held) bool { return other.bin == h.bin }) {
			s.provide(id, h.bin)
		}
	}
}

// keep begins to keep the moves from a shared bin.
func (s *byGroup) keep(bin int32) {
	s.kept[bin] = true
	s.moves[bin] = []moves{{to: None, group: None}}
	slices.Sort(s.holders[bin])
	for _, id := range slices.Compact(s.holders[bin]) {
		s.provide(id, bin)
	}
	s.holders[bin] = nil
}

// provide adds the group's moves from a shared bin to those that are kept.
func (s *byGroup) provide(id, bin int32) {
	s.look(id, None, bin)
	if s.exit.cost != never {
		s.add(bin, &s.moves[bin][0], id, &s.exit.cost)
	}
	for i := range s.moves[bin][1:] {
		s.slot[s.moves[bin][i+1].to] = int32(i + 1)
	}
	for _, to := range s.reached {
		i := s.slot[to]
		if int(i) >= len(s.moves[bin]) || s.moves[bin][i].to != to {
			i = int32(len(s.moves[bin]))
			s.moves[bin] = append(s.moves[bin], moves{to: to, group: None})
		}
		s.add(bin, &s.moves[bin][i], id, &s.found[to].distance)
	}
}

// add adds a group's move to those from the bin.
func (s *byGroup) add(bin int32, m *moves, id int32, cost *Cost) {
	if m.group == None || cost.Less(&m.cost) {
		id, m.group = m.group, id
		*cost, m.cost = m.cost, *cost
		if id == None {
			return
		}
	}
	if len(m.others) == cap(m.others) {
		m.others = slices.DeleteFunc(m.others, s.void)
		m.sorted = 0
	}
	other := move{group: id, age: s.groups[id].age}
	if !s.alone {
		kept := *cost
		other.cost = &kept
	}
	m.others = append(m.others, other)
}

func (s *byGroup) void(m move) bool { return s.groups[m.group].age != m.age }

// advance makes the cheapest of the others that is not void the cheapest one.
func (s *byGroup) advance(bin int32, m *moves) {
	m.group = None
	for ; int(m.sorted) < len(m.others); m.sorted++ {
		s.siftUp(bin, m, int(m.sorted))
	}
	for m.group == None && len(m.others) > 0 {
		if top := m.others[0]; !s.void(top) {
			m.group, m.cost = top.group, s.moveCost(bin, m.to, top)
		}
		last := len(m.others) - 1
		m.others[0] = m.others[last]
		m.others = m.others[:last]
		m.sorted--
		s.siftDown(bin, m)
	}
}

// moveCost is what a move costs.
func (s *byGroup) moveCost(from, to int32, m move) Cost {
	if m.cost != nil {
		return *m.cost
	}
	row := int(m.group)
	s.Cost(row, int(from), &s.cost)
	here := s.cost
	if to == None {
		return s.Rows[row].Outside.minus(&here)
	}
	s.Cost(row, int(to), &s.cost)
	return s.cost.minus(&here)
}

func (s *byGroup) cheaper(bin int32, m *moves, a, b int) bool {
	x, y := s.moveCost(bin, m.to, m.others[a]), s.moveCost(bin, m.to, m.others[b])
	return x.Less(&y)
}

// siftUp moves a move up to its place by cost.
func (s *byGroup) siftUp(bin int32, m *moves, at int) {
	for at > 0 && s.cheaper(bin, m, at, (at-1)/2) {
		m.others[at], m.others[(at-1)/2] = m.others[(at-1)/2], m.others[at]
		at = (at - 1) / 2
	}
}

// siftDown moves the first move down to its place by cost.
func (s *byGroup) siftDown(bin int32, m *moves) {
	for at := 0; ; {
		child := 2*at + 1
		if child >= len(m.others) {
			return
		}
		if child+1 < len(m.others) && s.cheaper(bin, m, child+1, child) {
			child++
		}
		if !s.cheaper(bin, m, child, at) {
			return
		}
		m.others[at], m.others[child] = m.others[child], m.others[at]
		at = child
	}
}
