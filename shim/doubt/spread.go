package doubt

import (
	"fmt"
	"math"
	"sync"

	"shimwright/shim"
)

// A Method says how a probability was computed.
type Method uint8

// The methods.
const (
	// Normal takes the combined error for a Gaussian (JCGM 106:2012, 7.2).
	Normal Method = iota
	// Convolution adds the rectangles exactly.
	Convolution
)

// String is "normal" or "convolution".
func (m Method) String() string {
	if m == Convolution {
		return "convolution"
	}
	return "normal"
}

// MarshalText is the method's word.
func (m Method) MarshalText() ([]byte, error) { return []byte(m.String()), nil }

// UnmarshalText reads the method's word.
func (m *Method) UnmarshalText(text []byte) error {
	for _, known := range []Method{Normal, Convolution} {
		if known.String() == string(text) {
			*m = known
			return nil
		}
	}
	return fmt.Errorf("unknown method %q", text)
}

// A Spread is the distribution of an error about zero. The zero Spread is no
// error at all. It is comparable, so that a caller may keep what it computed
// from one.
type Spread struct {
	shape  sum
	method Method
	known  bool // false where the reading has no number
}

// spreadOf is the spread of rectangular errors.
func spreadOf(halves ...float64) Spread {
	return Spread{shape: add(halves...), method: Convolution, known: true}
}

// Gaussian is the spread of a normal error with the given standard
// uncertainty in nm.
func Gaussian(u float64) Spread {
	return Spread{shape: sum{sigma: u}, method: Normal, known: true}
}

// Known is false where the reading has no number, so that nothing can be said.
func (s Spread) Known() bool { return s.known }

// Method says how the spread's probabilities are computed.
func (s Spread) Method() Method { return s.method }

// Standard is the standard uncertainty, rounded to the nanometre.
func (s Spread) Standard() shim.Length { return round(math.Sqrt(s.shape.variance())) }

// Expanded is the expanded uncertainty for about 95 %: twice the standard one
// for a Gaussian (JCGM 100:2008, 6.3.3), the true interval of 95 % for a
// convolution.
func (s Spread) Expanded() shim.Length {
	if s.method == Normal {
		return round(2 * s.shape.sigma)
	}
	// Plans ask for few spreads, many times each.
	if known, ok := expanded.Load(s); ok {
		return known.(shim.Length)
	}
	u := round(s.shape.quantile(0.95))
	expanded.Store(s, u)
	return u
}

// expanded keeps what [Spread.Expanded] found, by [Spread].
var expanded sync.Map

// Within is the half width of the interval about zero that holds the error
// with probability p, from 0 to below 1.
func (s Spread) Within(p float64) shim.Length { return round(s.shape.quantile(p)) }

// Cumulative is the probability of an error of at most x nm.
func (s Spread) Cumulative(x float64) float64 { return s.shape.cdf(x) }

// Density is the probability density at an error of x nm, per nm. It is 0 for
// a spread that is no error at all.
func (s Spread) Density(x float64) float64 { return s.shape.pdf(x) }

// Reach is the error beyond which the density is nil, in nm.
func (s Spread) Reach() float64 { return s.shape.reach() }

// Inside is the probability that a clearance lies inside its limits where the
// expected one is off by this spread (JCGM 106:2012, equation 7). It is 0
// where the spread is not known. It rises with the distance from the nearer
// limit and is the same at both.
func (s Spread) Inside(l shim.Limits, expected shim.Length) float64 {
	if !s.known {
		return 0
	}
	if s.shape.none() {
		if l.Contain(expected) {
			return 1
		}
		return 0
	}
	// The two tails, each from its own end, keep a small risk exact.
	outside := s.shape.cdf(float64(l.Tight-expected)) + s.shape.cdf(float64(expected-l.Loose))
	return min(1, max(0, 1-outside))
}

// Guard is the range of expected clearances that lie inside the limits with
// probability p or more: the limits drawn in by a guard band (JCGM 106:2012,
// 8.3). It is false where no clearance is that sure. The density is symmetric
// and has one peak, so the range is one interval about the middle and holds
// exactly the clearances whose [Spread.Inside] is p or more.
func (s Spread) Guard(l shim.Limits, p float64) (shim.Limits, bool) {
	sure := func(band shim.Length) bool { return s.Inside(l, l.Tight+band) >= p }
	low, high := shim.Length(-1), (l.Loose-l.Tight)/2
	if !s.known || !sure(high) {
		return shim.Limits{}, false
	}
	for high-low > 1 {
		if middle := low + (high-low)/2; sure(middle) {
			high = middle
		} else {
			low = middle
		}
	}
	return shim.Limits{Tight: l.Tight + high, Loose: l.Loose - high}, true
}

// round is the whole number of nm nearest to x.
func round(x float64) shim.Length { return shim.Length(math.Round(x)) }
