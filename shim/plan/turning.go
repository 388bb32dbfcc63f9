package plan

import (
	"math"

	"shimwright/shim"
)

// mostTurned is how many stops are put into the order of the least turning, among
// all orders: that takes work of 2 to their number.
const mostTurned = 12

// turned puts the stops of one engine into the order that turns the crank least,
// from 0 degrees on, of all orders in which nothing comes before what it waits for.
// What is done at each stop stays. It leaves engines that hand shims to each other,
// those without a firing order and longer lists as they are.
func (f *fitting) turned(chains []chain, turns []turn) []turn {
	n := len(turns)
	if len(f.bays) > 1 || f.bays[0].openings == nil || n < 2 || n > mostTurned {
		return turns
	}
	before := f.waits(chains, turns)
	angles := make([]float64, n)
	for t := range turns {
		var valves []shim.Valve
		for _, d := range turns[t].done {
			for _, node := range chains[d.chain].visits[d.visit] {
				valves = append(valves, f.nodes[node].place.Valve)
			}
		}
		p, _ := f.bays[0].openings.Position(valves)
		angles[t] = p.Degrees
	}
	further := func(from, to float64) float64 { return math.Mod(to-from+720, 720) }
	// The least turning that is left once a set of stops is made, the last one of
	// them being the crank's: Bellman (1962), Held and Karp (1962).
	left := make([][]float64, 1<<n)
	next := make([][]int, 1<<n)
	for made := 1<<n - 1; made >= 0; made-- {
		left[made], next[made] = make([]float64, n+1), make([]int, n+1)
		for at := range n + 1 { // n is the beginning
			if made == 1<<n-1 {
				continue
			}
			from := 0.0
			if at < n {
				from = angles[at]
			}
			left[made][at] = math.Inf(1)
			for to := range n {
				if made&(1<<to) != 0 || before[to]&^made != 0 {
					continue
				}
				// A hair less is none: the order that is there stays.
				if sum := further(from, angles[to]) + left[made|1<<to][to]; sum < left[made][at]-1e-6 {
					left[made][at], next[made][at] = sum, to
				}
			}
		}
	}
	var list []turn
	for made, at := 0, n; len(list) < n; {
		at = next[made][at]
		made |= 1 << at
		list = append(list, turns[at])
	}
	return list
}

// waits says by stop which stops come before it, as a set of bits.
func (f *fitting) waits(chains []chain, turns []turn) []int {
	s := f.schedule(chains)
	at := map[done]int{}
	for t := range turns {
		for _, d := range turns[t].done {
			at[d] = t
		}
	}
	before := make([]int, len(turns))
	for _, task := range s.tasks {
		for _, b := range task.after {
			if to, from := at[task.done], at[s.tasks[b].done]; to != from {
				before[to] |= 1 << from
			}
		}
	}
	return before
}
