package assign

import (
	"context"
	"math/rand/v2"
	"testing"

	"github.com/stretchr/testify/require"

	"shimwright/testdata/effort"
)

// methods are all ways of solving, whatever the problem's form.
var methods = map[string]func(p *Problem) (*Solution, error){
	"plain": func(p *Problem) (*Solution, error) {
		a, err := p.arcs()
		if err != nil {
			return nil, err
		}
		s := newState(p, a)
		return s.solve(context.Background(), newPlain(s))
	},
	"by group": func(p *Problem) (*Solution, error) {
		a, err := p.arcs()
		if err != nil {
			return nil, err
		}
		s := newState(p, a)
		return s.solve(context.Background(), newByGroup(s, p.partition()))
	},
	"by row": func(p *Problem) (*Solution, error) {
		a, err := p.arcs()
		if err != nil {
			return nil, err
		}
		s := newState(p, a)
		return s.solve(context.Background(), newByGroup(s, p.apart()))
	},
}

// engines builds a problem whose rows fall into groups: each reaches one pool
// of its own group and shares pool 0, and sometimes pool 1, with all.
func engines(r *rand.Rand, groups, rows, bins int, outside bool) *Problem {
	p := random(r, family{rows: groups * rows, bins: bins, pools: groups + 2, copies: 2, pieces: 2, width: 8, outside: outside})
	for i := range p.Rows {
		pool := int32(2 + r.IntN(groups))
		p.Rows[i].Pools = []int32{pool, 0}
		if groups%2 == 0 {
			p.Rows[i].Pools = []int32{0, 1, pool}
		}
		if stay := (int(pool))*bins + r.IntN(bins); r.IntN(4) > 0 {
			p.Bins[p.Rows[i].Stay].Count -= p.Rows[i].Count
			p.Rows[i].Stay = stay
			p.Bins[stay].Count += p.Rows[i].Count
		}
	}
	return p
}

func TestMethodsAgree(t *testing.T) {
	r := rand.New(rand.NewPCG(7, 8))
	for i := range effort.Share(3000) {
		var p *Problem
		switch i % 4 {
		case 0:
			p = random(r, family{rows: 1 + r.IntN(30), bins: 2 + r.IntN(8), pools: 1 + r.IntN(4), copies: 1 + r.IntN(3), pieces: 1 + r.IntN(3), width: 1 + r.Int64N(12), outside: i%3 > 0})
		case 1:
			p = engines(r, 1+r.IntN(3), 1+r.IntN(8), 2+r.IntN(5), true)
		case 2:
			p = engines(r, 1+r.IntN(8), 1+r.IntN(8), 2+r.IntN(8), r.IntN(2) == 0)
		default:
			p = engines(r, 10+r.IntN(20), 1+r.IntN(4), 2+r.IntN(4), r.IntN(2) == 0)
		}
		totals := map[Cost]bool{}
		for name, solve := range methods {
			s, err := solve(p)
			require.NoError(t, err, "job %d %s", i, name)
			require.NoError(t, p.Verify(s), "job %d %s", i, name)
			totals[s.Total] = true
		}
		require.Len(t, totals, 1, "job %d", i)
	}
}
