package report

import (
	"testing"

	"github.com/stretchr/testify/assert"

	"shimwright/shim"
)

// Converted limits are rounded towards each other (a Mazda service manual, on
// its units); 1 in = 25.4 mm exactly (NIST SP 811).
func TestFiguresInTheOtherUnit(t *testing.T) {
	metric := shim.Limits{Tight: 110_000, Loose: 190_000}
	inch := shim.Limits{Tight: 152_400, Loose: 203_200} // .006 to .008 in
	assert.Equal(t, "0.11-0.19", Limits(shim.MM, metric))
	assert.Equal(t, ".0044-.0074", Limits(shim.IN, metric))
	assert.Equal(t, ".006-.008", Limits(shim.IN, inch))
	assert.Equal(t, "0.153-0.203", Limits(shim.MM, inch))

	for _, c := range []struct {
		unit      shim.Unit
		limits    shim.Limits
		clearance shim.Length
		want      string
		room      string
	}{
		{shim.IN, metric, 110_000, ".0044", ".0000"}, // .00433 would read as tight
		{shim.IN, metric, 109_999, ".0043", "-.0001"},
		{shim.IN, metric, 190_000, ".0074", ".0000"},
		{shim.IN, metric, 190_001, ".0075", "-.0001"},
		{shim.IN, metric, 170_000, ".0067", ".0007"},
		{shim.MM, inch, 203_200, "0.203", "0.000"}, // 0.2032
		{shim.MM, inch, 203_201, "0.204", "-0.001"},
		{shim.MM, inch, 152_399, "0.152", "-0.001"},
		{shim.MM, metric, 110_000, "0.110", "0.000"},
		{shim.MM, metric, 109_950, "0.1099", "-0.0001"},
	} {
		assert.Equal(t, c.want, clearance(c.unit, c.limits, c.clearance), "%d nm in %s", int64(c.clearance), c.unit)
		assert.Equal(t, c.room, room(c.unit, c.limits, c.clearance), "room of %d nm in %s", int64(c.clearance), c.unit)
	}

	for _, c := range []struct {
		unit    shim.Unit
		reading shim.Reading
		want    string
	}{
		{shim.MM, shim.Reading{Kind: shim.Bracket, Low: 150_000, High: 180_000}, "0.15-0.18"},
		{shim.IN, shim.Reading{Kind: shim.Bracket, Low: 310_000, High: 330_000}, ".0122-.0130"},
		{shim.IN, shim.ReadingOf(110_000), ".0044"},
		{shim.IN, shim.Reading{Kind: shim.Below, High: 50_000}, "<.0020"},
		{shim.IN, shim.Reading{Kind: shim.Above, Low: 600_000}, ">.0236"},
		{shim.IN, shim.Reading{}, ""},
	} {
		assert.Equal(t, c.want, Reading(c.unit, metric, c.reading), "%+v in %s", c.reading, c.unit)
	}

	for _, c := range []struct {
		unit shim.Unit
		size shim.Length
		want string
	}{
		{shim.MM, 2_450_000, "2.450"}, {shim.MM, 2_448_560, "2.44856"}, {shim.IN, 2_448_560, ".0964"},
		{shim.IN, 2_700_000, ".10630"}, {shim.IN, 2_650_000, ".10433"}, {shim.IN, 25_400_000, "1.0000"},
	} {
		assert.Equal(t, c.want, size(c.unit, c.size), "%d nm in %s", int64(c.size), c.unit)
	}
}
