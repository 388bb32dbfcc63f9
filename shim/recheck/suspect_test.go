package recheck

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"shimwright/shim"
)

// four is an invented engine of eight valves and a check of it without a fault.
func four() (*shim.Engine, []shim.Measurement) {
	e := &shim.Engine{
		Name: "invented four", Cylinders: 4,
		Intake:    shim.Train{Valves: 1, Limits: shim.Limits{Tight: 140_000, Loose: 210_000}, Ratio: shim.Ratio{Times: shim.One}},
		Exhaust:   shim.Train{Valves: 1, Limits: shim.Limits{Tight: 200_000, Loose: 270_000}, Ratio: shim.Ratio{Times: shim.One}},
		Catalogue: []shim.Range{{From: 1_200_000, To: 3_000_000, Step: 25_000}},
	}
	var check []shim.Measurement
	for i, v := range e.Valves() {
		c := 160 * micrometre
		if v.Side == shim.Exhaust {
			c = 230 * micrometre
		}
		check = append(check, shim.Measurement{
			Valve:   v,
			Reading: shim.ReadingOf(c + shim.Length(i%3)*10*micrometre),
			Marks:   shim.Marks{Stamp: 2400*micrometre + shim.Length(i%4)*25*micrometre},
		})
	}
	return e, check
}

func TestSoundCheck(t *testing.T) {
	e, check := four()
	_, last := four()
	assert.Empty(t, Suspects(e, check, last, UsualRules))
	assert.Empty(t, Suspects(e, check, nil, UsualRules))
	assert.Empty(t, Suspects(e, nil, last, UsualRules))
	assert.Empty(t, Suspects(e, check[:2], nil, UsualRules))
}

func TestSuspects(t *testing.T) {
	below := func(l shim.Length) shim.Reading { return shim.Reading{Kind: shim.Below, High: l} }
	above := func(l shim.Length) shim.Reading { return shim.Reading{Kind: shim.Above, Low: l} }
	for name, c := range map[string]struct {
		change func(m *shim.Measurement)
		want   []Reason
	}{
		"slipped digit":              {func(m *shim.Measurement) { m.Reading = shim.ReadingOf(610_000) }, []Reason{FarClearance}},
		"thinnest leaf does not go":  {func(m *shim.Measurement) { m.Reading = below(30_000) }, []Reason{FarClearance}},
		"a leaf that says little":    {func(m *shim.Measurement) { m.Reading = below(300_000) }, nil},
		"thickest leaf falls":        {func(m *shim.Measurement) { m.Reading = above(600_000) }, []Reason{FarClearance}},
		"unread":                     {func(m *shim.Measurement) { m.Reading = shim.Reading{} }, nil},
		"no shim":                    {func(m *shim.Measurement) { m.Stamp = 0 }, nil},
		"stamp between sizes":        {func(m *shim.Measurement) { m.Stamp = 2_410_000 }, []Reason{NoSuchSize}},
		"stamp off the catalogue":    {func(m *shim.Measurement) { m.Stamp = 3_025_000 }, []Reason{FarSize, NoSuchSize}},
		"thinner than any":           {func(m *shim.Measurement) { m.Stamp = 1_100_000 }, []Reason{FarSize, NoSuchSize}},
		"far from its siblings":      {func(m *shim.Measurement) { m.Stamp = 1_900_000 }, []Reason{FarSize}},
		"worn shim":                  {func(m *shim.Measurement) { m.Mic = m.Stamp - shim.WornApart + 1 }, nil},
		"mark lies":                  {func(m *shim.Measurement) { m.Mic = m.Stamp - shim.WornApart }, []Reason{MarkDiffers}},
		"mic only, between sizes":    {func(m *shim.Measurement) { m.Mic, m.Stamp = 2_412_000, 0 }, nil},
		"mic only, above every size": {func(m *shim.Measurement) { m.Mic, m.Stamp = 3_030_000, 0 }, []Reason{FarSize, NoSuchSize}},
	} {
		e, check := four()
		m := &check[4]
		c.change(m)
		var got []Reason
		for _, s := range Suspects(e, check, nil, UsualRules) {
			assert.Equal(t, m.Valve, s.Valve, name)
			assert.NotEmpty(t, s.WhatIn(shim.MM), name)
			assert.NotEmpty(t, s.Hint(), name)
			got = append(got, s.Reason)
		}
		assert.Equal(t, c.want, got, name)
	}
}

// TestABoundIsNoFigure: a leaf that does not go, or falls through, is named as
// the bound that it is.
func TestABoundIsNoFigure(t *testing.T) {
	for want, reading := range map[string]shim.Reading{
		"clearance below 0.03 mm,": {Kind: shim.Below, High: 30_000},
		"clearance above 0.60 mm,": {Kind: shim.Above, Low: 600_000},
		"clearance 0.61 mm,":       shim.ReadingOf(610_000),
	} {
		e, check := four()
		check[4].Reading = reading
		found := Suspects(e, check, nil, UsualRules)
		require.Len(t, found, 1, want)
		assert.Contains(t, found[0].WhatIn(shim.MM), want)
	}
}

func TestMovedStack(t *testing.T) {
	for _, c := range []struct {
		ratio shim.Ratio
		by    shim.Length // of the clearance, the shim staying
		want  bool
	}{
		{shim.Ratio{Times: shim.One}, -100_000, false},
		{shim.Ratio{Times: shim.One}, -150_000, true},
		{shim.Ratio{Times: shim.One}, 50_000, false},
		{shim.Ratio{Times: shim.One}, 110_000, true},
	} {
		e, last := four()
		e.Intake.Ratio, e.Exhaust.Ratio = c.ratio, c.ratio
		_, check := four()
		// A new shim and its change of clearance leave the stack alone.
		check[2].Stamp += 25_000
		old, _ := last[2].Reading.Estimate()
		last[2].Reading = shim.ReadingOf(old + 100_000)
		check[2].Reading = shim.ReadingOf(old + 100_000 - c.ratio.Of(25_000) + c.by)
		var moved []Suspicion
		for _, s := range Suspects(e, check, last, UsualRules) {
			if s.Reason == Moved {
				moved = append(moved, s)
			}
		}
		require.Equal(t, c.want, len(moved) == 1, "%+v gives %v", c, moved)
		if c.want {
			assert.Equal(t, c.by, moved[0].Value)
			assert.Greater(t, c.by.Abs(), moved[0].Bound)
		}
	}
}

// Values by hand: median 170, absolute deviations 0 to 40 with median 10.
func TestTypical(t *testing.T) {
	values := []shim.Length{170, 160, 180, 170, 210}
	median, bound, enough := UsualRules.typical(values, 1)
	require.True(t, enough)
	assert.Equal(t, shim.Length(170), median)
	assert.Equal(t, shim.Length(51), bound, "3.5 times 1.4826 times 10")
	_, _, enough = UsualRules.typical(values[:2], 1)
	assert.False(t, enough)
}

func TestWhatInInches(t *testing.T) {
	s := Suspicion{Reason: Moved, Value: -254_000, Bound: 25_400}
	assert.Equal(t, "0.010 in tighter than at the last check, wear explains 0.001", s.WhatIn(shim.IN))
}
