package crank

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"shimwright/shim"
)

func TestMark(t *testing.T) {
	e := &shim.Engine{Name: "three", Cylinders: 3, FiringOrder: []int{1, 3, 2}, Intake: shim.Train{Valves: 1}}
	c, err := newCycle(e)
	require.NoError(t, err)
	for degrees, want := range map[float64]string{
		0:      "firing TDC of cylinder 1",
		240:    "firing TDC of cylinder 3",
		120:    "TDC of cylinder 2 between its exhaust and intake strokes",
		600:    "TDC of cylinder 3 between its exhaust and intake strokes",
		90:     "90° past the firing TDC of cylinder 1",
		262.5:  "22.5° past the firing TDC of cylinder 3",
		719.75: "239.75° past the firing TDC of cylinder 2",
	} {
		assert.Equal(t, want, c.mark(c.angle(degrees)), "%g degrees", degrees)
	}
}
