package assign

import (
	"context"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// square is the problem of a square cost matrix: every row reaches every bin.
func square(matrix [][]int64) *Problem {
	p := &Problem{}
	for i := range matrix {
		p.Bins = append(p.Bins, Bin{Size: int64(i), Count: 1})
		p.Rows = append(p.Rows, Row{Count: 1, Thin: 0, Thick: int64(len(matrix)), Pools: []int32{0}, Stay: None})
	}
	p.Cost = func(row, bin int, c *Cost) { *c = Cost{4: matrix[row][bin]} }
	return p
}

func TestPublishedAssignments(t *testing.T) {
	for name, c := range map[string]struct {
		matrix [][]int64
		want   int64
	}{
		"OR-Tools guide, assignment problem":                    {[][]int64{{90, 76, 75, 70}, {35, 85, 55, 65}, {125, 95, 90, 105}, {45, 110, 95, 115}}, 265},
		"Winston, Operations Research, Machineco (from memory)": {[][]int64{{14, 5, 8, 7}, {2, 12, 6, 5}, {7, 8, 3, 9}, {2, 4, 6, 10}}, 15},
	} {
		p := square(c.matrix)
		s, err := Solve(context.Background(), p)
		require.NoError(t, err, name)
		assert.Equal(t, Cost{4: c.want}, s.Total, name)
		assert.NoError(t, p.Verify(s), name)
	}
}

// Bradley, Hax and Magnanti, Applied Mathematical Programming, figure 8.1: a
// minimum cost flow with optimum 150.
//
// A flow through capacitated arcs is no assignment as it stands: nodes 1 and 2
// are passed through, and arcs have limits of their own. It becomes one by the
// textbook step of making each arc a row (Ahuja, Magnanti and Orlin, Network
// Flows, 1993, section 2.4, from memory): of an arc's capacity each unit goes
// to the arc's end, at its cost, where it is used, or to its start, free, where
// it is not; and each node takes what its outgoing arcs could carry less its
// supply. A plan of shims cannot express it: there no shim costs by the arc.
func TestPublishedFlow(t *testing.T) {
	start := []int{0, 0, 1, 1, 1, 2, 2, 3, 4}
	end := []int{1, 2, 2, 3, 4, 3, 4, 4, 2}
	capacity := []int{15, 8, 20, 4, 10, 15, 4, 20, 5}
	cost := []int64{4, 4, 2, 2, 6, 1, 3, 2, 3}
	supply := []int{20, 0, 0, -5, -15}

	p := &Problem{}
	for node, n := range supply {
		p.Bins = append(p.Bins, Bin{Pool: int32(node), Count: -n})
	}
	for i := range start {
		p.Bins[start[i]].Count += capacity[i]
		p.Rows = append(p.Rows, Row{Count: capacity[i], Pools: []int32{int32(start[i]), int32(end[i])}, Stay: None})
	}
	p.Cost = func(row, bin int, c *Cost) {
		*c = Cost{}
		if bin == end[row] {
			c[2] = cost[row]
		}
	}
	s, err := Solve(context.Background(), p)
	require.NoError(t, err)
	require.NoError(t, p.Verify(s))
	assert.Equal(t, Cost{2: 150}, s.Total)

	flow := make([]int, len(supply)) // out less in
	for _, at := range s.Placements {
		if at.Bin == end[at.Row] {
			flow[start[at.Row]] += at.Count
			flow[end[at.Row]] -= at.Count
		}
	}
	assert.Equal(t, supply, flow)
}

func TestNowhereToGo(t *testing.T) {
	p := square([][]int64{{1, 2}, {3, 4}})
	p.Bins[1].Count = 0
	_, err := Solve(context.Background(), p)
	assert.ErrorIs(t, err, ErrInfeasible)

	p = &Problem{Rows: []Row{{Count: 1, Stay: None}}}
	_, err = Solve(context.Background(), p)
	assert.ErrorIs(t, err, ErrInfeasible)

	s, err := Solve(context.Background(), &Problem{})
	require.NoError(t, err)
	assert.Empty(t, s.Placements)
}

func TestMalformedProblems(t *testing.T) {
	for name, spoil := range map[string]func(p *Problem){
		"bins out of order": func(p *Problem) { p.Bins[0], p.Bins[1] = p.Bins[1], p.Bins[0] },
		"equal bins":        func(p *Problem) { p.Bins[1] = p.Bins[0] },
		"fewer than none":   func(p *Problem) { p.Bins[1].Count = -1 },
		"negative demand":   func(p *Problem) { p.Rows[0].Count = -1 },
		"no such bin":       func(p *Problem) { p.Rows[0].Stay = 2 },
	} {
		p := square([][]int64{{1, 2}, {3, 4}})
		spoil(p)
		_, err := Solve(context.Background(), p)
		assert.Error(t, err, name)
		assert.NotErrorIs(t, err, ErrInfeasible, name)
	}
}

// Verify is only worth something if it refuses what is not proved.
func TestVerifyRefuses(t *testing.T) {
	matrix := [][]int64{{4, 1, 3}, {2, 0, 5}, {3, 2, 2}} // optimum 5
	solved := func() (*Problem, *Solution) {
		p := square(matrix)
		s, err := Solve(context.Background(), p)
		require.NoError(t, err)
		require.NoError(t, p.Verify(s))
		return p, s
	}
	for name, spoil := range map[string]func(p *Problem, s *Solution){
		"a wrong total":      func(_ *Problem, s *Solution) { s.Total[4]-- },
		"a row left out":     func(_ *Problem, s *Solution) { s.Placements = s.Placements[1:] },
		"a bin used twice":   func(_ *Problem, s *Solution) { s.Placements[0].Bin = s.Placements[1].Bin },
		"prices of nothing":  func(_ *Problem, s *Solution) { clear(s.Prices) },
		"too few prices":     func(_ *Problem, s *Solution) { s.Prices = s.Prices[1:] },
		"a price below zero": func(_ *Problem, s *Solution) { s.Prices[0][0] = -1 },
		"a dearer exchange": func(p *Problem, s *Solution) {
			a, b := &s.Placements[0], &s.Placements[1]
			a.Bin, b.Bin = b.Bin, a.Bin
			s.Total = Cost{}
			var c Cost
			for _, at := range s.Placements {
				p.Cost(at.Row, at.Bin, &c)
				s.Total.Add(&c, 1)
			}
		},
		"a bin out of reach": func(p *Problem, _ *Solution) { p.Rows[0].Thick = -1 },
		"no way outside":     func(_ *Problem, s *Solution) { s.Placements[0].Bin = None },
		"a bin to spare that is priced": func(p *Problem, s *Solution) {
			s.Prices[0][0] = 1
			for i := range s.Prices {
				s.Prices[i][0] = 1
			}
			p.Bins[0].Count++
		},
	} {
		p, s := solved()
		spoil(p, s)
		assert.ErrorIs(t, p.Verify(s), ErrNotProved, name)
	}
}
