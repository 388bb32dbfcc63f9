package doubt

import (
	"math"
	"slices"
)

// most is how many rectangles a sum keeps as they are, negligible the part of
// the widest below which one goes into the Gaussian. Together they bound the
// cancellation in the closed form: its terms stay below 10^4, so that the
// probability is good to about 10^-11.
const (
	most       = 5
	negligible = 1.0 / 50
)

// A sum is the distribution, about zero, of a sum of independent errors:
// rectangles, given by their half widths, and one Gaussian. Lengths are in nm.
// It is comparable.
type sum struct {
	half  [most]float64 // the widest first, 0 past the last
	n     int
	sigma float64
}

// add makes a sum. Rectangles past the fifth, and those too narrow to show in
// the shape, join the Gaussian with their variance.
func add(sigma float64, halves ...float64) sum {
	var s sum
	wide := slices.Clone(halves)
	slices.Sort(wide)
	slices.Reverse(wide)
	variance := sigma * sigma
	for _, a := range wide {
		switch {
		case a <= 0:
		case s.n < most && a >= negligible*max(wide[0], sigma):
			s.half[s.n] = a
			s.n++
		default:
			variance += a * a / 3
		}
	}
	s.sigma = math.Sqrt(variance)
	return s
}

// variance is the sum's variance: that of a rectangle is a third of its half
// width squared (JCGM 100:2008, 4.3.7).
func (s sum) variance() float64 {
	v := s.sigma * s.sigma
	for _, a := range s.half[:s.n] {
		v += a * a / 3
	}
	return v
}

// reach is the distance from zero beyond which nothing is left.
func (s sum) reach() float64 {
	r := 9 * s.sigma
	for _, a := range s.half[:s.n] {
		r += a
	}
	return r
}

// cdf is the probability of an error of at most x.
//
// Each rectangle takes the difference of an integral at its two ends, so n of
// them give 2^n signed terms of the n-fold integral of the step or of the
// normal distribution function: Bradley and Gupta, On the distribution of the
// sum of n non-identically distributed uniform random variables, Ann. Inst.
// Statist. Math. 54 (2002) 689-700, here with a Gaussian added.
func (s sum) cdf(x float64) float64 {
	if x > 0 {
		// The lower tail is a sum of few small terms, and so the exact one.
		return 1 - s.below(-x, 0)
	}
	return s.below(x, 0)
}

// pdf is the density at x, per nm; 0 where the sum is no spread at all.
func (s sum) pdf(x float64) float64 {
	switch {
	case s.n > 0:
		return s.below(-math.Abs(x), 1)
	case s.sigma > 0:
		return density(x/s.sigma) / s.sigma
	}
	return 0
}

// below is the cdf at x <= 0, or its derivative where derive is 1 and there is
// a rectangle.
func (s sum) below(x float64, derive int) float64 {
	if s.n == 0 && s.sigma == 0 {
		if x < 0 {
			return 0
		}
		return 1
	}
	total, scale := 0.0, 1.0
	for _, a := range s.half[:s.n] {
		scale *= 2 * a
	}
	for corner := range 1 << s.n {
		at, sign := x, 1.0
		for i, a := range s.half[:s.n] {
			if corner>>i&1 == 0 {
				at += a
			} else {
				at, sign = at-a, -sign
			}
		}
		total += sign * integral(at, s.sigma, s.n-derive)
	}
	return min(1, max(0, total/scale))
}

// integral is the n-fold integral from minus infinity to x of the normal
// distribution function of standard deviation sigma, or of the step where
// sigma is 0.
func integral(x, sigma float64, n int) float64 {
	z := math.Inf(1)
	if sigma > 0 {
		z = x / sigma
	}
	if z < -9 || x <= 0 && sigma == 0 {
		return 0
	}
	if sigma == 0 {
		term := 1.0
		for i := 1; i <= n; i++ {
			term *= x / float64(i)
		}
		return term
	}
	// n H(n) = z H(n-1) + H(n-2), from integration by parts.
	before, now := density(z), normal(z)
	for i := 1; i <= n; i++ {
		before, now = now*sigma, (x*now+sigma*before)/float64(i)
	}
	return now
}

// quantile is the error that is not exceeded in size with probability p.
func (s sum) quantile(p float64) float64 {
	low, high := 0.0, s.reach()
	for range 60 {
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
