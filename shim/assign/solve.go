package assign

import (
	"cmp"
	"slices"
)

// Solve finds a cheapest assignment. The same problem gives the same solution.
// The error is [ErrInfeasible], or says what is wrong with the problem's form.
func Solve(p *Problem) (*Solution, error) {
	a, err := p.arcs()
	if err != nil {
		return nil, err
	}
	s := &solver{
		Problem: p,
		arcs:    a,
		free:    make([]int, len(p.Bins)),
		price:   make([]Cost, len(p.Bins)),
		held:    make([][]int32, len(p.Bins)),
		at:      make([][]int32, len(p.Rows)),
		outside: make([]int, len(p.Rows)),
		label:   make([]label, len(p.Bins)),
	}
	for j, b := range p.Bins {
		s.free[j] = b.Count
	}
	// Neighbouring rows want the same bins. Placing them far apart in time keeps
	// the early paths short.
	n := len(p.Rows)
	stride := max(1, int(float64(n)*0.6180339887))
	for gcd(stride, max(1, n)) != 1 {
		stride++
	}
	left := s.stay()
	for i, row := 0, 0; i < n; i, row = i+1, (row+stride)%n {
		for left := left[row]; left > 0; {
			moved, err := s.place(int32(row), left)
			if err != nil {
				return nil, err
			}
			left -= moved
		}
	}
	return s.solution(), nil
}

// stay places every row that is best off in its own bin, for as long as that has
// a piece, and gives how many demands of each row are left. With all prices at
// zero that keeps every promise, and it spares the long paths on which the
// others would take those pieces first and give them back later.
func (s *solver) stay() (left []int) {
	left = make([]int, len(s.Rows))
	var own, cost Cost
	for i := range s.Rows {
		r := &s.Rows[i]
		left[i] = r.Count
		if r.Stay == None {
			continue
		}
		s.Cost(i, r.Stay, &own)
		if r.Outside != nil && r.Outside.Less(&own) || s.cheaper(int32(i), &own, &cost) {
			continue
		}
		if n := min(r.Count, s.free[r.Stay]); n > 0 {
			s.free[r.Stay] -= n
			s.give(int32(i), int32(r.Stay), n)
			left[i] -= n
		}
	}
	return left
}

// cheaper tells whether the row reaches a bin that costs less.
func (s *solver) cheaper(row int32, than, cost *Cost) bool {
	for _, sp := range s.of(row) {
		for j := sp.from; j < sp.to; j++ {
			if s.Cost(int(row), int(j), cost); cost.Less(than) {
				return true
			}
		}
	}
	return false
}

// solver is the state between two paths: who holds what, and the prices.
//
// It keeps three promises. No price is below zero; a bin with a piece to spare
// has price zero; and every row placed so far sits where cost plus price is
// least for it.
type solver struct {
	*Problem
	*arcs
	free  []int
	price []Cost

	holdings []holding
	unused   []int32   // holdings that may be taken again
	held     [][]int32 // by bin: its holdings, a heap by bound
	at       [][]int32 // by row: its holdings
	outside  []int     // by row: demands placed outside

	// Of the path at hand.
	label   []label
	round   int32
	sink    sink
	queue   queue
	settled []int32
	near    []int32
}

// A holding is a number of pieces that one row holds of one bin.
//
// bound is a lower bound of what the row's next best place costs, price
// included, beyond its cost here. Prices never fall, so a bound once true
// stays true; and a bin whose rows all have high bounds is passed without a
// look at their arcs.
type holding struct {
	row, bin, count int32
	place           int32 // in the bin's heap
	bound           Cost
}

// unknown is the bound of a holding that has not been looked at.
var unknown = Cost{-1 << 60}

// sink is the cheapest end of a path found so far: in bin, which has a piece to
// spare, or where leaver is not None, outside, by the row of that holding.
type sink struct {
	found  bool
	cost   Cost
	bin    int32
	leaver int32
}

// direct stands for the row being placed, where a holding is named otherwise.
const direct = -2

// place sends demands of the row along one cheapest path and gives how many.
func (s *solver) place(row int32, left int) (int, error) {
	s.round++
	s.queue.reset()
	s.settled = s.settled[:0]
	s.sink = sink{}
	var zero Cost
	if out := s.Rows[row].Outside; out != nil {
		s.sink = sink{found: true, cost: *out, bin: None, leaver: direct}
	}
	s.reachFrom(row, None, direct, &zero)
	for {
		bin, ok := s.queue.pop(s.label)
		if !ok || s.sink.found && !s.label[bin].distance.Less(&s.sink.cost) {
			break
		}
		s.label[bin].settled = true
		s.settled = append(s.settled, bin)
		s.expand(bin)
	}
	if !s.sink.found {
		return 0, ErrInfeasible
	}
	for _, bin := range s.settled {
		rise := s.sink.cost.minus(&s.label[bin].distance)
		s.price[bin].Add(&rise, 1)
	}
	return s.augment(row, left), nil
}

