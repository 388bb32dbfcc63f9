package plan_test

import (
	"context"
	"math"
	"math/rand/v2"
	"slices"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"shimwright/shim/plan"
	"shimwright/testdata/effort"
)

// turning is how far a list turns the crank, degrees from 0 on.
func turning(stops [][]plan.Move) float64 {
	sum, at := 0.0, 0.0
	for _, s := range stops {
		sum += math.Mod(s[0].Crank-at+720, 720)
		at = s[0].Crank
	}
	return sum
}

// orders calls f with every order of the stops.
func orders(stops [][]plan.Move, f func([][]plan.Move)) {
	var choose func(k int)
	choose = func(k int) {
		if k == len(stops) {
			f(stops)
			return
		}
		for i := k; i < len(stops); i++ {
			stops[k], stops[i] = stops[i], stops[k]
			choose(k + 1)
			stops[k], stops[i] = stops[i], stops[k]
		}
	}
	choose(0)
}

// No other order of a list's stops turns the crank less and can still be worked
// through by hand.
func TestStopsTurnTheCrankLeast(t *testing.T) {
	effort.Long(t)
	n := max(400, effort.Of(20_000))
	r := rand.New(rand.NewPCG(91, 11))
	lists, tried, shorter := 0, 0, 0
	for range n {
		q := topRequest(r, pick(r, 2, 4, 6))
		q.Jobs = q.Jobs[:1]
		p, err := plan.Make(context.Background(), q)
		require.NoError(t, err)
		j := &p.Jobs[0]
		if len(j.Moves) == 0 || !j.Moves[0].Turned {
			continue
		}
		var stops [][]plan.Move
		for i, m := range j.Moves {
			if i == 0 || m.Crank != j.Moves[i-1].Crank {
				stops = append(stops, nil)
			}
			stops[len(stops)-1] = append(stops[len(stops)-1], m)
		}
		if len(stops) < 2 || len(stops) > 5 {
			continue
		}
		lists++
		least, found := turning(stops), j.Moves
		orders(slices.Clone(stops), func(other [][]plan.Move) {
			if turning(other) > least-1e-6 {
				shorter++
				return
			}
			tried++
			j.Moves = slices.Concat(other...)
			for i := range j.Moves {
				j.Moves[i].Step = i + 1
			}
			_, err := replay(&q, p)
			assert.Error(t, err, "turns %v instead of %v: %s", turning(other), least, show(&q))
		})
		j.Moves = found
	}
	t.Logf("%d lists of two to five stops: %d orders turn less and cannot be worked through, %d do not turn less", lists, tried, shorter)
	assert.Greater(t, lists, n/20)
	assert.Positive(t, tried)
}
