package assign

import (
	"context"
	"errors"
	"math/rand/v2"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

func long() *Problem {
	return random(rand.New(rand.NewPCG(9, 9)), family{rows: 900, bins: 30, pools: 2, copies: 1, pieces: 9, width: 20, outside: true})
}

// Progress tells how far the work is.
func TestProgress(t *testing.T) {
	p := long()
	calls, last := 0, 0
	p.Progress = func(done, of int) {
		calls++
		assert.GreaterOrEqual(t, done, last)
		assert.LessOrEqual(t, done, of)
		last = done
	}
	_, err := Solve(t.Context(), p)
	require.NoError(t, err)
	require.Greater(t, calls, 1)
}

// Rows that may stay are looked through before the first path: a context that
// ends there ends the work too.
func TestStayingEndsWithItsContext(t *testing.T) {
	p := long()
	stop := errors.New("stop")
	ctx, cancel := context.WithCancelCause(t.Context())
	cost, furthest := p.Cost, 0
	p.Cost = func(row, bin int, c *Cost) {
		cancel(stop)
		furthest = max(furthest, row)
		cost(row, bin, c)
	}
	s, err := Solve(ctx, p)
	require.ErrorIs(t, err, stop)
	require.Nil(t, s)
	require.Less(t, furthest, lookEvery, "no row behind the next look is begun")
}

// A context that ends in the middle of the work ends it, with its cause.
func TestSolveEndsWithItsContext(t *testing.T) {
	for name, method := range map[string]int{"plain": fewDemands, "by group": 3 * fewDemands} {
		p := long()
		for i := range p.Rows {
			p.Rows[i].Count = max(1, p.Rows[i].Count*method/len(p.Rows))
		}
		stop := errors.New("stop")
		ctx, cancel := context.WithCancelCause(t.Context())
		calls := 0
		p.Progress = func(int, int) { calls++; cancel(stop) }
		_, err := Solve(ctx, p)
		require.ErrorIs(t, err, stop, name)
		require.Equal(t, 1, calls, "%s: the work ends at once", name)
		_, err = Solve(ctx, p)
		require.ErrorIs(t, err, stop, "%s: ended before it begins", name)
		require.Equal(t, 1, calls, name)
	}
}
