package assign

import (
	"context"
	"math/rand/v2"
	"testing"

	"github.com/stretchr/testify/require"
)

// The least cost with at most so many outside is found and proved for every
// bound, with enumeration beside it.
func TestMostOutside(t *testing.T) {
	r := rand.New(rand.NewPCG(11, 12))
	bounded := 0
	for i := range 1500 {
		p := random(r, family{rows: 1 + r.IntN(5), bins: 2 + r.IntN(3), pools: 1 + r.IntN(2), copies: 1 + i%2, pieces: r.IntN(2), width: 1 + r.Int64N(4), outside: true})
		free, err := Solve(context.Background(), p)
		require.NoError(t, err)
		outside := 0
		for _, at := range free.Placements {
			if at.Bin == None {
				outside += at.Count
			}
		}
		for most := range outside + 2 {
			p.MostOutside = &most
			s, err := Solve(context.Background(), p)
			require.NoError(t, err, "job %d", i)
			require.NoError(t, p.Verify(s), "job %d, at most %d", i, most)
			best, feasible := enumerate(p)
			require.True(t, feasible)
			require.Equal(t, best, s.Total, "job %d, at most %d: %+v %+v", i, most, p.Bins, p.Rows)
			if most < outside {
				bounded++
			}
		}
	}
	require.Greater(t, bounded, 300)
}
