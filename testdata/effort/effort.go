// Package effort says how many rounds a long test makes: kills, flips,
// simulations. All of them where SHIMWRIGHT_EFFORT is full, a tenth where it is
// ci, as .ci/run sets it, and a hundredth in a plain go test.
package effort

import "os"

// Of is the part of full that this run makes, at least 1.
func Of(full int) int {
	switch os.Getenv("SHIMWRIGHT_EFFORT") {
	case "full":
		return full
	case "ci":
		return max(1, full/10)
	}
	return max(1, full/100)
}
