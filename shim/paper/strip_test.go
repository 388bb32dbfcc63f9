package paper

import (
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"shimwright/shim"
)

// The limits take the middle third of a strip, whatever they are; what is
// further out stays inside the strip and is known to be out.
func TestScale(t *testing.T) {
	const um = shim.Micrometre
	s := scale{shim.Limits{Tight: 140 * um, Loose: 200 * um}}
	for clearance, want := range map[shim.Length]float64{
		140 * um: stripWidth / 3,
		170 * um: stripWidth / 2,
		200 * um: stripWidth * 2 / 3,
		110 * um: stripWidth / 6,
	} {
		x, inside := s.at(clearance)
		assert.InDelta(t, want, x, 1e-9, "%s", clearance)
		assert.True(t, inside, "%s", clearance)
	}
	before := 0.0
	for c := shim.Length(0); c <= shim.MaxClearance; c += 7 * um {
		x, _ := s.at(c)
		require.GreaterOrEqual(t, x, before, "%s", c)
		require.LessOrEqual(t, x, stripWidth, "%s", c)
		before = x
	}
	_, inside := s.at(0)
	assert.False(t, inside)
	_, inside = s.at(shim.MaxClearance)
	assert.False(t, inside)
}

// A strip shows each kind of reading in a shape of its own.
func TestStripShapes(t *testing.T) {
	const um = shim.Micrometre
	e := engineOf("invented", 1, 1, 1, 1, shim.MM)
	for name, c := range map[string]struct {
		reading shim.Reading
		shapes  string // classes in the upper lane and below, without the grounds
		words   string
	}{
		"single":    {shim.ReadingOf(100 * um), "hollow doubt doubt doubt ink", "Found: 0.10, TIGHT"},
		"bracket":   {shim.Reading{Kind: shim.Bracket, Low: 150 * um, High: 180 * um}, "hollow doubt doubt doubt ink", "Found: 0.15-0.18, ok"},
		"below":     {shim.Reading{Kind: shim.Below, High: 100 * um}, "doubt doubt ink", "Found: <0.10, no figure"},
		"above":     {shim.Reading{Kind: shim.Above, Low: 250 * um}, "doubt doubt ink", "Found: >0.25, no figure"},
		"far tight": {shim.Reading{Kind: shim.Below, High: 50 * um}, "ink", "Found: <0.05, no figure"},
		"far loose": {shim.Reading{Kind: shim.Above, Low: 600 * um}, "ink", "Found: >0.60, no figure"},
		"far out":   {shim.ReadingOf(790 * um), "ink doubt doubt doubt ink", "Found: 0.79, LOOSE"},
		"unread":    {shim.Reading{}, "", "Found: nothing, no figure"},
		"straddle":  {shim.Reading{Kind: shim.Bracket, Low: 10 * um, High: 190 * um}, "hollow ink doubt doubt doubt ink", "Found: 0.01-0.19, TIGHT"},
	} {
		t.Run(name, func(t *testing.T) {
			check := []shim.Measurement{
				{Valve: e.Valves()[0], Marks: shim.Marks{Stamp: 2400 * um}, Reading: c.reading},
				{Valve: e.Valves()[1], Marks: shim.Marks{Stamp: 2400 * um}, Reading: shim.ReadingOf(230 * um)},
			}
			p := planOf(t, jobOf(e, check))
			j := &p.Jobs[0]
			v := &j.Valves[0]
			d := strip("x", j, &valveRow{Name: "in1", Found: c.reading.Format(shim.MM), valve: v})
			var classes []string
			for _, s := range d.Shapes[5:] {
				classes = append(classes, s.Class)
			}
			assert.Equal(t, c.shapes, strings.Join(classes, " "))
			assert.Contains(t, d.Desc, c.words)
			assert.Equal(t, v.Measured, strings.Contains(d.Desc, "To expect"))
		})
	}
}
