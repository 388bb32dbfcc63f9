package assign

import (
	"context"
	"fmt"
	"math/rand/v2"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"shimwright/testdata/effort"
)

// family shapes a random problem.
type family struct {
	rows, bins, pools, copies, pieces int
	width                             int64
	outside                           bool
}

// random builds a problem in which every row can stay in a bin of its own, so
// that it is always feasible, and costs tie often.
func random(r *rand.Rand, f family) *Problem {
	p := &Problem{}
	for pool := range f.pools {
		size := int64(0)
		for range f.bins {
			size += 1 + r.Int64N(3)
			p.Bins = append(p.Bins, Bin{Pool: int32(pool), Size: size, Count: r.IntN(f.pieces + 1)})
		}
	}
	span := p.Bins[f.bins-1].Size
	costs := map[[2]int]Cost{}
	for i := range f.rows {
		thin := r.Int64N(span + 1)
		row := Row{Count: 1 + r.IntN(f.copies), Thin: thin, Thick: thin + r.Int64N(f.width+1), Stay: r.IntN(len(p.Bins))}
		p.Bins[row.Stay].Count += row.Count
		for pool := range f.pools {
			if pool == 0 || r.IntN(2) == 0 {
				row.Pools = append(row.Pools, int32(pool))
			}
		}
		if f.outside && r.IntN(3) > 0 {
			row.Outside = &Cost{0, 1, r.Int64N(3), r.Int64N(2)}
		}
		p.Rows = append(p.Rows, row)
		aim := thin + r.Int64N(f.width+1)
		for j, b := range p.Bins {
			c := Cost{0, 0, 0, r.Int64N(2), r.Int64N(2), int64(b.Pool), max(b.Size-aim, aim-b.Size)}
			if b.Size < row.Thin || b.Size > row.Thick {
				c[0] = 1
			}
			if j == row.Stay {
				c[5], c[7] = 0, -1
			}
			costs[[2]int{i, j}] = c
		}
	}
	p.Cost = func(row, bin int, c *Cost) { *c = costs[[2]int{row, bin}] }
	return p
}

// enumerate is the least cost by trying everything.
func enumerate(p *Problem) (best Cost, feasible bool) {
	spare := make([]int, len(p.Bins))
	for j, b := range p.Bins {
		spare[j] = b.Count
	}
	reach := func(i, j int) bool {
		r, b := p.Rows[i], p.Bins[j]
		if j == r.Stay {
			return true
		}
		for _, pool := range r.Pools {
			if b.Pool == pool && r.Thin <= b.Size && b.Size <= r.Thick {
				return true
			}
		}
		return false
	}
	spareOutside := p.outsideCount()
	var place func(i, k int, sum Cost)
	place = func(i, k int, sum Cost) {
		if i == len(p.Rows) {
			if !feasible || sum.Less(&best) {
				best, feasible = sum, true
			}
			return
		}
		if k == p.Rows[i].Count {
			place(i+1, 0, sum)
			return
		}
		var c Cost
		for j := range p.Bins {
			if spare[j] > 0 && reach(i, j) {
				p.Cost(i, j, &c)
				spare[j]--
				place(i, k+1, sum.plus(&c))
				spare[j]++
			}
		}
		if out := p.Rows[i].Outside; out != nil && spareOutside > 0 {
			spareOutside--
			place(i, k+1, sum.plus(out))
			spareOutside++
		}
	}
	place(0, 0, Cost{})
	return best, feasible
}

func TestSolveIsOptimalByEnumeration(t *testing.T) {
	r := rand.New(rand.NewPCG(1, 2))
	for i := range effort.Share(4000) {
		p := random(r, family{rows: 1 + r.IntN(5), bins: 2 + r.IntN(3), pools: 1 + r.IntN(2), copies: 1 + i%2, pieces: r.IntN(3), width: 1 + r.Int64N(5), outside: i%3 > 0})
		s, err := Solve(context.Background(), p)
		require.NoError(t, err, "job %d", i)
		require.NoError(t, p.Verify(s), "job %d", i)
		best, _ := enumerate(p)
		require.Equal(t, best, s.Total, "job %d: %+v %+v", i, p.Bins, p.Rows)
	}
}

func TestSolveProvesItself(t *testing.T) {
	r := rand.New(rand.NewPCG(3, 4))
	for name, f := range map[string]family{
		"crowded":     {rows: 45, bins: 4, pools: 1, copies: 1, pieces: 1, width: 9},
		"few pieces":  {rows: 30, bins: 12, pools: 2, copies: 1, pieces: 2, width: 6, outside: true},
		"many copies": {rows: 20, bins: 10, pools: 2, copies: 9, pieces: 12, width: 5, outside: true},
		"many pools":  {rows: 60, bins: 8, pools: 6, copies: 2, pieces: 1, width: 4, outside: true},
		"wide":        {rows: 120, bins: 40, pools: 1, copies: 1, pieces: 1, width: 60, outside: true},
	} {
		t.Run(name, func(t *testing.T) {
			for i := range effort.Share(200) {
				p := random(r, f)
				s, err := Solve(context.Background(), p)
				require.NoError(t, err, "job %d", i)
				require.NoError(t, p.Verify(s), "job %d", i)
			}
		})
	}
}

func BenchmarkSolve(b *testing.B) {
	for _, n := range []int{16, 100, 1000, 10000} {
		b.Run(fmt.Sprint(n), func(b *testing.B) {
			r := rand.New(rand.NewPCG(5, 6))
			p := random(r, family{rows: n, bins: 8 + n/8, pools: 2, copies: 1, pieces: 1, width: 8, outside: true})
			// A map is no cost function to measure with.
			p.Cost = func(row, bin int, c *Cost) {
				b, r := &p.Bins[bin], &p.Rows[row]
				aim := (r.Thin + r.Thick) / 2
				*c = Cost{}
				c[5], c[6] = int64(b.Pool), max(b.Size-aim, aim-b.Size)
				if b.Size < r.Thin || b.Size > r.Thick {
					c[0] = 1
				}
			}
			for b.Loop() {
				_, err := Solve(context.Background(), p)
				assert.NoError(b, err)
			}
		})
	}
}
