package assign

import "slices"

// byGroup is the method for many small groups of rows that share some bins.
//
// What a group can do for the others is a few moves: give back a piece of one
// shared bin and take one of another, or none. What a move costs changes only
// when the group does. So each crowded shared bin keeps the groups' moves to
// each other place as a heap, paths are looked for among the shared bins alone,
// and a group is looked into where a path leads through it. Prices of the
// groups' own bins follow at the end.
type byGroup struct {
	*state
	*partition
	groups  []group
	holders [][]int32 // by bin, until its moves are kept: the groups that have held it
	kept    []bool    // by bin: whether its moves are kept
	moves   [][]moves // by bin; the first one is to None
	slot    []int32   // by bin: a place among the moves at hand

	// Of the path at hand, among the shared bins.
	queue
	end  pathEnd
	path []step

	// Of the search at hand, inside a group.
	found   []found // by bin
	search  int32   // its number
	todo    []int32
	reached []int32 // shared bins, in the order in which they were found
	exit    exit
}

// A group is what its rows hold. Its age counts the changes of its moves.
type group struct {
	held []held
	age  int32
	new  bool // whether its moves have to be found anew
}

type held struct{ row, bin, count int32 }

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

// found is what the search inside a group knows of a bin.
type found struct {
	distance Cost
	search   int32
	by       int32 // a place among what the group holds, or direct
	waiting  bool
}

// exit is the cheapest way found to end inside the group: in a bin of its own
// with a piece to spare, or outside.
type exit struct {
	cost    Cost
	bin, by int32
}

// pathEnd is the cheapest end of a path found so far: the last group's move from
// one shared bin, or from the row itself where that is direct, to another one
// that has a piece to spare, or to None, which is the group's exit.
type pathEnd struct {
	cost            Cost
	from, group, to int32
}

// A step of a path: the group moves what it holds at the place by, or the row
// being placed, to a bin or outside.
type step struct{ group, by, to int32 }

func newByGroup(s *state, p *partition) *byGroup {
	n := len(s.Bins)
	return &byGroup{
		state:     s,
		partition: p,
		groups:    make([]group, p.groups),
		holders:   make([][]int32, n),
		kept:      make([]bool, n),
		moves:     make([][]moves, n),
		slot:      make([]int32, n),
		queue:     queue{label: make([]label, n)},
		found:     make([]found, n),
	}
}

// place finds a cheapest path among the shared bins and moves demands along it.
func (s *byGroup) place(row int32, left int) int {
	s.reset()
	id := s.group[row]
	s.look(id, row, direct)
	s.end = pathEnd{s.exit.cost, direct, id, None}
	for _, bin := range s.reached {
		s.relax(bin, direct, id, &s.found[bin].distance)
	}
	for {
		bin, ok := s.next(&s.end.cost)
		if !ok {
			break
		}
		s.expand(bin)
	}
	if s.end.cost == never {
		return 0
	}
	s.raise(&s.queue, &s.end.cost)
	s.trace(row)
	return s.augment(row, left)
}

// expand follows the path from a shared bin along the cheapest moves.
func (s *byGroup) expand(bin int32) {
	if !s.kept[bin] {
		s.keep(bin)
	}
	start := s.label[bin].distance.minus(&s.price[bin])
	list := s.moves[bin]
	for i := range list {
		m := &list[i]
		if m.group == None || !lessSum(&start, &m.cost, &s.end.cost) {
			continue
		}
		distance := start.plus(&m.cost)
		if m.to != None {
			s.relax(m.to, bin, m.group, &distance)
		} else {
			s.end = pathEnd{distance, bin, m.group, None}
		}
	}
}

// relax offers the shared bin a path whose last step is the group's. The
// distance is without the bin's own price.
func (s *byGroup) relax(bin, before, group int32, distance *Cost) {
	if !lessSum(distance, &s.price[bin], &s.end.cost) {
		return
	}
	full := distance.plus(&s.price[bin])
	if s.free[bin] > 0 {
		s.end = pathEnd{full, before, group, bin}
		return
	}
	s.offer(bin, group, before, &full)
}

// trace writes the steps of the path to the end, the last one first.
func (s *byGroup) trace(row int32) {
	s.path = s.path[:0]
	for from, group, to := s.end.from, s.end.group, s.end.to; ; {
		s.look(group, row, from)
		by := s.exit.by
		if to == None {
			to = s.exit.bin
		} else {
			by = s.found[to].by
		}
		for {
			// A path through one group twice may meet itself there: cut the loop,
			// which costs nothing.
			if again := slices.IndexFunc(s.path, func(p step) bool { return p.to == to }); again >= 0 {
				s.path = s.path[:again]
			}
			s.path = append(s.path, step{group, by, to})
			if by == direct {
				return
			}
			if to = s.groups[group].held[by].bin; to == from {
				break
			}
			by = s.found[to].by
		}
		group, from = s.label[from].by, s.label[from].before
	}
}

