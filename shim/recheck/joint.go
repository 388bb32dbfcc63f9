package recheck

import (
	"math"

	"shimwright/shim"
	"shimwright/shim/doubt"
)

// A source is an error that several readings share: that of one leaf; that of one
// shim, which enters the valve that it left and the one that it is in with opposite
// signs; or that of an opener's gap, which enters its own clearance and, with the
// opposite sign, that of the closer whose loaded gap it was taken off.
type source struct {
	leaf  shim.Length // its mark; 0 where it is none
	set   shim.Gauge  // that it belongs to
	shim  shim.Valve  // the valve that the shim was in before, or that it was brought for
	new   bool        // whether it was brought for it
	gap   shim.Valve  // the opener
	first bool        // whether before the job
}

// parts are the standard deviations, signed, of what each source brings to one
// valve's difference, and rest the variance of all that it shares with none. nm.
type parts struct {
	of   map[source]float64
	rest float64
}

// add puts the reading of a valve in, before the job or after it, opener
// the opener's at that time, for a closer's loaded gap.
func (p *parts) add(v shim.Valve, r, opener shim.Reading, g shim.Gauge, sign float64, first bool) {
	if r.Open > 0 {
		p.rest += square(float64(r.Open)) / 3
	}
	if r.Unloaded == (shim.Unloaded{}) {
		p.gap(source{gap: v, first: first}, r.Against(g), g, sign)
		return
	}
	p.gap(source{gap: v, first: first}, r.Loaded().Against(g), g, sign)
	from := source{gap: v.Other(), first: first}
	if !r.TakenOff(opener) {
		from = source{}
	}
	p.gap(from, r.Opener().Against(g), g, -sign)
}

// gap puts one gap in, and what its reading leaves open between two leaves or by
// rounding under the source from. The middle of two leaves, gap = a + e1 (1-U) + e2 U +
// U w, has half of each leaf's error; the other third of its variance, which
// depends on U, is its own.
func (p *parts) gap(from source, r shim.Reading, g shim.Gauge, sign float64) {
	leaf := float64(g.Leaf) / math.Sqrt(3)
	mark := func(figure shim.Length) source { return source{leaf: figure - r.Shifted, set: g} } // as it was read
	own := func(variance float64) {
		if from == (source{}) {
			p.rest += variance
			return
		}
		p.of[from] += sign * math.Sqrt(variance)
	}
	switch {
	case r.Second.Taken:
		p.of[mark(r.Low)] += sign * leaf / 2
		p.of[mark(r.Second.Low)] += sign * leaf / 2
		own(square(float64(g.Step)) / 24)
	case r.Kind == shim.Single:
		p.of[mark(r.Low)] += sign * leaf
		own(square(float64(g.Step)) / 12)
	case r.Kind == shim.Bracket:
		p.of[mark(r.Low)] += sign * leaf / 2
		p.of[mark(r.High)] += sign * leaf / 2
		own(square(float64(r.High-r.Low))/12 + square(leaf)/6)
	}
}

func square(x float64) float64 { return x * x }

// partsOf is what the difference of a valve is made of where the shim planned
// for holder lies in it.
func partsOf(v, holder *valve, g shim.Gauge, known map[shim.Valve]*valve) parts {
	p := parts{of: map[source]float64{}}
	var now, first shim.Reading // the opener's
	if o := known[v.Valve.Other()]; v.Valve.Closer && o != nil {
		now, first = o.Reading, o.First
	}
	p.add(v.Valve, v.Reading, now, g.Leaves(v.With), 1, false)
	p.add(v.Valve, v.First, first, g.Leaves(v.FirstWith), -1, true)
	k := v.Ratio.Float() / math.Sqrt(3)
	size := func(miked, used bool) float64 { return k * float64(doubt.SourceOf(miked, used).Limit(g)) }
	p.of[source{shim: v.Valve}] += size(v.WasMiked, true)
	switch {
	case holder.kept():
		p.of[source{shim: holder.Valve}] -= size(holder.WasMiked, true)
	case known[holder.From] != nil:
		p.of[source{shim: holder.From}] -= size(holder.Miked, true)
	default:
		p.of[source{shim: holder.Valve, new: true}] -= size(holder.Miked, holder.Used)
	}
	return p
}

