package shim

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

func TestImplausibleClearance(t *testing.T) {
	for _, clearance := range []Length{0, 1, mm("0.15"), MaxClearance} {
		for _, unit := range []Unit{MM, IN} {
			problem, hint := ImplausibleClearance(clearance, unit)
			assert.Empty(t, problem+hint, "%s mm", clearance)
		}
	}
	for _, c := range []struct {
		unit        Unit
		text, meant string // meant is in the hint
	}{
		{MM, "1.5", "0.15"},
		{MM, "15", "0.15"},
		{MM, "1.000001", "0.1"},
		{MM, "-0.05", "<0.05"},
		{IN, "0.06", "0.006"},
		{IN, "6", "millimetres"},
		{IN, "-0.002", "<0.002"},
	} {
		clearance, err := c.unit.Parse(c.text)
		require.NoError(t, err)
		problem, hint := ImplausibleClearance(clearance, c.unit)
		assert.Contains(t, problem, c.text, "%s %s", c.text, c.unit)
		assert.Contains(t, hint, c.meant, "%s %s", c.text, c.unit)
	}
	_, hint := ImplausibleClearance(mm("5000"), MM)
	assert.NotContains(t, hint, "?", "no guess where nothing usual is near")
}

// What can be is judged by the limits and the gauge, not by a bound for all.
func TestImplausibleReading(t *testing.T) {
	fine := UsualGauge
	fine.Step = 10 * Micrometre
	bracket := func(low, high string) Reading { return Reading{Kind: Bracket, Low: mm(low), High: mm(high)} }
	for _, c := range []struct {
		tight, loose string
		reading      Reading
		gauge        Gauge
		unit         Unit
		refused      bool
	}{
		{"0.14", "0.21", ReadingOf(0), UsualGauge, MM, true},
		{"0.14", "0.21", ReadingOf(0), UsualGauge, IN, true},
		{"0.14", "0.21", bracket("0", "0.05"), UsualGauge, MM, true},
		{"0.01", "0.05", ReadingOf(0), UsualGauge, MM, true},
		{"0", "0.05", ReadingOf(0), UsualGauge, MM, false},
		{"0", "0.05", bracket("0", "0.02"), UsualGauge, MM, false},
		{"0.14", "0.21", Reading{Kind: Below, High: mm("0.05")}, UsualGauge, MM, false},
		{"0.14", "0.21", ReadingOf(mm("0.005")), UsualGauge, MM, true},  // 0.127 mm
		{"0.14", "0.21", ReadingOf(mm("0.005")), UsualGauge, IN, false}, // a length like another
		{"0.14", "0.21", ReadingOf(mm("0.02")), UsualGauge, MM, false},  // the thinnest leaf of many sets
		{"0.14", "0.21", ReadingOf(mm("0.01")), fine, MM, false},
		{"0.01", "0.05", ReadingOf(mm("0.01")), UsualGauge, MM, false}, // closers, common practice
		{"0.02", "0.06", ReadingOf(mm("0.01")), UsualGauge, MM, false}, // 0.254 mm is no closer's
	} {
		l := Limits{Tight: mm(c.tight), Loose: mm(c.loose)}
		problem, hint := l.ImplausibleReading(c.reading, c.gauge, c.unit)
		assert.Equal(t, c.refused, problem != "", "%+v", c)
		assert.Equal(t, c.refused, hint != "", "%+v", c)
	}
}

func TestImplausibleSize(t *testing.T) {
	for _, size := range []Length{MinSize, mm("1.2"), mm("2.675"), mm("10"), MaxSize} {
		for _, unit := range []Unit{MM, IN} {
			problem, hint := ImplausibleSize(size, unit)
			assert.Empty(t, problem+hint, "%s mm", size)
		}
	}
	for _, c := range []struct {
		unit        Unit
		text, meant string // meant is in the hint
	}{
		{MM, "0.11", "inches"}, // 2.794 mm
		{MM, "26.75", "2.675?"},
		{MM, "267.5", "2.675?"},
		{MM, "2675", "2.675?"},
		{MM, "0.4", "; 4?"}, // as inches 10.16 mm, which is not usual
		{IN, "2.8", "mm in a file"},
		{IN, "11", "0.11?"},
		{IN, "0.011", "0.11?"},
	} {
		size, err := c.unit.Parse(c.text)
		require.NoError(t, err)
		problem, hint := ImplausibleSize(size, c.unit)
		assert.Contains(t, problem, c.text, "%s %s", c.text, c.unit)
		assert.Contains(t, hint, c.meant, "%s %s", c.text, c.unit)
	}
	for _, text := range []string{"0", "-2.5", "90000"} {
		problem, hint := ImplausibleSize(mm(text), MM)
		assert.NotEmpty(t, problem, text)
		assert.NotContains(t, hint, "?", "%s: no guess where nothing usual is near", text)
	}
}
