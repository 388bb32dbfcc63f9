package recheck

import (
	"cmp"
	"math"
	"slices"

	"shimwright/shim"
)

// alarm is how often a job without a fault may have a valve called off.
const alarm = 0.005

// asGood is how probable an explanation must be, against the best, to be shown
// beside it; shown is how many are shown at most.
const (
	asGood = 0.25
	shown  = 5
)

// Explain says what may have gone wrong in a job, from what was measured after
// fitting. Refits without a reading, or with an unknown error, are left out.
func Explain(refits []Refit, a Assumptions) Report {
	valves := measured(refits, a)
	if len(valves) == 0 {
		return Report{}
	}
	var found []candidate
	theories := theories(valves, a)
	lns := make([]float64, len(theories))
	for i, t := range theories {
		lns[i] = t.ln
	}
	sum := lnSum(lns)
	for _, t := range theories {
		if p := math.Exp(t.ln - sum); p > rareTheory {
			found = append(found, t.branch(valves, p)...)
		}
	}
	weigh(found, valves, a.Gauge)
	slices.SortStableFunc(found, func(a, b candidate) int { return cmp.Compare(b.Probability, a.Probability) })
	var r Report
	for i, c := range found {
		if i == shown || c.Probability < asGood*found[0].Probability {
			break
		}
		r.Explanations = append(r.Explanations, c.Explanation)
	}
	rank(r.Explanations)
	if len(r.Explanations[0].Faults) > 0 {
		r.Off = deviations(valves)
	}
	return r
}

// rareTheory is the probability below which a theory is not looked at closely.
const rareTheory = 1e-4

// A candidate is an explanation with what it says of each valve.
type candidate struct {
	Explanation
	shift []float64 // of each valve's clearance, nm; NaN where it may be any
	lies  []int     // see [theory]
}

// theories lists what may have happened to the job as a whole, no fault first.
func theories(valves []*valve, a Assumptions) []theory {
	none := theory{
		ln:    math.Log(1 - a.Exchange - a.Offset - a.Position - a.Hollow),
		shift: make([]float64, len(valves)),
	}
	lnFit := 0.0
	for _, v := range valves {
		lnFit += v.ln(0)
	}
	none.ln += lnFit
	all := append([]theory{none}, exchanges(valves, a, 0, lnFit)...)
	all = append(all, marks(valves, a, lnFit)...)
	all = append(all, positions(valves, a, lnFit)...)
	if t, ok := hollow(valves, a); ok {
		all = append(all, t)
	}
	if off, ok := offset(valves, a); ok {
		all = append(all, off)
		// Shims may be exchanged on top of a gauge that is off.
		for _, t := range exchanges(valves, a, float64(off.faults[0].Shift), off.ln) {
			t.faults = append(slices.Clone(off.faults), t.faults...)
			t.gain += off.gain
			all = append(all, t)
		}
	}
	return all
}

// branch lays faults of single valves over a theory of probability p: each
// valve that the theory does not account for may be whole, hold a shim of the
// wrong size or be wrong by itself. Only the likelier branches are kept.
func (t theory) branch(valves []*valve, p float64) []candidate {
	const rare, most = 0.02, 8
	first := candidate{Explanation{Faults: t.faults, Probability: p, Gain: t.gain}, slices.Clone(t.shift), t.lies}
	for i := range valves {
		if t.covered != nil && t.covered[i] {
			first.shift[i] = math.NaN()
		}
	}
	list := []candidate{first}
	for i, v := range valves {
		if t.covered != nil && t.covered[i] {
			continue
		}
		total := v.total(t.shift[i])
		if t.lies != nil && t.lies[i] != i {
			total = v.totalWith(valves[t.lies[i]], t.shift[i])
		}
		unseated, wrong := v.unseated/total, v.wrong/total
		if len(t.faults) > 0 && unseated <= rare && wrong <= rare {
			continue // a fault that is named does not say that there is no other
		}
		var next []candidate
		for _, c := range list {
			whole := c
			whole.Probability *= 1 - unseated - wrong
			next = append(next, whole)
			if unseated > rare {
				next = append(next, c.with(i, math.NaN(), unseated, math.Log(v.slip()/total),
					Fault{Kind: Unseated, Valves: []shim.Valve{v.Valve}, Shift: shim.Length(v.difference - t.shift[i]), AtLeast: v.bounded()}))
			}
			if wrong > rare {
				next = append(next, c.with(i, v.wrongShift, wrong, math.Log(v.fit(v.wrongShift)/total),
					Fault{Kind: WrongSize, Valves: []shim.Valve{v.Valve}, Sizes: []shim.Length{v.wrongSize}, Shift: shim.Length(v.wrongShift), AtLeast: v.bounded()}))
			}
		}
		slices.SortStableFunc(next, func(a, b candidate) int { return cmp.Compare(b.Probability, a.Probability) })
		list = next[:min(len(next), most)]
	}
	return list
}

// with is the candidate with one more fault, at the valve of a place.
func (c candidate) with(place int, shift, share, gain float64, f Fault) candidate {
	c.Faults = append(slices.Clone(c.Faults), f)
	c.Probability *= share
	c.Gain += gain
	c.shift = slices.Clone(c.shift)
	c.shift[place] = shift
	return c
}

// deviations lists the valves that are off by more than their uncertainty
// explains, each at such a level that all together raise few false alarms.
func deviations(valves []*valve) []Deviation {
	level := alarm / float64(len(valves))
	var list []Deviation
	for _, v := range valves {
		d := Deviation{Valve: v.Valve, Difference: shim.Length(v.difference), Bound: within(v.Error, 1-level)}
		if d.Proves(v.Reading.Kind) {
			list = append(list, d)
		}
	}
	return list
}
