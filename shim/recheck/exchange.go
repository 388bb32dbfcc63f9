package recheck

import (
	"math"
	"slices"

	"shimwright/shim"
)

// A theory is what may have happened to the job as a whole, before faults of
// single valves are laid over it.
type theory struct {
	ln      float64   // prior times likelihood, logarithm
	gain    float64   // likelihood against no fault, logarithm
	shift   []float64 // of each valve's clearance, nm
	covered []bool    // valves that the theory accounts for by itself; may be nil
	lies    []int     // the place of the valve whose shim lies in each; nil where each has its own
	faults  []Fault
}

// exchanges lists the theories in which shims that were out lie in each
// other's valves, over a shift that all valves share: the most probable
// permutation of all, every exchange of two, and every exchange of two on top
// of the best. Each shim in a wrong valve costs the same, so that the best
// permutation is the optimum of an assignment; the cost is such that all
// exchanges of two together have the prior of one exchange.
func exchanges(valves []*valve, a Assumptions, shared, lnBase float64) []theory {
	var out []int // places of valves whose shims were out
	for i, v := range valves {
		if v.Out {
			out = append(out, i)
		}
	}
	n := len(out)
	if n < 2 {
		return nil
	}
	apiece := math.Log(float64(n*(n-1)/2)/a.Exchange) / 2
	shift := func(i, j int) float64 {
		v := valves[out[i]]
		return float64(v.Ratio.Of(v.Size - valves[out[j]].Size))
	}
	fit, cost := make([][]float64, n), make([][]float64, n)
	for i := range n {
		fit[i], cost[i] = make([]float64, n), make([]float64, n)
		for j := range n {
			v := valves[out[i]]
			if fit[i][j] = v.ln(shared); i != j {
				fit[i][j] = math.Log(v.totalWith(valves[out[j]], shared+shift(i, j)))
				cost[i][j] = apiece
			}
			cost[i][j] -= fit[i][j]
		}
	}

	var found []theory
	ln := math.Inf(-1) // of the most probable one so far
	seen := map[string]bool{}
	// consider takes a permutation in, and gives how probable it is.
	consider := func(holds []int) float64 {
		if key := key(holds); seen[key] {
			return math.Inf(-1)
		} else {
			seen[key] = true
		}
		gain, all := 0.0, 0
		for i, j := range holds {
			if i == j {
				continue
			}
			if valves[out[i]].Size == valves[out[j]].Size {
				return math.Inf(-1) // no reading can tell, and no harm is done
			}
			gain += fit[i][j] - fit[i][i]
			all++
		}
		t := theory{ln: lnBase + gain - apiece*float64(all), gain: gain}
		if all == 0 || t.ln < max(ln, lnBase)-hopeless {
			return math.Inf(-1)
		}
		t.faults = cycles(valves, out, holds)
		for _, f := range t.faults {
			t.ln -= round * float64(len(f.Valves)-2)
		}
		t.shift, t.lies = make([]float64, len(valves)), identity(len(valves))
		for i := range t.shift {
			t.shift[i] = shared
		}
		for i, j := range holds {
			t.shift[out[i]] += shift(i, j)
			t.lies[out[i]] = out[j]
		}
		found = append(found, t)
		ln = max(ln, t.ln)
		return t.ln
	}
	// Exchanges of two on top of a permutation, until none is more probable:
	// they take a round of four apart into two exchanges, for one.
	best := assign(cost)
	consider(best)
	for best != nil {
		next := []int(nil)
		swaps(best, func(holds []int) {
			if before := ln; consider(holds) > before {
				next = holds
			}
		})
		best = next
	}
	swaps(identity(n), func(holds []int) { consider(holds) })
	return found
}

// round is how much rarer, as a logarithm, a round of shims is with each valve
// more than the two of an exchange.
const round = 3.0

// hopeless is the logarithm of the odds against a permutation that is not
// looked at further: one to a million and more.
const hopeless = 15.0

// swaps gives f a copy of the permutation for each exchange of two on top.
func swaps(holds []int, f func(holds []int)) {
	for i := range holds {
		for j := range i {
			swapped := slices.Clone(holds)
			swapped[i], swapped[j] = swapped[j], swapped[i]
			f(swapped)
		}
	}
}

// identity leaves every shim where it is.
func identity(n int) []int {
	holds := make([]int, n)
	for i := range holds {
		holds[i] = i
	}
	return holds
}

// key is a permutation as a map key.
func key(holds []int) string {
	runes := make([]rune, len(holds))
	for i, j := range holds {
		runes[i] = rune(j)
	}
	return string(runes)
}

// cycles takes a permutation apart into one fault for each round of shims.
func cycles(valves []*valve, out, holds []int) []Fault {
	var faults []Fault
	done := make([]bool, len(holds))
	for start := range holds {
		if done[start] || holds[start] == start {
			continue
		}
		f := Fault{Kind: Exchanged}
		first, held := valves[out[start]], valves[out[holds[start]]]
		f.Shift = first.Ratio.Of(first.Size - held.Size)
		for i := start; !done[i]; i = holds[i] {
			done[i] = true
			f.Valves = append(f.Valves, valves[out[i]].Valve)
			f.Sizes = append(f.Sizes, valves[out[holds[i]]].Size)
		}
		faults = append(faults, f)
	}
	return faults
}

// marks lists the theories in which a shim that moved from one valve of the
// job to another is not the size that it was taken for: it misleads at both,
// the other way round.
func marks(valves []*valve, a Assumptions, lnBase float64) []theory {
	place := map[shim.Valve]int{}
	for i, v := range valves {
		place[v.Valve] = i
	}
	var found []theory
	for to, v := range valves {
		from, known := place[v.From]
		if !known || v.kept() {
			continue
		}
		sizes, all := a.others(v.Size), 0.0
		for _, size := range sizes {
			all += rarer(float64(size - v.Size))
		}
		for _, size := range sizes {
			t := theory{shift: make([]float64, len(valves))}
			t.shift[to] = float64(v.Ratio.Of(v.Size - size))
			t.shift[from] += float64(valves[from].Ratio.Of(size - v.Size))
			for _, i := range []int{to, from} {
				t.gain += valves[i].ln(t.shift[i]) - valves[i].ln(0)
			}
			t.ln = lnBase + t.gain + math.Log(moved*a.markPrior(v.Miked)*rarer(float64(size-v.Size))/all)
			t.faults = []Fault{{Kind: WrongSize, Valves: []shim.Valve{v.Valve, v.From},
				Sizes: []shim.Length{size}, Shift: shim.Length(t.shift[to]), AtLeast: v.bounded() && valves[from].bounded()}}
			found = append(found, t)
		}
	}
	return found
}
