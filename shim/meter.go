package shim

import (
	"math"
	"regexp"
	"strconv"
	"strings"
	"sync"
)

// A MeterKind is what a meter counts.
type MeterKind string

// The kinds of meter.
const (
	Kilometres MeterKind = "km"
	Miles      MeterKind = "mi"
	Hours      MeterKind = "h"
)

// A mile is 1.609344 km exactly (international mile, 1959; NIST SP 811).
const kmPerMile = 1.609344

// A Meter is what an odometer or hour meter reads, in hundredths. The kind is
// empty where nobody wrote it.
type Meter struct {
	Hundredths int64
	Kind       MeterKind
}

// MeterOf is the reading of a value, rounded to hundredths.
func MeterOf(value float64, kind MeterKind) Meter {
	return Meter{int64(math.Round(100 * value)), kind}
}

// Value is what the meter reads.
func (m Meter) Value() float64 { return float64(m.Hundredths) / 100 }

// In is what the meter would read if it counted the other kind. It is false
// between hours and a distance, and where a kind is not known.
func (m Meter) In(kind MeterKind) (float64, bool) {
	switch {
	case m.Kind == kind && kind != "":
		return m.Value(), true
	case m.Kind == Kilometres && kind == Miles:
		return m.Value() / kmPerMile, true
	case m.Kind == Miles && kind == Kilometres:
		return m.Value() * kmPerMile, true
	}
	return 0, false
}

// String is the reading with its unit: "24,310 km", "1,203.5 h".
func (m Meter) String() string {
	text := strings.TrimRight(strings.TrimRight(strconv.FormatFloat(m.Value(), 'f', 2, 64), "0"), ".")
	whole, rest, _ := strings.Cut(text, ".")
	for i := len(whole) - 3; i > 0; i -= 3 {
		whole = whole[:i] + "," + whole[i:]
	}
	if rest != "" {
		whole += "." + rest
	}
	if m.Kind != "" {
		whole += " " + string(m.Kind)
	}
	return whole
}

var meterWords = map[string]MeterKind{
	"": "", "km": Kilometres, "kms": Kilometres, "kilometre": Kilometres, "kilometres": Kilometres, "kilometer": Kilometres, "kilometers": Kilometres,
	"mi": Miles, "mile": Miles, "miles": Miles, "mls": Miles,
	"h": Hours, "hr": Hours, "hrs": Hours, "hour": Hours, "hours": Hours,
}

// The forms whose number is understood: 24310 km, 24,310 km, 24.310 km,
// 24 310 km, 24'310, 1203.5 h, 1203,5 h.
var (
	groupedMeter = sync.OnceValue(func() *regexp.Regexp {
		return regexp.MustCompile(`^(\d{1,3}(?:[.,' ]\d{3})+)(?:[.,](\d{1,2}))? *([[:alpha:]]*)\.?$`)
	})
	simpleMeter = sync.OnceValue(func() *regexp.Regexp { return regexp.MustCompile(`^(\d{1,12})(?:[.,](\d{1,2}))? *([[:alpha:]]*)\.?$`) })
)

// ParseMeter reads what a meter reads, as it is written at the bench. It is
// false for a text that is no number, or with an unknown unit.
func ParseMeter(text string) (Meter, bool) {
	text = strings.Join(strings.Fields(text), " ") // no-break spaces too
	part := groupedMeter().FindStringSubmatch(text)
	if part == nil {
		part = simpleMeter().FindStringSubmatch(text)
	}
	if part == nil {
		return Meter{}, false
	}
	whole := strings.Map(func(r rune) rune {
		if r < '0' || r > '9' {
			return -1
		}
		return r
	}, part[1])
	n, err := strconv.ParseInt(whole+(part[2] + "00")[:2], 10, 64)
	kind, known := meterWords[strings.ToLower(part[3])]
	return Meter{n, kind}, err == nil && known
}
