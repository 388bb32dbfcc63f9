package assign

import "slices"

// plain is the textbook's method: paths are looked for among the bins, and
// every row that holds a piece of a bin on the way is looked at with all its
// arcs.
type plain struct {
	*state
	queue
	held [][]holding // by bin
	end  end         // of the path at hand
}

// A holding is a number of pieces that a row holds of a bin.
type holding struct {
	row   int32
	count int
}

// end is the cheapest end of a path found so far: the row moves from a bin, or
// is itself being placed where that is direct, to another one that has a piece
// to spare, or outside where that is None.
type end struct {
	cost          Cost
	row, from, to int32
}

// never is dearer than any path.
var never = Cost{1 << 62}

func newPlain(s *state) *plain {
	return &plain{state: s, queue: queue{label: make([]label, len(s.Bins))}, held: make([][]holding, len(s.Bins))}
}

func (s *plain) place(row int32, left int) int {
	s.reset()
	s.end = end{cost: never}
	var zero Cost
	s.follow(row, direct, &zero)
	for {
		bin, ok := s.next(&s.end.cost)
		if !ok {
			break
		}
		start := s.label[bin].distance.minus(&s.price[bin])
		for _, h := range s.held[bin] {
			s.Cost(int(h.row), int(bin), &s.cost)
			from := start.minus(&s.cost)
			s.follow(h.row, bin, &from)
		}
	}
	if s.end.cost == never {
		return 0
	}
	s.raise(&s.queue, &s.end.cost)
	return s.augment(left)
}

// follow looks at all places of a row other than the bin it is in.
func (s *plain) follow(row, here int32, from *Cost) {
	if out := s.Rows[row].Outside; out != nil && lessSum(from, out, &s.end.cost) {
		s.end = end{from.plus(out), row, here, None}
	}
	for _, sp := range s.of(row) {
		for j := sp.from; j < sp.to; j++ {
			if j == here {
				continue
			}
			s.Cost(int(row), int(j), &s.cost)
			s.cost.add(&s.price[j])
			if !lessSum(from, &s.cost, &s.end.cost) {
				continue
			}
			distance := from.plus(&s.cost)
			if s.free[j] > 0 {
				s.end = end{distance, row, here, j}
			} else {
				s.offer(j, row, here, &distance)
			}
		}
	}
}

// augment moves demands along the path and gives how many.
func (s *plain) augment(left int) int {
	n := left
	if s.end.to != None {
		n = min(n, s.free[s.end.to])
	}
	for row, from := s.end.row, s.end.from; from != direct; row, from = s.label[from].by, s.label[from].before {
		n = min(n, s.held[from][s.find(row, from)].count)
	}
	if s.end.to != None {
		s.free[s.end.to] -= n
	}
	for row, from, to := s.end.row, s.end.from, s.end.to; ; row, from, to = s.label[from].by, s.label[from].before, from {
		if to == None {
			s.outside[row] += n
		} else {
			s.give(row, to, n)
		}
		if from == direct {
			return n
		}
		at := s.find(row, from)
		if s.held[from][at].count -= n; s.held[from][at].count == 0 {
			s.held[from] = slices.Delete(s.held[from], at, at+1)
		}
	}
}

func (s *plain) find(row, bin int32) int {
	return slices.IndexFunc(s.held[bin], func(h holding) bool { return h.row == row })
}

func (s *plain) give(row, bin int32, n int) {
	if at := s.find(row, bin); at >= 0 {
		s.held[bin][at].count += n
		return
	}
	s.held[bin] = append(s.held[bin], holding{row, n})
}

func (s *plain) placements() (list []Placement) {
	for bin, held := range s.held {
		for _, h := range held {
			list = append(list, Placement{int(h.row), bin, h.count})
		}
	}
	return list
}

func (s *plain) prices() []Cost { return s.price }
