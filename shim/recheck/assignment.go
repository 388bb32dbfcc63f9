package recheck

import "math"

// assign gives every row a column of its own at the least total cost: the
// Hungarian method with potentials, one shortest augmenting path a row (Kuhn
// 1955; Jonker and Volgenant 1987), in n^3 steps. Costs are finite.
func assign(cost [][]float64) []int {
	n := len(cost)
	// Row and column 0 are a sentinel; the rest counts from 1.
	rowPrice, columnPrice := make([]float64, n+1), make([]float64, n+1)
	holder, way := make([]int, n+1), make([]int, n+1)
	for row := 1; row <= n; row++ {
		holder[0] = row
		column := 0
		least := make([]float64, n+1)
		done := make([]bool, n+1)
		for j := range least {
			least[j] = math.Inf(1)
		}
		for holder[column] != 0 {
			done[column] = true
			i, step, next := holder[column], math.Inf(1), 0
			for j := 1; j <= n; j++ {
				if done[j] {
					continue
				}
				if c := cost[i-1][j-1] - rowPrice[i] - columnPrice[j]; c < least[j] {
					least[j], way[j] = c, column
				}
				if least[j] < step {
					step, next = least[j], j
				}
			}
			for j := range done {
				if done[j] {
					rowPrice[holder[j]] += step
					columnPrice[j] -= step
				} else {
					least[j] -= step
				}
			}
			column = next
		}
		for column != 0 {
			holder[column] = holder[way[column]]
			column = way[column]
		}
	}
	columns := make([]int, n)
	for j := 1; j <= n; j++ {
		columns[holder[j]-1] = j - 1
	}
	return columns
}
