package recheck

import (
	"math"
	"sync"

	"shimwright/shim"
	"shimwright/shim/doubt"
)

// stands is the scale of how far a fault of one valve alone moves its gap, nm: the
// law is a gamma law of shape 2, which rises from none, is at its highest at 0.05 mm
// and has nine in ten from 0.02 to 0.24. The project's own figure; common practice
// is that dirt or a burr stands as high as a leaf can find, and seldom some tenths.
const stands = 50_000.0

// standing is the density, per nm, of a fault of one valve alone that moves its gap
// by so many nm, and standsOver the probability that it moves it by more.
func standing(by float64) float64 {
	return max(0, by) / square(stands) * math.Exp(-by/stands)
}

func standsOver(by float64) float64 {
	by = max(0, by)
	return (1 + by/stands) * math.Exp(-by/stands)
}

// nearby is how far off a wrong size is on average, in nm, and span how far off it
// is looked for. The law is exponential over the sizes there are: a shim of a wrong
// size comes from a bin nearby, and the next but one is rarer. Common practice.
const nearby, span = 50_000.0, 300_000.0

// rarer is how much rarer a size so many nm off is than one next to none.
func rarer(off float64) float64 { return math.Exp(-math.Abs(off) / nearby) }

// A valve is one measured refit with what its reading says of any shift.
type valve struct {
	*Refit
	difference float64 // measured minus expected, nm
	sound      law     // of the error with the valve's own shim
	other      law     // with another one
	back       law     // with the old one in it again

	// The likelihoods of a fault of this valve alone, times its prior.
	unseated, wrong float64
	wrongSize       shim.Length // of the fitted shim, the one that fits best
	wrongShift      float64     // of the clearance with that size
	whole           float64     // prior of no fault of its own
}

// bounded reports whether the reading has no number, so that the difference is the
// least there is.
func (v *valve) bounded() bool { return v.Reading.Kind == shim.Below || v.Reading.Kind == shim.Above }

// A law is the distribution of measured minus expected, all being well.
type law struct {
	doubt.Spread
	*table
}

// fit is the likelihood of the reading where a fault moved the clearance by
// shift nm.
func (v *valve) fit(shift float64) float64 { return v.fitOf(&v.sound, shift) }

// fitOf is fit under a law: a density for a reading with a number, a probability
// for a leaf that did not go or fell through.
func (v *valve) fitOf(l *law, shift float64) float64 {
	x := v.difference - shift
	switch v.Reading.Kind {
	case shim.Below:
		return l.below(x)
	case shim.Above:
		return l.below(-x)
	}
	return l.at(x)
}

// closing is how many of the faults of one valve alone close its gap: bucket,
// shim and cam only ever do. The rest is a valve held off its seat, and half of
// the leaves that are misread. The project's own figure; none was found.
const closing = 0.8

// slip is the likelihood of a fault of this valve alone, by any amount and to
// either side: the laws of the fault and of the error, folded.
func (v *valve) slip() float64 {
	const least = 1e-300 // a reading so far out that no law knows it
	sum := 0.0
	for i := range 2*len(v.sound.values) - 1 {
		place := i - len(v.sound.values) + 1
		x := v.difference - float64(place)*v.sound.step // what the error leaves to the fault
		likely := 0.0
		switch v.Reading.Kind {
		case shim.Below:
			likely = closing*standsOver(-x) + (1-closing)*(1-standsOver(x))
		case shim.Above:
			likely = closing*(1-standsOver(-x)) + (1-closing)*standsOver(x)
		default:
			likely = closing*standing(-x) + (1-closing)*standing(x)
		}
		sum += v.sound.values[max(place, -place)] * v.sound.step * likely
	}
	return max(least, sum)
}

// own is the likelihood, prior included, of some fault of this valve alone.
func (v *valve) own() float64 { return v.unseated + v.wrong }

// total is the likelihood where a theory moves the clearance by shift and the
// valve may have a fault of its own besides. It is above 0.
func (v *valve) total(shift float64) float64 { return v.whole*v.fit(shift) + v.own() }

// with is the law where the shim planned for holder lies in this valve.
func (v *valve) with(holder *valve) *law {
	switch {
	case holder == v:
		return &v.sound
	case holder.From == v.Valve:
		return &v.back
	}
	return &v.other
}

// totalWith is total where the shim planned for holder lies in this valve.
func (v *valve) totalWith(holder *valve, shift float64) float64 {
	return v.whole*v.fitOf(v.with(holder), shift) + v.own()
}

// ln is the logarithm of total.
func (v *valve) ln(shift float64) float64 { return math.Log(v.total(shift)) }

