package shim

import "fmt"

// A Factor is an exact decimal without unit, in millionths: a ratio or an aim.
type Factor int64

// One is the factor that changes nothing.
const One Factor = 1_000_000

// maxFactor bounds a factor so that its product with any length in use (below
// 10^9 nm, a metre) stays far inside an int64.
const maxFactor = 1000 * One

// ParseFactor reads a decimal of at most six places and at most 1000 in size.
func ParseFactor(text string) (Factor, error) {
	n, err := parseScaled(text, int64(One))
	if err != nil {
		return 0, err
	}
	if f := Factor(n); f > maxFactor || f < -maxFactor {
		return 0, fmt.Errorf("%q: %w", text, ErrTooLarge)
	}
	return Factor(n), nil
}

// String is the factor as an exact decimal without trailing zeros.
func (f Factor) String() string { return formatScaled(int64(f), 6, 0) }

// Of is the factor times the length, rounded half to even to the nanometre,
// for lengths below a metre.
func (f Factor) Of(l Length) Length {
	if f == One {
		return l
	}
	return Length(divHalfEven(int64(f)*int64(l), int64(One)))
}

// A Price is an amount of the shop's currency in ten-thousandths.
type Price int64

// ParsePrice reads a decimal of at most four places, not negative.
func ParsePrice(text string) (Price, error) {
	n, err := parseScaled(text, 10_000)
	if err != nil {
		return 0, err
	}
	if n < 0 {
		return 0, fmt.Errorf("%q: a price is not negative", text)
	}
	return Price(n), nil
}

// String is the price as decimal text with at least two decimals.
func (p Price) String() string { return formatScaled(int64(p), 4, 2) }

// MarshalJSON writes the price as an exact decimal number.
func (p Price) MarshalJSON() ([]byte, error) { return []byte(formatScaled(int64(p), 4, 0)), nil }

// UnmarshalJSON reads a decimal number.
func (p *Price) UnmarshalJSON(data []byte) error {
	n, err := ParsePrice(string(data))
	if err != nil {
		return err
	}
	*p = n
	return nil
}
