package doubt

import "math"

// Rounded is a probability to four decimals, yet never 1 or 0: what is not
// certain is not printed as if it were.
func Rounded(p float64) float64 {
	if p <= 0 || p >= 1 {
		return p
	}
	return min(0.9999, max(0.0001, math.Round(p*1e4)/1e4))
}
