package walk_test

import (
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"shimwright/shim"
	"shimwright/shim/files"
	"shimwright/shim/walk"
)

// whimbrel is an invented single whose valves are closed by a second follower.
func whimbrel(t *testing.T) *shim.Engine {
	t.Helper()
	e, _, err := files.ReadEngine("whimbrel.toml", strings.NewReader(`
name = "Whimbrel 450 single"
cylinders = 1
firing_order = [1]
[intake]
valves = 1
clearance = [0.10, 0.15]
[intake.closer]
clearance = [0.0, 0.10]
[intake.closer.shims]
diameter = 7
[[intake.closer.shims.catalogue]]
from = 2.5
to = 3.5
step = 0.05
[exhaust]
valves = 1
clearance = [0.10, 0.15]
[shims]
diameter = 8
[[shims.catalogue]]
from = 4.0
to = 5.0
step = 0.05
`))
	require.NoError(t, err)
	return e
}

// A loaded gap at a closer is entered as measured; the opener's comes off, also
// where that is measured again.
func TestLoadedGap(t *testing.T) {
	length := func(text string) shim.Length {
		l, err := shim.MM.Parse(text)
		require.NoError(t, err)
		return l
	}
	d := begin(t, whimbrel(t), nil, walk.Options{Attended: true})
	refused := func(line, with string) {
		t.Helper()
		came := d.types(line)
		require.Len(t, came, 1)
		require.IsType(t, walk.Refused{}, came[0], "%#v", came[0])
		assert.Contains(t, came[0].(walk.Refused).Message, with)
	}
	refused("loaded .16", "in1 is an opener")
	d.types("skip")
	refused("loaded .16", "in1 has no clearance yet")
	d.types("back", ".12")
	refused("loaded .07", "smaller than the clearance of in1")
	refused("loaded >.6", "needs a figure for both gaps")
	d.types("loaded .16")
	closer := func() shim.Length {
		c, measured := d.kept[1].Reading.Estimate()
		require.True(t, measured)
		return c
	}
	assert.Equal(t, "in1.closer", d.kept[1].Valve.String())
	assert.Equal(t, length("0.04"), closer())
	assert.Equal(t, "0.16 less 0.12", d.kept[1].Reading.Format(shim.MM))
	d.types("back", "back", ".13")
	assert.Equal(t, length("0.03"), closer(), "the opener was measured again")
	d.types("back", "back", "<.05")
	assert.Equal(t, shim.Unread, d.kept[1].Reading.Kind, "nothing is left to take off")
}

// A loaded gap is of the shim that the opener had: measured again over another one in a
// later walk, the opener's gap cannot be taken off it.
func TestLoadedGapOverAnotherShim(t *testing.T) {
	dropped := func(came []walk.Event) bool {
		for _, e := range came {
			if _, is := e.(walk.Dropped); is {
				return true
			}
		}
		return false
	}
	for _, build := range []bool{false, true} {
		o := walk.Options{Attended: true, Shims: true, Build: build}
		d := begin(t, whimbrel(t), nil, o)
		d.types(".12", "loaded .16", ".12")
		require.Equal(t, "in1", d.asks())
		d.types("4.5", "back")
		assert.False(t, dropped(d.types("4.6")), "a slip of the hand, put right")
		d.types("3.05", "4.5")
		require.True(t, d.Done())
		first := d.kept

		o.Only = map[int]bool{0: true}
		slip := begin(t, whimbrel(t), first, o)
		slip.types("") // the reading stays
		assert.False(t, dropped(slip.types("4.5")), "put right later: both gaps were measured over it")
		same := begin(t, whimbrel(t), first, o)
		same.types(".10")
		assert.False(t, dropped(same.types("4.6")))
		assert.Equal(t, "0.16 less 0.10", same.kept[1].Reading.Format(shim.MM))

		other := begin(t, whimbrel(t), first, o)
		other.types(".10")
		assert.True(t, dropped(other.types("4.65")))
		assert.Equal(t, shim.Unread, other.of("in1.closer").Reading.Kind)
		assert.Equal(t, d.of("in1.closer").Marks, other.of("in1.closer").Marks, "its shim stays")

		o.Only[1] = true // both gaps again: over whatever shim it is
		both := begin(t, whimbrel(t), first, o)
		both.types(".10", "loaded .15")
		assert.False(t, dropped(both.types("4.65")))
	}
	o := walk.Options{Attended: true, Shims: true, Build: true}
	d := begin(t, whimbrel(t), nil, o)
	d.types(".12", "loaded .16", ".12", "none", "3.05", "4.5")
	o.Only = map[int]bool{0: true}
	d = begin(t, whimbrel(t), d.kept, o)
	d.types(".10")
	assert.True(t, dropped(d.types("4.65")), "measured without a shim before")
}
