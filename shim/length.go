package shim

import (
	"errors"
	"fmt"
	"strconv"
	"strings"
)

// A Length is a distance in whole nanometres.
type Length int64

// Lengths in common use. An inch is 25.4 mm exactly (NIST SP 811, since 1959).
const (
	Nanometre  Length = 1
	Micrometre        = 1000 * Nanometre
	Millimetre        = 1000 * Micrometre
	Inch              = 25_400_000 * Nanometre
)

// A Unit is the unit in which lengths are written and read.
type Unit uint8

// The units that files and printed forms may use.
const (
	MM Unit = iota
	IN
)

// Errors of decimal text. They are wrapped with the text that caused them.
var (
	ErrNotNumber = errors.New("not a decimal number")
	ErrTooFine   = errors.New("too many decimal places")
	ErrTooLarge  = errors.New("too large")
)

// ParseUnit reads "mm" or "in", without regard to case.
func ParseUnit(text string) (Unit, error) {
	switch strings.ToLower(strings.TrimSpace(text)) {
	case "mm":
		return MM, nil
	case "in":
		return IN, nil
	}
	return MM, fmt.Errorf("unknown unit %q: mm or in", text)
}

// String is "mm" or "in".
func (u Unit) String() string {
	if u == IN {
		return "in"
	}
	return "mm"
}

// Example is the figure of a hint that is written in the unit: one turned over from
// the other has decimals that no gauge has.
func (u Unit) Example(mm, in string) string {
	if u == IN {
		return in
	}
	return mm
}

// Parse reads decimal text in the unit and gives exactly that length. A sign,
// a leading or a trailing point are accepted; an exponent is not. The error
// wraps [ErrNotNumber], [ErrTooFine] or [ErrTooLarge].
func (u Unit) Parse(text string) (Length, error) {
	scale := int64(Millimetre)
	if u == IN {
		scale = int64(Inch)
	}
	n, err := parseScaled(text, scale)
	return Length(n), err
}

// Format writes the length as decimal text without trailing zeros. In mm the
// text is exact. In inches it is exact for every length that was read in
// inches with at most five decimals; others are rounded half to even to
// 0.00001 in (0.254 µm).
func (u Unit) Format(l Length) string {
	return u.format(l, 0)
}

// FormatAtLeast is [Unit.Format] with at least the given number of decimals,
// so that a column of sizes lines up: at most 6 in mm, 5 in inches.
func (u Unit) FormatAtLeast(l Length, decimals int) string {
	return u.format(l, decimals)
}

func (u Unit) format(l Length, decimals int) string {
	if u == IN {
		// One unit of the fifth decimal of an inch is 254 nm.
		return formatScaled(divHalfEven(int64(l), 254), 5, decimals)
	}
	return formatScaled(int64(l), 6, decimals)
}

// String is the length in mm, exact, without trailing zeros or unit.
func (l Length) String() string { return MM.Format(l) }

// MarshalJSON writes the length as an exact decimal number of mm.
func (l Length) MarshalJSON() ([]byte, error) { return appendScaled(nil, int64(l), 6, 0), nil }

// UnmarshalJSON reads a decimal number of mm.
func (l *Length) UnmarshalJSON(data []byte) error {
	n, err := MM.Parse(string(data))
	if err != nil {
		return err
	}
	*l = n
	return nil
}

// Abs is the distance without its sign.
func (l Length) Abs() Length { return max(l, -l) }

// limit keeps parsed values far from overflow in later sums and products: a
// kilometre of shim, a ratio of a million, a price of a hundred million.
const limit = int64(1_000_000_000_000)

// parseScaled reads decimal text as a whole number of 1/scale parts.
func parseScaled(text string, scale int64) (int64, error) {
	digits := strings.TrimSpace(text)
	negative := strings.HasPrefix(digits, "-")
	if negative || strings.HasPrefix(digits, "+") {
		digits = digits[1:]
	}
	whole, fraction, _ := strings.Cut(digits, ".")
	if whole+fraction == "" {
		return 0, fmt.Errorf("%q: %w", text, ErrNotNumber)
	}
	for _, c := range whole + fraction {
		if c < '0' || c > '9' {
			return 0, fmt.Errorf("%q: %w", text, ErrNotNumber)
		}
	}
	fraction = strings.TrimRight(fraction, "0")

	n := int64(0)
	for _, c := range whole {
		n = n*10 + int64(c-'0')
		if n > limit {
			return 0, fmt.Errorf("%q: %w", text, ErrTooLarge)
		}
	}
	if n > limit/scale {
		return 0, fmt.Errorf("%q: %w", text, ErrTooLarge)
	}
	n *= scale
	// Each decimal d at place p is worth d*scale/10^p; carrying the remainder
	// keeps it exact for any scale, such as the 25,400,000 of an inch.
	rest := scale
	carry := int64(0)
	power := int64(1)
	for _, c := range fraction {
		if power > limit {
			return 0, fmt.Errorf("%q: %w", text, ErrTooFine)
		}
		power *= 10
		carry = carry*10 + int64(c-'0')
	}
	if carry > 0 {
		g := gcd(rest, power)
		rest, power = rest/g, power/g
		if carry%power != 0 {
			return 0, fmt.Errorf("%q: %w", text, ErrTooFine)
		}
		n += carry / power * rest
	}
	if negative {
		n = -n
	}
	return n, nil
}

// formatScaled writes n parts of 10^-places without trailing zeros, yet with
// at least the given number of decimals.
func formatScaled(n int64, places, decimals int) string {
	var space [32]byte
	return string(appendScaled(space[:0], n, places, decimals))
}

func appendScaled(b []byte, n int64, places, decimals int) []byte {
	if n < 0 {
		b, n = append(b, '-'), -n
	}
	unit := int64(1)
	for range places {
		unit *= 10
	}
	b = strconv.AppendInt(b, n/unit, 10)
	point := len(b)
	b = strconv.AppendInt(b, unit+n%unit, 10) // the leading 1 keeps the zeros
	b[point] = '.'
	for len(b)-point-1 > decimals && b[len(b)-1] == '0' {
		b = b[:len(b)-1]
	}
	if len(b) == point+1 {
		b = b[:point]
	}
	return b
}

// divHalfEven is n/d rounded to the nearest whole number, ties to even, for d > 0.
func divHalfEven(n, d int64) int64 {
	q, r := n/d, n%d
	if r < 0 {
		q, r = q-1, r+d
	}
	if 2*r > d || 2*r == d && q%2 != 0 {
		q++
	}
	return q
}

func gcd(a, b int64) int64 {
	for b != 0 {
		a, b = b, a%b
	}
	return a
}