// expand follows the path from a bin to wherever its rows could go instead.
func (s *solver) expand(bin int32) {
	start := s.label[bin].distance.minus(&s.price[bin])
	beyond := func(h *holding) bool {
		if !s.sink.found {
			return false
		}
		least := start.plus(&h.bound)
		return !least.Less(&s.sink.cost)
	}
	// The heap's order lets whole branches be passed over. Branches are visited
	// level by level, so s.near is in order of place.
	heap := s.held[bin]
	s.near = s.near[:0]
	if len(heap) > 0 {
		s.near = append(s.near, 0)
	}
	kept := 0
	for i := 0; i < len(s.near); i++ {
		place := s.near[i]
		h := &s.holdings[heap[place]]
		if beyond(h) {
			continue
		}
		s.near[kept] = place
		kept++
		for child := 2*place + 1; child <= 2*place+2 && int(child) < len(heap); child++ {
			s.near = append(s.near, child)
		}
		var here Cost
		s.Cost(int(h.row), int(bin), &here)
		from := start.minus(&here)
		best, any := s.reachFrom(h.row, bin, heap[place], &from)
		if !any {
			best = Cost{1 << 60}
		}
		h.bound = best.minus(&here)
	}
	// Bounds have only grown: from the last to the first, each finds its place
	// below without disturbing those before it.
	for i := kept - 1; i >= 0; i-- {
		s.sift(bin, s.near[i])
	}
}

// reachFrom labels the bins that the row reaches, other than the one it is in,
// and its way outside. Their distance is from plus cost plus price; the least
// cost plus price is returned, and whether there is any.
func (s *solver) reachFrom(row, bin, by int32, from *Cost) (best Cost, any bool) {
	if out := s.Rows[row].Outside; out != nil {
		best, any = *out, true
		if by != direct {
			if end := from.plus(out); !s.sink.found || end.Less(&s.sink.cost) {
				s.sink = sink{found: true, cost: end, bin: bin, leaver: by}
			}
		}
	}
	var cost Cost
	for _, sp := range s.of(row) {
		for j := sp.from; j < sp.to; j++ {
			if j == bin {
				continue
			}
			s.Cost(int(row), int(j), &cost)
			cost.Add(&s.price[j], 1)
			if !any || cost.Less(&best) {
				best, any = cost, true
			}
			s.relax(j, by, from, &cost)
		}
	}
	return best, any
}

// relax offers the bin a path that ends with the given step.
func (s *solver) relax(bin, by int32, from, step *Cost) {
	l := &s.label[bin]
	known := l.round == s.round
	if known && l.settled {
		return
	}
	distance := from.plus(step)
	if s.sink.found && !distance.Less(&s.sink.cost) {
		return
	}
	if s.free[bin] > 0 {
		*l = label{round: s.round, by: by}
		s.sink = sink{found: true, cost: distance, bin: bin, leaver: None}
		return
	}
	if known && !distance.Less(&l.distance) {
		return
	}
	if !known {
		*l = label{round: s.round, place: None}
	}
	l.distance, l.by = distance, by
	s.queue.push(bin, s.label)
}

// augment moves demands along the path to the sink and gives how many.
func (s *solver) augment(row int32, left int) int {
	n := left
	end := s.sink
	if end.leaver == direct {
		s.outside[row] += n
		return n
	}
	if end.leaver != None {
		n = min(n, int(s.holdings[end.leaver].count))
	} else {
		n = min(n, s.free[end.bin])
	}
	for by := s.label[end.bin].by; by != direct; by = s.label[s.holdings[by].bin].by {
		n = min(n, int(s.holdings[by].count))
	}

	if end.leaver != None {
		s.outside[s.holdings[end.leaver].row] += n
		s.take(end.leaver, n)
	} else {
		s.free[end.bin] -= n
	}
	for bin := end.bin; ; {
		by := s.label[bin].by
		if by == direct {
			s.give(row, bin, n)
			return n
		}
		mover, from := s.holdings[by].row, s.holdings[by].bin
		s.take(by, n)
		s.give(mover, bin, n)
		bin = from
	}
}

// give lets the row hold n more pieces of the bin.
func (s *solver) give(row, bin int32, n int) {
	for _, id := range s.at[row] {
		if s.holdings[id].bin == bin {
			s.holdings[id].count += int32(n)
			return
		}
	}
	h := holding{row: row, bin: bin, count: int32(n), bound: unknown}
	var id int32
	if last := len(s.unused) - 1; last >= 0 {
		id, s.unused = s.unused[last], s.unused[:last]
		s.holdings[id] = h
	} else {
		id = int32(len(s.holdings))
		s.holdings = append(s.holdings, h)
	}
	s.at[row] = append(s.at[row], id)
	s.hold(bin, id)
}

// take removes n pieces from the holding.
func (s *solver) take(id int32, n int) {
	h := &s.holdings[id]
	if h.count -= int32(n); h.count > 0 {
		return
	}
	s.at[h.row] = slices.DeleteFunc(s.at[h.row], func(other int32) bool { return other == id })
	s.drop(h.bin, h.place)
	s.unused = append(s.unused, id)
}

func (s *solver) solution() *Solution {
	result := &Solution{Prices: s.price}
	var cost Cost
	for row := range s.Rows {
		first := len(result.Placements)
		for _, id := range s.at[row] {
			h := s.holdings[id]
			result.Placements = append(result.Placements, Placement{row, int(h.bin), int(h.count)})
			s.Cost(row, int(h.bin), &cost)
			result.Total.Add(&cost, int(h.count))
		}
		slices.SortFunc(result.Placements[first:], func(a, b Placement) int { return cmp.Compare(a.Bin, b.Bin) })
		if n := s.outside[row]; n > 0 {
			result.Placements = append(result.Placements, Placement{row, None, n})
			result.Total.Add(s.Rows[row].Outside, n)
		}
	}
	return result
}

func gcd(a, b int) int {
	for b != 0 {
		a, b = b, a%b
	}
	return a
}
