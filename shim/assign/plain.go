package assign

import (
	"math"
	"slices"
)

// plain is the textbook's method: paths are looked for among the bins, and
// every row that holds a piece of a bin on the way is looked at with all its
// arcs. Outside counts as one more bin, the last one, which every row with a
// way outside reaches; it alone knows a bound of those outside.
type plain struct {
	*state
	queue
	outside int32       // the bin that stands for outside
	held    [][]holding // by bin
	end     end         // of the path at hand
}

// A holding is a number of pieces that a row holds of a bin.
type holding struct {
	row   int32
	count int
}

// end is the cheapest end of a path found so far: the row moves from a bin, or
// is itself being placed where that is direct, to another one that has a piece
// to spare.
type end struct {
	cost          Cost
	row, from, to int32
}

// never is dearer than any path.
var never = Cost{1 << 62}

func newPlain(s *state) *plain {
	n := len(s.Bins)
	s.free, s.price = append(s.free, s.outsideCount()), append(s.price, Cost{})
	return &plain{state: s, queue: queue{label: make([]label, n+1)}, outside: int32(n), held: make([][]holding, n+1)}
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
			here := s.at(h.row, bin)
			from := start.minus(here)
			s.follow(h.row, bin, &from)
		}
	}
	if s.end.cost == never {
		return 0
	}
	s.raise(&s.queue, &s.end.cost)
	return s.augment(left)
}

// at is what a piece of the bin costs the row, without the price.
func (s *plain) at(row, bin int32) *Cost {
	if bin == s.outside {
		return s.Rows[row].Outside
	}
	s.Cost(int(row), int(bin), &s.cost)
	return &s.cost
}

// follow looks at all places of a row other than the bin it is in.
func (s *plain) follow(row, here int32, from *Cost) {
	if s.Rows[row].Outside != nil {
		s.try(row, here, s.outside, from)
	}
	for _, sp := range s.of(row) {
		for j := sp.from; j < sp.to; j++ {
			s.try(row, here, j, from)
		}
	}
}

// try looks at one place of a row.
func (s *plain) try(row, here, bin int32, from *Cost) {
	if bin == here {
		return
	}
	pays := s.at(row, bin).plus(&s.price[bin])
	if !lessSum(from, &pays, &s.end.cost) {
		return
	}
	distance := from.plus(&pays)
	if s.free[bin] > 0 {
		s.end = end{distance, row, here, bin}
	} else {
		s.offer(bin, row, here, &distance)
	}
}

// augment moves demands along the path and gives how many.
func (s *plain) augment(left int) int {
	n := min(left, s.free[s.end.to])
	for row, from := s.end.row, s.end.from; from != direct; row, from = s.label[from].by, s.label[from].before {
		n = min(n, s.held[from][s.find(row, from)].count)
	}
	s.free[s.end.to] -= n
	for row, from, to := s.end.row, s.end.from, s.end.to; ; row, from, to = s.label[from].by, s.label[from].before, from {
		s.give(row, to, n)
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
			if int32(bin) == s.outside {
				s.state.outside[h.row] = h.count
				continue
			}
			list = append(list, Placement{int(h.row), bin, h.count})
		}
	}
	return list
}

func (s *plain) prices() (bins []Cost, outside Cost) {
	return s.price[:s.outside], s.price[s.outside]
}

// outsideCount is how many demands may go outside.
func (p *Problem) outsideCount() int {
	if p.MostOutside == nil {
		return math.MaxInt
	}
	return *p.MostOutside
}
