package shim

import (
	"fmt"
	"strconv"
	"strings"
)

// A Ratio is how much clearance a shim takes for its thickness, exact: Times
// millionths where it is written as a decimal, or Times over Over where it is
// one over a rocker's ratio, which few decimals give. See [Setting]. Ratios are
// compared with ==.
type Ratio struct {
	Times Factor
	Over  Factor // 0 stands for [One]
}

// RockerRatio is one over the ratio of a rocker, above 0, by which it
// multiplies the lift of the cam that its clearance is measured at.
func RockerRatio(rocker Factor) Ratio {
	if rocker == One {
		return Ratio{Times: One}
	}
	return Ratio{Times: One, Over: rocker}
}

// over is the denominator.
func (r Ratio) over() int64 {
	if r.Over == 0 {
		return int64(One)
	}
	return int64(r.Over)
}

// Of is the ratio times the length, rounded once, half to even, to the
// nanometre, for lengths below a metre.
func (r Ratio) Of(l Length) Length {
	if int64(r.Times) == r.over() {
		return l
	}
	return Length(divHalfEven(int64(r.Times)*int64(l), r.over()))
}

// Under is the length over the ratio, rounded half to even to the nanometre,
// for lengths below a metre and ratios above 0.
func (r Ratio) Under(l Length) Length {
	return Length(divHalfEven(int64(l)*r.over(), int64(r.Times)))
}

// plausible reports whether an engine can have the ratio: 0.1 to 10.
func (r Ratio) plausible() bool {
	return 10*int64(r.Times) >= r.over() && int64(r.Times) <= 10*r.over()
}

// Float is the nearest figure for what is no length: an uncertainty.
func (r Ratio) Float() float64 { return float64(r.Times) / float64(r.over()) }

// String is an exact decimal, or "1/1.43".
func (r Ratio) String() string {
	if r.Over == 0 {
		return r.Times.String()
	}
	return r.Times.String() + "/" + r.Over.String()
}

// ParseRatio reads what String gives.
func ParseRatio(text string) (Ratio, error) {
	times, over, fraction := strings.Cut(text, "/")
	var r Ratio
	var err error
	if r.Times, err = ParseFactor(times); err == nil && fraction {
		r.Over, err = ParseFactor(over)
	}
	if err == nil && fraction && r.Over <= 0 {
		err = fmt.Errorf("%q: a ratio is a decimal, or two like 1/1.43", text)
	}
	return r, err
}

// MarshalJSON writes a decimal ratio as its millionths, as a [Factor] is
// written, and a fraction as text: "1000000/1430000".
func (r Ratio) MarshalJSON() ([]byte, error) {
	text := strconv.FormatInt(int64(r.Times), 10)
	if r.Over != 0 {
		text = strconv.Quote(text + "/" + strconv.FormatInt(int64(r.Over), 10))
	}
	return []byte(text), nil
}

// UnmarshalJSON reads both.
func (r *Ratio) UnmarshalJSON(data []byte) error {
	text, bare := string(data), strings.Trim(string(data), `"`)
	times, over, fraction := strings.Cut(bare, "/")
	n, err := strconv.ParseInt(times, 10, 64)
	d := int64(0)
	if fraction && err == nil {
		d, err = strconv.ParseInt(over, 10, 64)
	}
	if err != nil || fraction != (text != bare) || fraction && d <= 0 {
		return fmt.Errorf("%s: a ratio is a number of millionths, or two like \"1000000/1430000\"", text)
	}
	*r = Ratio{Times: Factor(n), Over: Factor(d)}
	return nil
}
