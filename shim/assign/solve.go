package assign

import (
	"cmp"
	"context"
	"slices"
)

// Solve finds a cheapest assignment. The same problem gives the same solution.
// The error is [ErrInfeasible], or says what is wrong with the problem's form,
// or is the context's cause where that ends first.
func Solve(ctx context.Context, p *Problem) (*Solution, error) {
	if ctx.Err() != nil {
		return nil, context.Cause(ctx)
	}
	a, err := p.arcs()
	if err != nil {
		return nil, err
	}
	s := newState(p, a)
	return s.solve(ctx, s.method())
}

// method picks the method that is fastest. All are exact.
func (s *state) method() method {
	demands := 0
	for i := range s.Rows {
		demands += s.Rows[i].Count
	}
	if demands <= fewDemands || s.MostOutside != nil {
		return newPlain(s)
	}
	parts := s.partition()
	if parts.groups < 2 || len(s.Rows) > smallGroup*parts.groups {
		parts = s.apart()
	}
	return newByGroup(s, parts)
}

const (
	fewDemands = 2000 // measured: up to 5,000 both take the same time, see the package comment
	smallGroup = 64   // rows
)

// A method places one row after another, each along a cheapest path.
type method interface {
	// give lets a row hold pieces of a bin, which has them.
	give(row, bin int32, n int)
	// place sends demands of the row, at most as many as are left, along one
	// cheapest path and gives how many: none where there is no path.
	place(row int32, left int) int
	// placements lists who holds what, without the demands outside.
	placements() []Placement
	// prices are the prices of the bins, and of going outside.
	prices() (bins []Cost, outside Cost)
}

// state is where both methods stand between two paths.
//
// They keep three promises. No price is below zero; a bin with a piece to spare
// has price zero; and every row placed so far sits where cost plus price is
// least for it.
type state struct {
	*Problem
	*arcs
	free    []int
	price   []Cost
	outside []int // by row: demands placed outside
	cost    Cost  // for a passing look
}

func newState(p *Problem, a *arcs) *state {
	s := &state{
		Problem: p,
		arcs:    a,
		free:    make([]int, len(p.Bins)),
		price:   make([]Cost, len(p.Bins)),
		outside: make([]int, len(p.Rows)),
	}
	for j, b := range p.Bins {
		s.free[j] = b.Count
	}
	return s
}

func (s *state) solve(ctx context.Context, m method) (*Solution, error) {
	left, all, err := s.stay(ctx, m)
	if err != nil {
		return nil, err
	}
	// Neighbouring rows want the same bins. Placing them far apart in time keeps
	// the early paths short.
	n := len(s.Rows)
	stride := max(1, int(float64(n)*0.6180339887))
	for gcd(stride, max(1, n)) != 1 {
		stride++
	}
	placed, paths := 0, 0
	for i, row := 0, 0; i < n; i, row = i+1, (row+stride)%n {
		for left[row] > 0 {
			if ctx.Err() != nil {
				return nil, context.Cause(ctx)
			}
			if paths++; s.Progress != nil && paths%progressEvery == 0 {
				s.Progress(placed, all)
			}
			moved := m.place(int32(row), left[row])
			if moved == 0 {
				return nil, ErrInfeasible
			}
			left[row] -= moved
			placed += moved
		}
	}
	return s.solution(m), nil
}

// progressEvery is how many paths lie between two calls of a problem's Progress,
// and lookEvery how many rows that may stay between two looks at the context.
const (
	progressEvery = 256
	lookEvery     = 256
)

// stay places every row that is best off in its own bin, for as long as that has
// a piece, and gives how many demands of each row are left, and of all. With
// all prices at zero that keeps every promise, and it spares the long paths on
// which the others would take those pieces first and give them back later.
func (s *state) stay(ctx context.Context, m method) (left []int, all int, err error) {
	left = make([]int, len(s.Rows))
	var own Cost
	for i := range s.Rows {
		if i%lookEvery == 0 && ctx.Err() != nil {
			return nil, 0, context.Cause(ctx)
		}
		r := &s.Rows[i]
		left[i] = r.Count
		if r.Stay != None && s.free[r.Stay] > 0 {
			s.Cost(i, r.Stay, &s.cost)
			own = s.cost
			if !(r.Outside != nil && r.Outside.Less(&own)) && !s.cheaper(int32(i), &own) {
				n := min(r.Count, s.free[r.Stay])
				s.free[r.Stay] -= n
				m.give(int32(i), int32(r.Stay), n)
				left[i] -= n
			}
		}
		all += left[i]
	}
	return left, all, nil
}

// cheaper reports whether the row reaches a bin that costs less.
func (s *state) cheaper(row int32, than *Cost) bool {
	for _, sp := range s.of(row) {
		for j := sp.from; j < sp.to; j++ {
			if s.Cost(int(row), int(j), &s.cost); s.cost.Less(than) {
				return true
			}
		}
	}
	return false
}

// raise raises the prices of the bins nearer than the end of a path.
func (s *state) raise(q *queue, end *Cost) {
	for _, bin := range q.settled {
		rise := end.minus(&q.label[bin].distance)
		s.price[bin].add(&rise)
	}
}

func (s *state) solution(m method) *Solution {
	result := &Solution{Placements: m.placements()}
	result.Prices, result.Outside = m.prices()
	for row, n := range s.outside {
		if n > 0 {
			result.Placements = append(result.Placements, Placement{row, None, n})
		}
	}
	slices.SortFunc(result.Placements, func(a, b Placement) int {
		return cmp.Or(cmp.Compare(a.Row, b.Row), cmp.Compare(uint(a.Bin), uint(b.Bin)))
	})
	for _, at := range result.Placements {
		if at.Bin == None {
			result.Total.Add(s.Rows[at.Row].Outside, at.Count)
			continue
		}
		s.Cost(at.Row, at.Bin, &s.cost)
		result.Total.Add(&s.cost, at.Count)
	}
	return result
}

func gcd(a, b int) int {
	for b != 0 {
		a, b = b, a%b
	}
	return a
}
