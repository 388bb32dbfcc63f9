package shim

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

func TestImplausibleClearance(t *testing.T) {
	for _, clearance := range []Length{0, 1, mm("0.15"), MaxClearance} {
		for _, unit := range []Unit{MM, IN} {
			assert.NoError(t, ImplausibleClearance(clearance, unit), "%s mm", clearance)
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
		{IN, "6", "; 0.006?"},
		{IN, "10", "; 0.01?"},
		{MM, "9", "; 0.09?"},
		{MM, "12", "; 0.12?"},
		{IN, "-0.002", "<0.002"},
	} {
		clearance, err := c.unit.Parse(c.text)
		require.NoError(t, err)
		err = ImplausibleClearance(clearance, c.unit)
		assert.ErrorContains(t, err, c.text, "%s %s", c.text, c.unit)
		assert.Contains(t, HintOf(err), c.meant, "%s %s", c.text, c.unit)
	}
	assert.NotContains(t, HintOf(ImplausibleClearance(mm("5000"), MM)), "?", "no guess where nothing usual is near")
}

// What was meant is what comes near the valve's limits: 5 is 0.05 where 0.5 is usual
// elsewhere.
func TestImplausibleClearanceByLimits(t *testing.T) {
	for _, c := range []struct {
		unit               Unit
		tight, loose       string
		text, meant, other string
	}{
		{MM, "0.04", "0.08", "5", "; 0.05?", "0.5?"},
		{MM, "0.25", "0.35", "3", "; 0.3?", "0.03?"},
		{MM, "0.12", "0.18", "150", "; 0.15?", "1.5?"},
		{MM, "0.12", "0.18", "4", "; 0.4?", "; 0.04?"}, // near the limits is neither
		{IN, "0.005", "0.007", "6", "; 0.006?", "0.06?"},
		{IN, "0.005", "0.007", "0.15", "millimetres", "; 0.0015?"},
	} {
		length := func(text string) Length {
			l, err := c.unit.Parse(text)
			require.NoError(t, err)
			return l
		}
		err := Limits{length(c.tight), length(c.loose)}.ImplausibleClearance(length(c.text), c.unit)
		require.EqualError(t, err, ImplausibleClearance(length(c.text), c.unit).Error())
		assert.Contains(t, HintOf(err), c.meant, "%s %s", c.text, c.unit)
		assert.NotContains(t, HintOf(err), c.other, "%s %s", c.text, c.unit)
	}
	assert.NoError(t, Limits{40_000, 80_000}.ImplausibleClearance(mm("0.5"), MM))
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
		err := l.ImplausibleReading(c.reading, c.gauge, c.unit)
		assert.Equal(t, c.refused, err != nil, "%+v", c)
		assert.Equal(t, c.refused, HintOf(err) != "", "%+v", c)
	}
}

func TestImplausibleSize(t *testing.T) {
	for _, size := range []Length{MinSize, mm("1.2"), mm("2.675"), mm("10"), MaxSize} {
		for _, unit := range []Unit{MM, IN} {
			assert.NoError(t, ImplausibleSize(size, unit), "%s mm", size)
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
		err = ImplausibleSize(size, c.unit)
		assert.ErrorContains(t, err, c.text, "%s %s", c.text, c.unit)
		assert.Contains(t, HintOf(err), c.meant, "%s %s", c.text, c.unit)
	}
	for _, text := range []string{"0", "-2.5", "90000"} {
		err := ImplausibleSize(mm(text), MM)
		assert.Error(t, err, text)
		assert.NotContains(t, HintOf(err), "?", "%s: no guess where nothing usual is near", text)
	}
}

func TestImplausibleDiameter(t *testing.T) {
	for _, diameter := range []Length{MinDiameter, mm("8.9"), MaxDiameter} {
		assert.NoError(t, ImplausibleDiameter(diameter))
	}
	for _, diameter := range []Length{0, -1, MinDiameter - 1, MaxDiameter + 1} {
		err := ImplausibleDiameter(diameter)
		assert.Error(t, err, "%s mm", diameter)
		assert.NotEmpty(t, HintOf(err))
	}
}

func TestMarksDiffer(t *testing.T) {
	stamp := mm("2.45")
	for mic, differs := range map[Length]bool{
		0: false, stamp: false, mm("2.43"): false, mm("2.401"): false, mm("2.4"): true, mm("2.499"): false, mm("2.5"): true,
	} {
		assert.Equal(t, differs, Marks{stamp, mic}.Differ(), "mic %s mm", mic)
	}
	assert.False(t, Marks{Mic: stamp}.Differ(), "no stamp to differ from")
}
