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
