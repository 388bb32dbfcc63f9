package main

import (
	"testing"

	"github.com/stretchr/testify/assert"

	"shimwright/shim"
)

func TestParsePieces(t *testing.T) {
	for _, c := range []struct {
		text  string
		unit  shim.Unit
		size  string // mm
		count int
		told  bool
	}{
		{"2.4", shim.MM, "2.4", 1, false},
		{"2.400x3", shim.MM, "2.4", 3, true},
		{"2,425X12", shim.MM, "2.425", 12, true},
		{"2.5×1", shim.MM, "2.5", 1, true},
		{" 2.5 x 0 ", shim.MM, "2.5", 0, true},
		{".1000x2", shim.IN, "2.54", 2, true},
		{"2.4mm", shim.IN, "2.4", 1, false},
		{"2,4 mm x 3", shim.IN, "2.4", 3, true},
		{".1000inx2", shim.MM, "2.54", 2, true},
		{`.1000"`, shim.MM, "2.54", 1, false},
	} {
		p, err := parsePieces(c.text, c.unit)
		if assert.NoError(t, err, c.text) {
			assert.Equal(t, c.size, p.Size.String(), c.text)
			assert.Equal(t, c.count, p.count, c.text)
			assert.Equal(t, c.told, p.told, c.text)
		}
	}
	label, err := parsePieces("2.425;8.9", shim.IN)
	if assert.NoError(t, err, "a label is in mm whatever the unit") {
		assert.Equal(t, []string{"2.425", "8.9"}, []string{label.Size.String(), label.Diameter.String()})
	}
	for text, count := range map[string]int{"2.900;7; Exhaust Closer": 1, "2.900;7;exhaust closerx12": 12, "2.900;7;exhaust closer × 3": 3} {
		label, err = parsePieces(text, shim.MM)
		if assert.NoError(t, err, text) {
			assert.Equal(t, shim.Family{Kind: "exhaust closer", Diameter: 7 * shim.Millimetre}.Of(2900*shim.Micrometre), label.Disc, text)
			assert.Equal(t, count, label.count, text)
		}
	}
	for _, text := range []string{"2.425;", ";8.9", "2.425;8.9;1", "2.425;8.9;", "2.425;8.9;x2", "2.425;8.9;a;b", "2.425;;closer", "2.425;x", "", "x", "x3", "2.4x", "2.4x-1", "2.4x1.5", "2.4x3x3", "2.4x99999999999999999999", "24.5", "0.24", "2.4.1", "-2.4", "2.4ft", "2.4mm mm", "mm", "2.4in", "1e3", "2.40000001"} {
		_, err := parsePieces(text, shim.MM)
		assert.ErrorIs(t, err, errUsage, "%q", text)
		assert.NotEmpty(t, shim.HintOf(err), "%q has a way out: %v", text, err)
	}
}

// FuzzParsePieces: whatever is typed gives pieces that can be, or a usage error.
func FuzzParsePieces(f *testing.F) {
	f.Add("2.400x3", false)
	f.Add(".0945×2", true)
	f.Add("2,4x", false)
	f.Fuzz(func(t *testing.T, text string, inches bool) {
		u := shim.MM
		if inches {
			u = shim.IN
		}
		p, err := parsePieces(text, u)
		if err != nil {
			assert.ErrorIs(t, err, errUsage, "%q", text)
			return
		}
		assert.GreaterOrEqual(t, p.count, 0, "%q", text)
		assert.True(t, shim.MinSize <= p.Size && p.Size <= shim.MaxSize, "%q: %s", text, p.Size)
	})
}

// TestInchesMeanWhatIsThere: no decimal of an inch is exactly 8.9 mm.
func TestInchesMeanWhatIsThere(t *testing.T) {
	disc := 8900 * shim.Micrometre
	typed, err := parseDiameter(".35039", shim.IN)
	assert.NoError(t, err)
	assert.NotEqual(t, disc, typed)
	got, found := snap([]shim.Length{7500 * shim.Micrometre, disc}, typed, shim.IN)
	assert.True(t, found)
	assert.Equal(t, disc, got)
	_, found = snap([]shim.Length{disc}, disc+1, shim.MM)
	assert.False(t, found, "mm are exact")
	got, found = snap([]shim.Length{disc}, 0, shim.MM)
	assert.False(t, found)
	assert.Zero(t, got, "0 is any")
}
