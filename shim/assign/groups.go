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

// hold raises prices so that the row does not move, and reports whether it had to.
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
