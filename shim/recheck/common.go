package recheck

import (
	"math"
	"slices"

	"shimwright/shim"
)

// The offsets of a gauge that are looked for, in nm. One below the smallest is
// what leaves are like and does not deserve a word; common practice.
const (
	leastOffset = 15_000
	mostOffset  = 100_000
	offsetStep  = 1_000
)

// offset is what a gauge that is off by so much makes of the valve's clearance: of a
// loaded gap less an unloaded one nothing, as both are off alike.
func (v *valve) offset(by float64) float64 {
	if v.Reading.Unloaded != (shim.Unloaded{}) {
		return 0
	}
	return by
}

// offset is the theory that every reading is off by one amount, any from the
// least to the most, to either side. It takes three readings to say so.
func offset(valves []*valve, a Assumptions) (theory, bool) {
	if len(valves) < 3 {
		return theory{}, false
	}
	lns, shifts := []float64{}, []float64{}
	none := 0.0
	for _, v := range valves {
		none += v.ln(0)
	}
	for size := leastOffset; size <= mostOffset; size += offsetStep {
		for _, shift := range []float64{float64(size), -float64(size)} {
			ln := 0.0
			for _, v := range valves {
				ln += v.ln(v.offset(shift))
			}
			lns, shifts = append(lns, ln), append(shifts, shift)
		}
	}
	sum := lnSum(lns)
	mean := 0.0
	for i, ln := range lns {
		mean += math.Exp(ln-sum) * shifts[i]
	}
	t := theory{ln: math.Log(a.Offset) + sum - math.Log(float64(len(lns))), shift: make([]float64, len(valves))}
	for i, v := range valves {
		t.shift[i] = v.offset(mean)
		t.gain += v.ln(t.shift[i])
	}
	t.gain -= none
	t.faults = []Fault{{Kind: GaugeOffset, Shift: shim.Length(mean)}}
	return t, true
}

// How far a valve off its base circle is looked for, in nm.
const (
	leastLift = 10_000
	liftStep  = 5_000
)

// positions lists the theories in which two or more valves of one crank
// position are too tight, each valve as likely as not and each by an amount of
// its own. A cam off its base circle only ever closes the gap.
func positions(valves []*valve, a Assumptions, lnBase float64) []theory {
	groups := map[int][]int{}
	for i, v := range valves {
		if v.Position > 0 {
			groups[v.Position] = append(groups[v.Position], i)
		}
	}
	var order []int
	for position := range groups {
		order = append(order, position)
	}
	slices.Sort(order)
	var found []theory
	for _, position := range order {
		if t, ok := together(valves, groups[position]); ok {
			t.ln += lnBase + math.Log(a.Position/float64(len(groups)))
			found = append(found, t)
		}
	}
	return found
}

// together is the theory that the cams of two or more of the group are lifted.
// Its ln is against no fault.
func together(valves []*valve, group []int) (theory, bool) {
	t := theory{shift: make([]float64, len(valves)), covered: make([]bool, len(valves))}
	// The logarithms of: none of those seen so far off, exactly one, more.
	none, one, more := 0.0, math.Inf(-1), math.Inf(-1)
	sum, count := 0.0, 0
	for _, i := range group {
		v := valves[i]
		liked, n := 0.0, 0
		for lift := float64(leastLift); lift <= span; lift += liftStep {
			liked += v.fit(-lift)
			n++
		}
		ratio := math.Log(v.whole*liked/float64(n)) - v.ln(0)
		more = lnSum([]float64{more, more + ratio, one + ratio})
		one = lnSum([]float64{one, none + ratio})
		if ratio > 0 {
			t.covered[i] = true
			t.shift[i] = v.difference
			t.gain += ratio
			sum += v.difference
			count++
		}
	}
	if count < 2 {
		return theory{}, false
	}
	m := float64(len(group))
	t.ln = more - m*math.Ln2 - math.Log1p(-(m+1)/math.Exp2(m))
	f := Fault{Kind: OffBase, Shift: shim.Length(sum / float64(count))}
	for _, i := range group {
		if t.covered[i] {
			f.AtLeast = f.AtLeast || valves[i].bounded()
			f.Valves = append(f.Valves, valves[i].Valve)
		}
	}
	t.faults = []Fault{f}
	return t, true
}

// lnSum is the logarithm of the sum of exponentials.
func lnSum(lns []float64) float64 {
	most := slices.Max(lns)
	if math.IsInf(most, -1) {
		return most
	}
	sum := 0.0
	for _, ln := range lns {
		sum += math.Exp(ln - most)
	}
	return most + math.Log(sum)
}
