package inventory

import (
	"regexp"
	"strconv"
	"strings"
)

// What an odometer or hour meter reads is kept as it was written. These
// are the forms whose number is understood: 24310 km, 24,310 km, 24.310 km,
// 24 310 km, 24'310, 1203.5 h, 1203,5 h.
var (
	grouped = regexp.MustCompile(`^(\d{1,3}(?:[.,' ]\d{3})+)(?:[.,](\d{1,2}))? *([[:alpha:]]*)\.?$`)
	simple  = regexp.MustCompile(`^(\d{1,12})(?:[.,](\d{1,2}))? *([[:alpha:]]*)\.?$`)
)

// meterValue is what a meter reads, in hundredths of its unit, and the unit in
// lower case. It is false where the text is no number with a unit.
func meterValue(text string) (hundredths int64, unit string, understood bool) {
	text = strings.Join(strings.Fields(text), " ") // no-break spaces too
	part := grouped.FindStringSubmatch(text)
	if part == nil {
		part = simple.FindStringSubmatch(text)
	}
	if part == nil {
		return 0, "", false
	}
	whole := strings.Map(func(r rune) rune {
		if r < '0' || r > '9' {
			return -1
		}
		return r
	}, part[1])
	n, err := strconv.ParseInt(whole+(part[2] + "00")[:2], 10, 64)
	return n, strings.ToLower(part[3]), err == nil
}

// MeterWentBack tells whether a meter reads less than it did before, as far as
// both texts are understood and their units agree.
func MeterWentBack(before, now string) bool {
	was, unit, known := meterValue(before)
	is, unitNow, knownNow := meterValue(now)
	return known && knownNow && is < was && (unit == unitNow || unit == "" || unitNow == "")
}