// augment moves demands along the path and gives how many.
func (s *byGroup) augment(row int32, left int) int {
	n := left
	if to := s.path[0].to; to != None {
		n = min(n, s.free[to])
	}
	for _, p := range s.path {
		if p.by != direct {
			n = min(n, int(s.groups[p.group].held[p.by].count))
		}
	}
	for _, p := range s.path {
		mover := row
		if p.by != direct {
			h := &s.groups[p.group].held[p.by]
			h.count -= int32(n)
			mover = h.row
			if h.count == 0 {
				s.groups[p.group].new = true
			}
		}
		if p.to == None {
			s.outside[mover] += n
		} else {
			s.give(mover, p.to, n)
		}
	}
	if to := s.path[0].to; to != None {
		s.free[to] -= n
		if s.free[to] == 0 && !s.shared[to] {
			s.groups[s.path[0].group].new = true
		}
	}
	for _, p := range s.path {
		if s.groups[p.group].new {
			s.renew(p.group)
		}
	}
	return n
}

// give lets the row hold n more pieces of the bin.
func (s *byGroup) give(row, bin int32, n int) {
	id := s.group[row]
	g := &s.groups[id]
	for i := range g.held {
		if h := &g.held[i]; h.row == row && h.bin == bin {
			h.count += int32(n)
			return
		}
	}
	g.held = append(g.held, held{row, bin, int32(n)})
	g.new = true
	if s.shared[bin] && !s.kept[bin] {
		s.holders[bin] = append(s.holders[bin], id)
	}
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

// look finds the cheapest ways through a group from a shared bin of which it
// gives back a piece, or from the row to be placed where that is direct: to
// every shared bin, and to its exit. Nothing can go round in circles at a gain,
// so the groups' own bins need no prices for that: each is looked at again
// whenever it gets nearer.
func (s *byGroup) look(id, row, from int32) {
	s.search++
	s.todo, s.reached, s.exit = s.todo[:0], s.reached[:0], exit{cost: never}
	held := s.groups[id].held
	var start Cost
	if from == direct {
		s.step(row, direct, None, &start)
	} else {
		s.found[from] = found{search: s.search}
		s.leave(held, from)
	}
	for next := 0; next < len(s.todo); next++ {
		bin := s.todo[next]
		s.found[bin].waiting = false
		s.leave(held, bin)
	}
}

// leave follows the way from a bin to wherever its rows could go instead.
func (s *byGroup) leave(held []held, bin int32) {
	start := s.found[bin].distance
	for i := range held {
		if h := &held[i]; h.bin == bin {
			s.Cost(int(h.row), int(bin), &s.cost)
			from := start.minus(&s.cost)
			s.step(h.row, int32(i), bin, &from)
		}
	}
}

// step follows a way to all places of a row other than the one it is in.
func (s *byGroup) step(row, by, here int32, from *Cost) {
	if out := s.Rows[row].Outside; out != nil {
		s.leaveBy(None, by, from, out)
	}
	for _, sp := range s.of(row) {
		for j := sp.from; j < sp.to; j++ {
			if j == here {
				continue
			}
			s.Cost(int(row), int(j), &s.cost)
			if s.free[j] > 0 && !s.shared[j] {
				s.leaveBy(j, by, from, &s.cost)
				continue
			}
			f := &s.found[j]
			known := f.search == s.search
			if known && !lessSum(from, &s.cost, &f.distance) {
				continue
			}
			if !known {
				*f = found{search: s.search}
				if s.shared[j] {
					s.reached = append(s.reached, j)
				}
			}
			f.distance, f.by = from.plus(&s.cost), by
			if !s.shared[j] && !f.waiting {
				f.waiting = true
				s.todo = append(s.todo, j)
			}
		}
	}
}

// leaveBy offers an exit.
func (s *byGroup) leaveBy(bin, by int32, from, cost *Cost) {
	if lessSum(from, cost, &s.exit.cost) {
		s.exit = exit{from.plus(cost), bin, by}
	}
}

func (s *byGroup) placements() (list []Placement) {
	for i := range s.groups {
		for _, h := range s.groups[i].held {
			list = append(list, Placement{int(h.row), int(h.bin), int(h.count)})
		}
	}
	return list
}

// prices completes the prices: those of the groups' own bins are the least that
// keep every row from moving.
func (s *byGroup) prices() (bins []Cost, outside Cost) {
	for row := range s.outside {
		if s.outside[row] > 0 {
			g := &s.groups[s.group[row]]
			g.held = append(g.held, held{int32(row), None, 0})
		}
	}
	for i := range s.groups {
		for again := true; again; {
			again = false
			for _, h := range s.groups[i].held {
				again = s.hold(h) || again
			}
		}
	}
	return s.price, outside
}

// hold raises prices so that the row does not move, and tells whether it had to.
func (s *byGroup) hold(h held) (raised bool) {
	var pays Cost
	if h.bin == None {
		pays = *s.Rows[h.row].Outside
	} else {
		s.Cost(int(h.row), int(h.bin), &s.cost)
		pays = s.cost.plus(&s.price[h.bin])
	}
	for _, sp := range s.of(h.row) {
		for j := sp.from; j < sp.to; j++ {
			if j == h.bin || s.shared[j] {
				continue
			}
			s.Cost(int(h.row), int(j), &s.cost)
			if lessSum(&s.cost, &s.price[j], &pays) {
				s.price[j] = pays.minus(&s.cost)
				raised = true
			}
		}
	}
	return raised
}
