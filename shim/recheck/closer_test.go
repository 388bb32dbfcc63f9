package recheck

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"shimwright/shim"
)

// Wear of a seat takes from the opener what it gives to the closer: the two
// stacks move, their sum does not (st3slife.blogspot.com, June 2010, and
// geometry). So a closer may open as far as an opener may close, and the sum is
// watched.
func TestCloserWear(t *testing.T) {
	const um = shim.Micrometre
	side := shim.Train{Valves: 1, Limits: shim.Limits{Tight: 100 * um, Loose: 300 * um}, AimAt: shim.One / 2, Ratio: shim.Ratio{Times: shim.One}}
	side.Closer = &shim.Closer{Limits: shim.Limits{Tight: 0, Loose: 200 * um}, AimAt: shim.One / 2, Ratio: shim.Ratio{Times: shim.One}, Family: shim.Family{Kind: "closer", Diameter: 7000 * um}}
	e := &shim.Engine{Name: "Whimbrel", Cylinders: 1, Intake: side, Diameter: 8000 * um}
	require.Empty(t, e.Validate())
	check := func(opener, closer shim.Length) []shim.Measurement {
		v := e.Valves()
		require.Len(t, v, 2)
		return []shim.Measurement{
			{Valve: v[0], Reading: shim.ReadingOf(opener), Marks: shim.Marks{Mic: 2500 * um}},
			{Valve: v[1], Reading: shim.ReadingOf(closer), Marks: shim.Marks{Mic: 3000 * um}},
		}
	}
	last := check(250*um, 50*um)
	for _, c := range []struct {
		name           string
		opener, closer shim.Length
		want           []Reason
	}{
		{"nothing moved", 250, 50, nil},
		{"the seat receded by 0.10", 150, 150, nil},
		{"the closer opened alone", 250, 140, []Reason{SumMoved}},
		{"the opener opened alone by a little", 285, 50, nil},
		{"the closer tightened alone", 250, 0, []Reason{SumMoved}},
		{"the seat came up", 370, -70, []Reason{Moved, Moved}},
	} {
		var got []Reason
		for _, s := range Suspects(e, check(c.opener*um, c.closer*um), last, UsualRules) {
			got = append(got, s.Reason)
			if s.Reason == SumMoved {
				assert.True(t, s.Valve.Closer, c.name)
				assert.Equal(t, (c.opener-250+c.closer-50)*um, s.Value, c.name)
			}
		}
		assert.ElementsMatch(t, c.want, got, c.name)
	}
}
