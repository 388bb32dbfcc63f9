package assign

import (
	"errors"
	"math/rand/v2"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// Watch is told how far the work is, and its error ends it.
func TestWatch(t *testing.T) {
	p := random(rand.New(rand.NewPCG(9, 9)), family{rows: 900, bins: 30, pools: 2, copies: 1, pieces: 9, width: 20, outside: true})
	calls, last := 0, 0
	p.Watch = func(done, of int) error {
		calls++
		assert.GreaterOrEqual(t, done, last)
		assert.LessOrEqual(t, done, of)
		last = done
		return nil
	}
	_, err := Solve(p)
	require.NoError(t, err)
	require.Greater(t, calls, 1)

	stop := errors.New("stop")
	p.Watch = func(done, of int) error { return stop }
	_, err = Solve(p)
	require.ErrorIs(t, err, stop)
}
