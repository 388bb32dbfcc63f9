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
		{IN, "-0.002", "<0.00197"},
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
