package shim_test

import (
	"encoding/json"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"shimwright/shim"
)

// Engines that were kept when there was one unit for all have its number.
func TestUnitPairInJSON(t *testing.T) {
	for pair, want := range map[shim.UnitPair]string{
		shim.MM.Both(): "0", shim.IN.Both(): "1",
		{Clearance: shim.MM, Size: shim.IN}: "2", {Clearance: shim.IN, Size: shim.MM}: "3",
	} {
		data, err := json.Marshal(pair)
		require.NoError(t, err)
		assert.Equal(t, want, string(data))
		var back shim.UnitPair
		require.NoError(t, json.Unmarshal(data, &back))
		assert.Equal(t, pair, back)
	}
	var none shim.UnitPair
	assert.Error(t, json.Unmarshal([]byte("4"), &none))
	assert.Error(t, json.Unmarshal([]byte(`"in"`), &none))
}

// Slips of published manuals, each with what the figure comes to at 25.4 mm an inch:
// Mazda 0.5 mm "0.00197 in"; Kia 1.2 mm "0.472 in"; Ford 0.010 in "0.23 mm".
func TestPublishedSlips(t *testing.T) {
	mm := func(text string) shim.Printed { return shim.Printed{Text: text, Unit: shim.MM} }
	in := func(text string) shim.Printed { return shim.Printed{Text: text, Unit: shim.IN} }
	for _, c := range []struct {
		one, other shim.Printed
		right      string
		tenfold    bool
	}{
		{mm("0.5"), in("0.00197"), "0.01969", true},
		{mm("1.2"), in("0.472"), "0.0472", true},
		{in("0.010"), mm("0.23"), "0.254", false},
	} {
		right, slip, differ := c.one.Slip(c.other)
		assert.True(t, differ, c)
		assert.Equal(t, c.right, right, c)
		assert.Equal(t, c.tenfold, slip != "", c)
		_, _, differ = c.other.Slip(c.one)
		assert.True(t, differ, "%v the other way round", c)
	}
	// Rounded to the nearest last digit: 0.004 in are 0.1016 mm, 0.14 mm are 0.00551 in.
	for _, c := range [][2]shim.Printed{{mm("0.10"), in("0.004")}, {mm("0.14"), in("0.0055")}, {mm("0.15"), in("0.006")}, {in("0.010"), mm("0.25")}, {in("0.010"), mm("0.254")}} {
		_, _, differ := c[0].Slip(c[1])
		assert.False(t, differ, c)
	}
	_, slip, differ := mm("0.15").Slip(in("0.15"))
	assert.True(t, differ)
	assert.NotEmpty(t, slip, "not turned over")
}
