package crank_test

import (
	"math/rand/v2"
	"slices"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"shimwright/shim"
	"shimwright/shim/crank"
	"shimwright/testdata/effort"
)

// What may be open together is what At lists at some angle, and of that the
// largest sets; the best position of a set is one where all of it may be open.
func TestTogetherIsAllThatIsOnBaseCircles(t *testing.T) {
	r := rand.New(rand.NewPCG(91, 3))
	for range effort.Share(60) {
		order := [][]int{{1}, {1, 2}, {1, 2, 3}, {1, 3, 4, 2}, {1, 5, 3, 6, 2, 4}, {1, 8, 4, 3, 6, 5, 7, 2}}[r.IntN(6)]
		e := engine(1+r.IntN(2), order...)
		if r.IntN(2) == 0 {
			e = timed(e, [4]float64{float64(r.IntN(90)), float64(r.IntN(130)), float64(r.IntN(130)), float64(r.IntN(90))})
		}
		o, err := crank.NewOpenings(e)
		require.NoError(t, err)
		valves := e.Valves()
		sets := o.Together(valves)
		seen := make([]bool, len(sets))
		for half := range 2 * 720 {
			degrees := float64(half) / 2
			at, err := crank.At(e, degrees)
			require.NoError(t, err)
			var places []int
			for i, v := range valves {
				assert.Equal(t, slices.Contains(at, v), o.Open(v, degrees))
				if slices.Contains(at, v) {
					places = append(places, i)
				}
			}
			held := slices.IndexFunc(sets, func(set []int) bool {
				return !slices.ContainsFunc(places, func(i int) bool { return !slices.Contains(set, i) })
			})
			require.GreaterOrEqual(t, held, 0, "%g degrees: %v is in none of %v", degrees, places, sets)
			for i, set := range sets {
				seen[i] = seen[i] || slices.Equal(set, places)
			}
		}
		for i, set := range sets {
			assert.True(t, seen[i], "%v is at no angle", set)
			for k, other := range sets {
				assert.True(t, i == k || slices.ContainsFunc(set, func(n int) bool { return !slices.Contains(other, n) }), "%v is within %v", set, other)
			}
			var list []shim.Valve
			for _, n := range set {
				list = append(list, valves[n])
			}
			p, found := o.Position(list)
			require.True(t, found)
			for _, v := range list {
				assert.True(t, o.Open(v, p.Degrees), "%s at %g", v, p.Degrees)
			}
			assert.Positive(t, p.Clear)
		}
		if _, found := o.Position(valves); found {
			assert.Len(t, sets, 1)
		}
	}
}

// The manuals' sets are among those that may be open together, and the best
// place for them is the mark that the manuals name (see published).
func TestPositionIsThePublishedOne(t *testing.T) {
	for _, row := range published {
		e := engine(1, row.order...)
		o, err := crank.NewOpenings(e)
		require.NoError(t, err)
		printed := valves(row.intake, row.exhaust)
		p, found := o.Position(printed)
		require.True(t, found, row.source)
		if row.match != within {
			assert.Equal(t, row.degrees, p.Degrees, row.source)
		}
	}
}
