package files

import "shimwright/shim"

// exact writes the length so that reading it gives the same length: every
// length that was read in the unit. In inches that takes six decimals, one
// more than [shim.Unit.Format] gives, since 0.000005 in are 127 nm; a length
// that no decimal of an inch expresses is rounded to 0.00001 in.
func exact(l shim.Length, u shim.Unit) string {
	const decimals = 2
	if u == shim.IN && l%127 == 0 {
		// 127 nm are 5 millionths of an inch; mm writes millionths as decimals.
		return shim.MM.FormatAtLeast(l/127*5, decimals)
	}
	return u.FormatAtLeast(l, decimals)
}