// measured makes valves of the refits with a reading, in the order given.
func measured(refits []Refit, a Assumptions) []*valve {
	reused := map[shim.Valve]bool{}
	for i := range refits {
		if !refits[i].kept() {
			reused[refits[i].From] = true
		}
	}
	var valves []*valve
	for i := range refits {
		r := &refits[i]
		at, read := r.Reading.Bound()
		if !read || !r.Error.Known() {
			continue
		}
		v := &valve{Refit: r, difference: float64(at - r.Expected)}
		v.sound = lawOf(r.Error)
		if v.other = v.sound; r.Other.Known() {
			v.other = lawOf(r.Other)
		}
		if v.back = v.sound; r.Own.Known() {
			v.back = lawOf(r.Own)
		}
		v.unseated = a.Unseated * v.slip()
		prior := 0.0
		switch {
		case r.kept():
		case r.From == shim.Valve{}:
			prior = a.markPrior(r.Miked)
		default:
			// Another piece in the place of one of this engine shows here alone. A wrong
			// mark of a shim that moved between two valves shows at both ([marks]); of one
			// that went out of the engine it shows at the valve that it was in alone.
			if prior = piece * a.WrongSize; !reused[r.Valve] {
				prior += moved * a.markPrior(r.WasMiked)
			}
		}
		if prior > 0 {
			v.wrong, v.wrongSize, v.wrongShift = v.mismarked(prior, a.others(r.Size))
		}
		v.whole = 1 - a.Unseated - prior
		valves = append(valves, v)
	}
	return valves
}

// lawOf is the spread with its table, from those made before.
func lawOf(s doubt.Spread) law {
	t, known := tables.Load(s)
	if !known {
		t, _ = tables.LoadOrStore(s, tabulate(s))
	}
	return law{s, t.(*table)}
}

// within is [doubt.Spread.Within], from those worked out before.
func within(s doubt.Spread, p float64) shim.Length {
	type key struct {
		doubt.Spread
		p float64
	}
	bound, known := bounds.Load(key{s, p})
	if !known {
		bound, _ = bounds.LoadOrStore(key{s, p}, s.Within(p))
	}
	return bound.(shim.Length)
}

// tables and bounds keep what was worked out: a shop's gauge has few spreads.
var tables, bounds sync.Map

// markPrior is the prior of a wrong size of a shim that came from outside.
func (a Assumptions) markPrior(mic bool) float64 {
	if mic {
		return miked * a.WrongSize
	}
	return a.WrongSize
}

// mismarked adds up the likelihood over the sizes that the shim may have in
// truth, and gives the size that fits best and what it does to the clearance.
func (v *valve) mismarked(prior float64, sizes []shim.Length) (sum float64, best shim.Length, shift float64) {
	most, all := -1.0, 0.0
	for _, size := range sizes {
		s := float64(v.Ratio.Of(v.Size - size))
		l := v.fit(s) * rarer(float64(v.Size-size))
		sum += l
		all += rarer(float64(v.Size - size))
		if l > most {
			most, best, shift = l, size, s
		}
	}
	if len(sizes) == 0 {
		return 0, 0, 0
	}
	return prior * sum / all, best, shift
}

// others lists the sizes within the span of a size, other than itself.
func (a Assumptions) others(size shim.Length) []shim.Length {
	var sizes []shim.Length
	for _, s := range a.Sizes {
		if off := (s - size).Abs(); off > 0 && off <= span {
			sizes = append(sizes, s)
		}
	}
	if len(sizes) > 0 || a.Step <= 0 {
		return sizes
	}
	for off := a.Step; off <= span; off += a.Step {
		sizes = append(sizes, size-off, size+off)
	}
	return sizes
}

// A table is a density at even steps from zero, and the probability of an error
// beyond each: it is symmetric, and one is asked for thousands of values.
type table struct {
	step           float64
	values, beyond []float64
}

// tabulate makes the table, fine enough that lines between its points do.
func tabulate(s doubt.Spread) *table {
	if s.Reach() < 2*500 {
		s = doubt.Gaussian(500) // readings are not better than half a micrometre
	}
	const points = 128
	t := &table{step: s.Reach() / points}
	for i := range points + 1 {
		t.values = append(t.values, s.Density(float64(i)*t.step))
	}
	t.beyond = make([]float64, points+1)
	for i := points - 1; i >= 0; i-- {
		t.beyond[i] = t.beyond[i+1] + t.step*(t.values[i]+t.values[i+1])/2
	}
	return t
}

// at is the density at x.
func (t *table) at(x float64) float64 {
	place := math.Abs(x) / t.step
	i := int(min(place, float64(len(t.values))))
	if i+1 >= len(t.values) {
		return 0
	}
	part := place - float64(i)
	return t.values[i]*(1-part) + t.values[i+1]*part
}

// below is the probability of an error of at most x.
func (t *table) below(x float64) float64 {
	place := math.Abs(x) / t.step
	i := int(min(place, float64(len(t.values))))
	tail := 0.0
	if i+1 < len(t.values) {
		left := 1 - (place - float64(i))
		tail = t.beyond[i+1] + t.step*left*(t.at(x)+t.values[i+1])/2
	}
	if x < 0 {
		return tail
	}
	return 1 - tail
}
