package doubt

import (
	"math"
	"math/rand/v2"
)

// How a bundle is sampled: so many times the same points, each time shifted at
// random. How far the means lie apart tells the error.
const (
	shifts      = 16
	leastPoints = 32
	mostPoints  = 2048
)

// sample is the mean over the errors in common by randomised quasi-Monte Carlo:
// Richtmyer's points, the multiples of the square roots of primes, shifted at
// random and folded, as Genz and Bretz have them (Computation of multivariate
// normal and t probabilities, Lecture Notes in Statistics 195, Springer 2009,
// 4.2; from memory). The seed is fixed.
func (b *bundle) sample(visits int) Chance {
	points := min(mostPoints, max(leastPoints, visits/shifts))
	random := rand.New(rand.NewPCG(9, 12))
	roots := rootsOfPrimes(len(b.halves))
	errors, at := make([]float64, len(roots)), make([]float64, len(roots))
	sum, squares := 0.0, 0.0
	for range shifts {
		for d := range at {
			at[d] = random.Float64()
		}
		mean := 0.0
		for range points {
			for d, root := range roots {
				at[d] += root
				at[d] -= math.Floor(at[d])
				errors[d] = b.halves[d] * (2*math.Abs(2*at[d]-1) - 1)
			}
			mean += b.all(errors)
		}
		mean /= float64(points)
		sum += mean
		squares += mean * mean
	}
	mean := sum / shifts
	variance := max(0, squares/shifts-mean*mean) / (shifts - 1)
	return Chance{Probability: mean, Error: math.Sqrt(variance), Sampled: true}
}

// rootsOfPrimes are the square roots of the first n primes.
func rootsOfPrimes(n int) []float64 {
	var primes []int
	var roots []float64
next:
	for p := 2; len(primes) < n; p++ {
		for _, q := range primes {
			if q*q > p {
				break
			}
			if p%q == 0 {
				continue next
			}
		}
		primes = append(primes, p)
		roots = append(roots, math.Sqrt(float64(p)))
	}
	return roots
}
