package doubt

import (
	"math"
	"slices"
	"sync"

	"gonum.org/v1/gonum/integrate/quad"
)

// most is how many rectangles a sum holds: a closer's two clearances, each a loaded
// gap less an opener's that was read twice, two shims and an allowance have fifteen.
const most = 15

// A sum is the distribution, about zero, of a sum of independent errors:
// rectangles, given by their half widths, and the wedges of readings between two
// leaves; or one Gaussian alone. Lengths are in nm. It is comparable.
type sum struct {
	half   [most]float64 // the widest first, 0 past the last
	n      int
	wedge  [2]wedge // the widest first
	wedges int
	sigma  float64
}

// A wedge is the error of a gap that lies between two leaves, about their
// middle: anywhere across the width between them with equal chance, and each
// leaf, with an error of its own, counts the more the nearer the gap is to it.
// With U even on 0 to 1 that is width (U - 1/2) + (1 - U) e1 + U e2.
type wedge struct {
	width float64 // from leaf to leaf
	leaf  float64 // half width of a leaf's error
}

// add makes a sum of rectangles.
func add(halves ...float64) (s sum) {
	for _, a := range halves {
		s.rectangle(a)
	}
	return s
}

// rectangle adds a rectangle.
func (s *sum) rectangle(half float64) {
	if half <= 0 {
		return
	}
	if s.n == most {
		panic("more errors than a sum holds")
	}
	at := s.n
	for ; at > 0 && s.half[at-1] < half; at-- {
		s.half[at] = s.half[at-1]
	}
	s.half[at] = half
	s.n++
}

// between adds a wedge; one whose leaves have no error is a rectangle.
func (s *sum) between(w wedge) {
	switch {
	case w.leaf <= 0:
		s.rectangle(w.width / 2)
	default:
		s.wedge[s.wedges] = w
		s.wedges++
		if s.wedges == 2 && s.wedge[0].width < w.width {
			s.wedge[0], s.wedge[1] = s.wedge[1], s.wedge[0]
		}
	}
}

// none reports whether the sum is no error at all.
func (s sum) none() bool { return s.n == 0 && s.wedges == 0 && s.sigma == 0 }

// variance is the sum's variance: that of a rectangle is a third of its half
// width squared (JCGM 100:2008, 4.3.7), and of a leaf's error two thirds reach
// a gap beside it, since (1 - U)^2 + U^2 is 2/3 in the mean.
func (s sum) variance() float64 {
	v := s.sigma * s.sigma
	for _, a := range s.half[:s.n] {
		v += a * a / 3
	}
	for _, w := range s.wedge[:s.wedges] {
		v += w.width*w.width/12 + 2.0/3*w.leaf*w.leaf/3
	}
	return v
}

// reach is the distance from zero beyond which nothing is left.
func (s sum) reach() float64 {
	r := 9 * s.sigma
	for _, a := range s.half[:s.n] {
		r += a
	}
	for _, w := range s.wedge[:s.wedges] {
		r += w.width/2 + w.leaf
	}
	return r
}

// cdf is the probability of an error of at most x, to about 1e-11; to about
// 1e-7 with two wedges.
func (s sum) cdf(x float64) float64 {
	switch {
	case s.sigma > 0:
		return normal(x / s.sigma)
	case s.none():
		return step(x)
	case x > 0:
		// The lower tail is a sum of few small terms, and so the exact one.
		return 1 - s.below(-x, 0)
	}
	return s.below(x, 0)
}

// step is the distribution function of no error.
func step(x float64) float64 {
	if x < 0 {
		return 0
	}
	return 1
}

// pdf is the density at x, per nm; 0 where the sum is no spread at all.
func (s sum) pdf(x float64) float64 {
	switch {
	case s.sigma > 0:
		return density(x/s.sigma) / s.sigma
	case s.none():
		return 0
	}
	return s.below(-math.Abs(x), 1)
}

// below is the cdf at x <= 0, or its derivative where derive is 1.
func (s sum) below(x float64, derive int) float64 {
	if x <= -s.reach() {
		return 0
	}
	p := mixed(x, derive, s.half[:s.n], s.wedge[:s.wedges])
	if derive == 0 {
		return min(1, max(0, p))
	}
	return max(0, p)
}

// mixed takes the wedges apart: where U is known a wedge is two rectangles about
// a shifted place, and the mean over U is taken by Gauss-Legendre. Of two, the
// second is a mean over places weighed by its own density.
func mixed(x float64, derive int, halves []float64, wedges []wedge) float64 {
	if len(wedges) == 0 {
		return rectangles(x, halves, derive)
	}
	if len(wedges) == 2 {
		total := 0.0
		for _, n := range wedges[1].nodes() {
			total += n.weight * mixed(x-n.at, derive, halves, wedges[:1])
		}
		return total
	}
	w := wedges[0]
	at := func(u float64) float64 {
		all := append(append(make([]float64, 0, most+4), halves...), w.leaf*(1-u), w.leaf*u)
		return rectangles(x-w.width*(u-0.5), all, derive)
	}
	// Between the places where the density has a corner the integrand is smooth.
	panels := []float64{0, 1}
	for corner := range 1 << (len(halves) + 2) {
		c, slope := 0.0, w.width
		for i, a := range halves {
			c += signed(a, corner>>i&1)
		}
		first, second := signed(w.leaf, corner>>len(halves)&1), signed(w.leaf, corner>>(len(halves)+1)&1)
		// x - width (u - 1/2) + c + first (1 - u) + second u = 0
		slope += first - second
		if slope != 0 {
			if u := (x + w.width/2 + c + first) / slope; u > 0 && u < 1 {
				panels = append(panels, u)
			}
		}
	}
	slices.Sort(panels)
	total := 0.0
	for i, to := range panels[1:] {
		if from := panels[i]; to-from > 1e-12 {
			total += (to - from) * fine.mean(at, from, to)
		}
	}
	return total
}

