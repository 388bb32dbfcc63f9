package assign

import (
	"errors"
	"fmt"
	"sort"
)

// A Bin is a number of equal pieces: one size of one pool.
type Bin struct {
	Pool  int32
	Size  int64
	Count int
}

// None stands for no bin: a row without a piece of its own, or a placement
// outside.
const None = -1

// A Row is a number of equal demands. Each takes one piece of a size from Thin
// to Thick, both inclusive, from one of its pools; or a piece of the bin Stay,
// whatever its size; or, with Outside, none at all at that cost.
type Row struct {
	Count       int
	Thin, Thick int64
	Pools       []int32
	Stay        int // a bin, or None
	Outside     *Cost
}

// A Problem is what is to be assigned. Bins must be in order of pool, then
// size, without equals. Cost writes the cost of one piece of the bin for one
// demand of the row; it is called for reachable pairs only and must always give
// the same. Entries of a cost must stay below 10^12 in size.
type Problem struct {
	Bins []Bin
	Rows []Row
	Cost func(row, bin int, cost *Cost)
	// MostOutside, unless nil, bounds how many demands go outside.
	MostOutside *int
	// Progress, unless nil, is called every few hundred paths with how many of the
	// demands that need one are placed.
	Progress func(done, of int)
}

// A Placement says how many demands of a row take pieces of a bin, or go
// outside where Bin is None.
type Placement struct {
	Row, Bin, Count int
}

// A Solution is an optimal assignment: its placements in order of row, then
// bin with outside last; the prices of the bins and of going outside, which
// prove it; and its cost.
type Solution struct {
	Placements []Placement
	Prices     []Cost
	Outside    Cost
	Total      Cost
}

// Errors of [Solve] and [Problem.Verify].
var (
	// ErrInfeasible means that some demand can be placed nowhere.
	ErrInfeasible = errors.New("a demand can be placed nowhere")
	// ErrNotProved means that prices do not prove an assignment.
	ErrNotProved = errors.New("the prices do not prove the assignment")
)

// span is a run of bins, from up to but not including to.
type span struct{ from, to int32 }

// arcs knows which bins each row reaches: its runs of bins, in each of its
// pools and its own bin.
type arcs struct {
	spans []span
	first []int32 // by row, into spans; one more at the end
}

// of lists the runs of bins that the row reaches.
func (a *arcs) of(row int32) []span { return a.spans[a.first[row]:a.first[row+1]] }

// reach reports whether the row reaches the bin.
func (a *arcs) reach(row, bin int32) bool {
	for _, s := range a.of(row) {
		if s.from <= bin && bin < s.to {
			return true
		}
	}
	return false
}

// arcs checks the problem's form and finds every row's bins.
func (p *Problem) arcs() (*arcs, error) {
	pools := map[int32]span{}
	for j, b := range p.Bins {
		if b.Count < 0 {
			return nil, fmt.Errorf("bin %d holds %d pieces", j, b.Count)
		}
		pool, seen := pools[b.Pool]
		if !seen {
			pool.from = int32(j)
		}
		if j > 0 {
			a := p.Bins[j-1]
			if b.Pool < a.Pool || b.Pool == a.Pool && b.Size <= a.Size {
				return nil, fmt.Errorf("bins %d and %d are out of order", j-1, j)
			}
		}
		pool.to = int32(j + 1)
		pools[b.Pool] = pool
	}
	a := &arcs{first: make([]int32, 1, len(p.Rows)+1)}
	for i := range p.Rows {
		r := &p.Rows[i]
		if r.Count < 0 || r.Stay < None || r.Stay >= len(p.Bins) {
			return nil, fmt.Errorf("row %d has a count of %d and stays in bin %d", i, r.Count, r.Stay)
		}
		stay := int32(r.Stay)
		for _, pool := range r.Pools {
			s := pools[pool]
			bins := p.Bins[s.from:s.to]
			from := s.from + int32(sort.Search(len(bins), func(i int) bool { return bins[i].Size >= r.Thin }))
			to := s.from + int32(sort.Search(len(bins), func(i int) bool { return bins[i].Size > r.Thick }))
			if from < to {
				a.spans = append(a.spans, span{from, to})
				if from <= stay && stay < to {
					stay = None
				}
			}
		}
		if stay != None {
			a.spans = append(a.spans, span{stay, stay + 1})
		}
		a.first = append(a.first, int32(len(a.spans)))
	}
	return a, nil
}
