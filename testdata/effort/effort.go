// Package effort says how many rounds a long test makes: kills, flips,
// simulations. All of them where SHIMWRIGHT_EFFORT is full, a tenth where it is
// ci, as .ci/run sets it, a hundredth in a plain go test, and a thousandth under
// -short, whatever is set.
package effort

import (
	"os"
	"testing"
)

// Of is the part of full that this run makes, at least 1.
func Of(full int) int {
	effort := os.Getenv("SHIMWRIGHT_EFFORT")
	switch {
	case testing.Short():
		return max(1, full/1000)
	case effort == "full":
		return full
	case effort == "ci":
		return max(1, full/10)
	}
	return max(1, full/100)
}

// Share is how many of all this run takes, where build servers miss none: all
// at full and ci, a quarter in a plain go test, a fiftieth under -short, at
// least 1.
func Share(all int) int {
	switch {
	case All():
		return all
	case testing.Short():
		return max(1, all/50)
	}
	return max(1, all/4)
}

// All tells whether this run leaves no case out, as at full and ci.
func All() bool {
	effort := os.Getenv("SHIMWRIGHT_EFFORT")
	return !testing.Short() && (effort == "full" || effort == "ci")
}

// Long skips a test under -short: one that starts a browser, kills processes or
// takes more than a second or two however few rounds it makes.
func Long(t testing.TB) {
	t.Helper()
	if testing.Short() {
		t.Skip("long: not run under -short")
	}
}