// weigh turns the probabilities, worked out as if the errors of the valves were
// independent, into those of the joint likelihood. Its density is that of the
// errors' own distributions, tied together by a Gaussian copula with their true
// correlations: the model of Nataf (Liu and Der Kiureghian, Multivariate
// distribution models with prescribed marginals and covariances, Probabilistic
// Engineering Mechanics 1 (1986) 105-112). Readings without a number count as
// independent.
func weigh(list []candidate, valves []*valve, g shim.Gauge) {
	known := map[shim.Valve]*valve{}
	for _, v := range valves {
		known[v.Valve] = v
	}
	none := candidate{shift: make([]float64, len(valves))}.tie(valves, g, known)
	sum, looked := 0.0, 0.0 // the rest are those too rare to be here
	ties, top := make([]float64, len(list)), math.Inf(-1)
	for i := range list {
		ties[i] = list[i].tie(valves, g, known)
		top = max(top, ties[i])
	}
	for i := range list {
		c := &list[i]
		looked += c.Probability
		c.Probability *= math.Exp(ties[i] - top)
		c.Gain += ties[i] - none
		sum += c.Probability
	}
	// What the ties do to those too rare is not known. They count as if nothing had
	// gone wrong, yet never for more than their share: far from that all ties are
	// weak, and they would drown the best of the list.
	rest := max(0, 1-looked) * min(math.Exp(none-top), sum/looked)
	for i := range list {
		list[i].Probability /= sum + rest
	}
}

// tie is the logarithm of the copula's density: what the correlations add to
// the product of the valves' own likelihoods.
func (c candidate) tie(valves []*valve, g shim.Gauge, known map[shim.Valve]*valve) float64 {
	const least = 1e-9
	var all []parts
	var z []float64
	for i, v := range valves {
		if _, numbered := v.Reading.Estimate(); !numbered || math.IsNaN(c.shift[i]) {
			continue
		}
		holder := v
		if c.lies != nil && c.lies[i] != i {
			holder = valves[c.lies[i]]
		}
		all = append(all, partsOf(v, holder, g, known))
		below := v.with(holder).below(v.difference - c.shift[i])
		z = append(z, math.Sqrt2*math.Erfinv(2*min(1-least, max(least, below))-1))
	}
	n := len(all)
	matrix := make([][]float64, n)
	for i := range all {
		matrix[i] = make([]float64, i+1)
		for j := range i + 1 {
			for s, x := range all[i].of {
				matrix[i][j] += x * all[j].of[s]
			}
		}
		matrix[i][i] += all[i].rest
	}
	deviation := make([]float64, n)
	for i := range n {
		if deviation[i] = math.Sqrt(matrix[i][i]); deviation[i] == 0 {
			return 0 // a gauge without errors: nothing is shared
		}
	}
	for i := range n {
		for j := range i + 1 {
			matrix[i][j] /= deviation[i] * deviation[j]
		}
	}
	return lnCopula(matrix, z)
}

// lnCopula is the logarithm of the Gaussian copula's density at the normal
// scores z, for a lower triangle of correlations that is overwritten: by
// Cholesky's factor L it is -ln det L - (|L^-1 z|^2 - |z|^2)/2.
func lnCopula(r [][]float64, z []float64) float64 {
	ln := 0.0
	y := make([]float64, len(z))
	for i := range r {
		for j := range i + 1 {
			s := r[i][j]
			for k := range j {
				s -= r[i][k] * r[j][k]
			}
			if i == j {
				r[i][i] = math.Sqrt(max(s, 1e-12))
			} else {
				r[i][j] = s / r[j][j]
			}
		}
		y[i] = z[i]
		for k := range i {
			y[i] -= r[i][k] * y[k]
		}
		y[i] /= r[i][i]
		ln += (z[i]*z[i]-y[i]*y[i])/2 - math.Log(r[i][i])
	}
	return ln
}
