package wear

import (
	"math"
	"math/rand/v2"

	"gonum.org/v1/gonum/stat/distuv"
)

// passage is the time at which a gap that closes at a rate, with scatter, is used
// up for the first time: the inverse normal distribution (Tweedie 1957; Chhikara
// and Folks, The Inverse Gaussian Distribution, 1989). Gap, rate and scatter are
// per one unit of time; where the gap opens it may never be used up.
type passage struct{ gap, rate, scatter float64 }

// before is the chance that the gap is used up by a time.
func (p passage) before(t float64) float64 {
	switch {
	case p.gap <= 0:
		return 1
	case t <= 0:
		return 0
	}
	s := p.scatter * math.Sqrt(t)
	first := distuv.UnitNormal.CDF((p.rate*t - p.gap) / s)
	// The second part is a large number times a small one: multiplied as logarithms.
	tail := distuv.UnitNormal.CDF(-(p.rate*t + p.gap) / s)
	if tail == 0 {
		return first
	}
	return min(1, first+math.Exp(2*p.rate*p.gap/(p.scatter*p.scatter)+math.Log(tail)))
}

// draw draws such a time, +Inf for never (Michael, Schucany and Haas 1976).
func (p passage) draw(r *rand.Rand) float64 {
	if p.gap <= 0 {
		return 0
	}
	rate, u, z := p.rate, r.Float64(), r.NormFloat64()
	if rate <= 0 {
		// A gap that opens is used up with this chance, and then as fast as one that closes.
		never := u >= math.Exp(2*rate*p.gap/(p.scatter*p.scatter))
		if rate, u = -rate, r.Float64(); never {
			return math.Inf(1)
		}
	}
	shape := p.gap * p.gap / (p.scatter * p.scatter)
	if rate*1e12 < p.scatter { // no drift to speak of: the limit of the same law
		return shape / (z * z)
	}
	mean := p.gap / rate
	y := z * z * mean / shape
	x := mean * (1 + y/2 - math.Sqrt(y+y*y/4))
	if u*(mean+x) <= mean {
		return x
	}
	return mean * mean / x
}
