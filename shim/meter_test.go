package shim

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

func TestParseMeter(t *testing.T) {
	for text, want := range map[string]Meter{
		"24310 km": {2431000, Kilometres}, "24,310 km": {2431000, Kilometres}, "24.310 Kilometers": {2431000, Kilometres},
		"24 310": {2431000, ""}, "24'310km.": {2431000, Kilometres}, "1203.5 h": {120350, Hours}, "1203,5 hrs": {120350, Hours},
		"15,106 miles": {1510600, Miles}, "0 mi": {0, Miles}, "1,203.45 h": {120345, Hours},
	} {
		m, known := ParseMeter(text)
		require.True(t, known, text)
		assert.Equal(t, want, m, text)
		again, known := ParseMeter(m.String())
		assert.True(t, known && again == m, "%s read back", m)
	}
	for _, text := range []string{"", "km", "new clock", "24,31,0 km", "12 parsecs", "-3 km", "99999999999999999999 km"} {
		_, known := ParseMeter(text)
		assert.False(t, known, text)
	}
	assert.Equal(t, "1,234,567.5 h", Meter{123456750, Hours}.String())
}

func TestMeterIn(t *testing.T) {
	mi, known := Meter{160934400, Kilometres}.In(Miles)
	assert.True(t, known)
	assert.InDelta(t, 1e6, mi, 1e-6)
	_, known = Meter{1, Hours}.In(Kilometres)
	assert.False(t, known)
	_, known = Meter{1, ""}.In("")
	assert.False(t, known)
}
