package wear

import (
	"math"
	"math/rand/v2"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"gonum.org/v1/gonum/stat/distuv"

	"shimwright/shim"
)

// The band of drawn machines is that of the same machines' normal mixture, worked
// out with the distribution function instead of draws of the scatter.
func TestBandHoldsNineInTen(t *testing.T) {
	s := source{rand.New(rand.NewPCG(13, 4))}
	series := checked(s, 4, newEngine(s))
	m, err := Fit(series)
	require.NoError(t, err)
	f := m.Forecast()
	last := series.Meters[3]
	for k, v := range m.valves {
		for _, ahead := range []float64{0, 0.5, 1.2} {
			low, high, known := f.Band(v.Valve, last+ahead*series.Unit)
			require.True(t, known)
			below, above := 0.0, 0.0
			for _, valves := range f.draws {
				l := valves[k]
				mean, sd := l.clearance-l.rate*ahead, l.scatter*math.Sqrt(ahead)
				if sd == 0 {
					sd = 1e-9
				}
				below += distuv.UnitNormal.CDF((um(low) - mean) / sd)
				above += 1 - distuv.UnitNormal.CDF((um(high)-mean)/sd)
			}
			n := float64(len(f.draws))
			assert.InDelta(t, 0.05, below/n, 0.015, "%s below at %g", v.Valve, ahead)
			assert.InDelta(t, 0.05, above/n, 0.015, "%s above at %g", v.Valve, ahead)
		}
	}
	again, _, _ := f.Band(m.valves[0].Valve, last+series.Unit)
	same, _, _ := f.Band(m.valves[0].Valve, last+series.Unit)
	assert.Equal(t, again, same)
	_, _, known := f.Band(nameOf(3), math.Inf(1))
	assert.False(t, known)
	_, _, known = f.Band(shim.Valve{Cylinder: 9}, last)
	assert.False(t, known)
}

// A changed shim leaves no step: the stack less the shim in now.
func TestChartsRunOnOverChangedShims(t *testing.T) {
	s := source{rand.New(rand.NewPCG(13, 5))}
	series := checked(s, 3, newEngine(s))
	v := &series.Valves[0]
	v.Discs = []Disc{{Fill: 2_000_000}, {Fill: 2_050_000}}
	v.Readings = []Reading{{Check: 0, Stack: 2_150_000, Doubt: 1000}, {Check: 0, Stack: 2_150_000, Doubt: 1000, Shim: 1}, {Check: 1, Stack: 2_140_000, Doubt: 1000, Shim: 1}}
	m, err := Fit(series)
	require.NoError(t, err)
	f := m.Forecast()
	c := series.Charts(&f, series.Meters[2]+series.Unit)[0]
	require.Len(t, c.Points, 3)
	assert.EqualValues(t, 100_000, c.Points[0].Clearance)
	assert.True(t, c.Points[0].Other)
	assert.EqualValues(t, 100_000, c.Points[1].Clearance)
	assert.False(t, c.Points[1].Other)
	assert.EqualValues(t, 90_000, c.Points[2].Clearance)
	require.Len(t, c.Band, bandSteps+1)
	assert.Less(t, c.Band[0].High-c.Band[0].Low, c.Band[bandSteps].High-c.Band[bandSteps].Low, "the band widens")
	assert.Empty(t, series.Charts(nil, 0)[0].Band)
}
