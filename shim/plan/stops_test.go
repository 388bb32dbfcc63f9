package plan

import (
	"math/rand/v2"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// shortest tries every row of positions up to a length. Its own words: each
// chain is a list of visits, each visit the positions that will do, and a stop
// takes every chain on as far as it goes.
func shortest(chains [][][]bool, positions, most int) int {
	for length := 0; length <= most; length++ {
		row := make([]int, length)
		for {
			left := 0
			for _, visits := range chains {
				for _, at := range row {
					for len(visits) > 0 && visits[0][at] {
						visits = visits[1:]
					}
				}
				left += len(visits)
			}
			if left == 0 {
				return length
			}
			i := 0
			for ; i < length; i++ {
				if row[i]++; row[i] < positions {
					break
				}
				row[i] = 0
			}
			if i == length {
				break
			}
		}
	}
	return most + 1
}

// The search finds as few stops as trying every row of positions does, also
// where to turn to the busiest position first takes more.
func TestSearchFindsTheFewestStops(t *testing.T) {
	r := rand.New(rand.NewPCG(91, 4))
	fewer := 0
	for range 1000 {
		positions := 2 + r.IntN(4)
		looks := maxLooks
		s := &schedule{positions: []int{positions}, single: true, looks: &looks}
		var chains [][][]bool
		for c := range 1 + r.IntN(5) {
			var needs [][]need
			var visits [][]bool
			for range 1 + r.IntN(4) {
				at := make([]bool, positions)
				at[r.IntN(positions)] = true
				at[r.IntN(positions)] = true
				needs, visits = append(needs, []need{{at: at}}), append(visits, at)
			}
			left := rest(needs)
			for i := range needs {
				one := task{done: done{c, i}, needs: needs[i], rest: left[i]}
				if i > 0 {
					one.after = []int{len(s.tasks) - 1}
				}
				s.tasks = append(s.tasks, one)
			}
			require.Equal(t, shortest([][][]bool{visits}, positions, 6), left[0], "alone: %v", visits)
			chains = append(chains, visits)
		}
		turns, possible := s.greedy()
		require.True(t, possible)
		want := shortest(chains, positions, len(turns))
		if want < len(turns) {
			fewer++
			turns = s.search(1, len(turns)-1)
		} else {
			require.Nil(t, s.search(1, len(turns)-1))
		}
		require.Len(t, turns, want, "%v", chains)
	}
	assert.Greater(t, fewer, 50, "where the busiest position first is not the best")
}
