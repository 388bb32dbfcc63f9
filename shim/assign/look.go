package assign

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
