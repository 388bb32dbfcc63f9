package recheck

import (
	"math/rand/v2"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"shimwright/testdata/effort"
)

func total(cost [][]float64, columns []int) float64 {
	sum := 0.0
	for i, j := range columns {
		sum += cost[i][j]
	}
	return sum
}

func TestAssignPublished(t *testing.T) {
	for name, c := range map[string]struct {
		cost [][]float64
		want float64
	}{
		"OR-Tools guide": {[][]float64{{90, 76, 75, 70}, {35, 85, 55, 65}, {125, 95, 90, 105}, {45, 110, 95, 115}}, 265},
		// From memory of Winston, Operations Research, the Machineco example.
		"Winston": {[][]float64{{14, 5, 8, 7}, {2, 12, 6, 5}, {7, 8, 3, 9}, {2, 4, 6, 10}}, 15},
	} {
		assert.InDelta(t, c.want, total(c.cost, assign(c.cost)), 1e-12, name)
	}
}

func TestAssignAgainstEveryPermutation(t *testing.T) {
	random := rand.New(rand.NewPCG(1, 1))
	for range effort.Share(300) {
		n := 1 + random.IntN(6)
		cost := make([][]float64, n)
		for i := range cost {
			cost[i] = make([]float64, n)
			for j := range cost[i] {
				cost[i][j] = float64(random.IntN(40) - 20)
			}
		}
		best := 1e18
		every(identity(n), 0, func(p []int) { best = min(best, total(cost, p)) })
		got := assign(cost)
		seen := map[int]bool{}
		for _, j := range got {
			require.False(t, seen[j], "%v gives column %d twice", got, j)
			seen[j] = true
		}
		require.InDelta(t, best, total(cost, got), 1e-9, "%v", cost)
	}
	assert.Empty(t, assign(nil))
}

// every calls f with every permutation of p from place i on.
func every(p []int, i int, f func([]int)) {
	if i >= len(p)-1 {
		f(p)
		return
	}
	for j := i; j < len(p); j++ {
		p[i], p[j] = p[j], p[i]
		every(p, i+1, f)
		p[i], p[j] = p[j], p[i]
	}
}
