package shim

import "strconv"

// Count is a number with its noun, "1 piece" or "3 pieces". The plural is given
// where it is more than an s.
func Count(n int, noun string, plural ...string) string {
	switch {
	case n == 1:
	case len(plural) > 0:
		noun = plural[0]
	default:
		noun += "s"
	}
	return strconv.Itoa(n) + " " + noun
}