// A node is a place of a mean, with its weight.
type node struct{ at, weight float64 }

// nodes are places that stand for the wedge's own distribution where it is
// smoothed by something as wide: eight between any two of its corners.
func (w wedge) nodes() []node {
	if known, ok := placed.Load(w); ok {
		return known.([]node)
	}
	cuts := []float64{-w.width/2 - w.leaf, -w.width/2 + w.leaf, 0, w.width/2 - w.leaf, w.width/2 + w.leaf}
	slices.Sort(cuts)
	var list []node
	all := 0.0
	for i, to := range cuts[1:] {
		from := cuts[i]
		for k, at := range fine.at {
			n := node{at: from + (to-from)*at}
			n.weight = (to - from) * fine.weight[k] * mixed(n.at, 1, nil, []wedge{w})
			list, all = append(list, n), all+n.weight
		}
	}
	for i := range list {
		list[i].weight /= all
	}
	placed.Store(w, list)
	return list
}

// placed keeps the nodes of wedges: a gauge has few.
var placed sync.Map

func signed(a float64, bit int) float64 {
	if bit == 0 {
		return a
	}
	return -a
}

// narrow is the part of the widest below which a rectangle is averaged over
// rather than put into the closed form, whose terms would cancel.
const narrow = 1.0 / 50

// negligible is the part of the widest below which a rectangle changes no
// probability by 1e-10.
const negligible = 1e-10

// rectangles is the distribution function of a sum of rectangles at x, or its
// derivative.
//
// Each rectangle takes the difference of an integral at its two ends, so n of
// them give 2^n signed terms of the n-fold integral of the step, x^n / n!:
// Bradley and Gupta, On the distribution of the sum of n non-identically
// distributed uniform random variables, Ann. Inst. Statist. Math. 54 (2002)
// 689-700.
func rectangles(x float64, halves []float64, derive int) float64 {
	widest, scale := 0.0, 1.0
	for _, a := range halves {
		widest = max(widest, a)
	}
	var wide [most + 4]float64
	n := 0
	for i, a := range halves {
		switch {
		case a <= negligible*widest:
		case a < narrow*widest:
			rest := append(append(make([]float64, 0, most+4), halves[:i]...), halves[i+1:]...)
			return averaged(x, a, rest, derive)
		default:
			wide[n] = a
			n++
			scale *= 2 * a
		}
	}
	if n == 0 {
		return step(x)
	}
	for i := 2; i <= n-derive; i++ {
		scale *= float64(i)
	}
	total := 0.0
	for corner := range 1 << n {
		at, sign := x, 1.0
		for i, a := range wide[:n] {
			if corner>>i&1 == 0 {
				at += a
			} else {
				at, sign = at-a, -sign
			}
		}
		if at > 0 {
			for range n - derive {
				sign *= at
			}
			total += sign
		}
	}
	return total / scale
}

// averaged is the mean over a narrow rectangle: between the corners of the rest
// that is a polynomial, which Gauss-Legendre takes exactly and without
// cancelling.
func averaged(x, a float64, rest []float64, derive int) float64 {
	cuts := []float64{x - a, x + a}
	for corner := range 1 << len(rest) {
		c := 0.0
		for i, b := range rest {
			c += signed(b, corner>>i&1)
		}
		if c > x-a && c < x+a {
			cuts = append(cuts, c)
		}
	}
	slices.Sort(cuts)
	total := 0.0
	for i, to := range cuts[1:] {
		if from := cuts[i]; to > from {
			total += (to - from) * few.mean(func(y float64) float64 { return rectangles(y, rest, derive) }, from, to)
		}
	}
	return total / (2 * a)
}

// quantile is the error that is not exceeded in size with probability p.
func (s sum) quantile(p float64) float64 {
	low, high := 0.0, s.reach()
	for range 44 {
		middle := (low + high) / 2
		if 1-2*s.cdf(-middle) < p {
			low = middle
		} else {
			high = middle
		}
	}
	return high
}

// normal is the standard normal distribution function.
func normal(z float64) float64 { return math.Erfc(-z/math.Sqrt2) / 2 }

// density is the standard normal density.
func density(z float64) float64 { return math.Exp(-z*z/2) / math.Sqrt(2*math.Pi) }

// A rule is where Gauss-Legendre looks on 0 to 1, with the weights.
type rule struct{ at, weight []float64 }

func legendre(points int) rule {
	r := rule{make([]float64, points), make([]float64, points)}
	quad.Legendre{}.FixedLocations(r.at, r.weight, 0, 1)
	return r
}

// few is exact for the polynomials between two corners, up to the 9th degree;
// fine has some more for what two leaves make of them.
var few, fine = legendre(5), legendre(8)

// mean is the mean of f from a to b.
func (r *rule) mean(f func(float64) float64, a, b float64) (total float64) {
	for i, at := range r.at {
		total += r.weight[i] * f(a+(b-a)*at)
	}
	return total
}
