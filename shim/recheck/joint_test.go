package recheck

import (
	"math"
	"math/rand/v2"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"shimwright/shim"
	"shimwright/shim/doubt"
)

// TestJointAgainstSampling holds the joint density of two valves that share a
// shim, or a leaf, against one that is sampled from the errors themselves: the
// last rectangle of each valve's error is taken exactly, the rest is drawn. The
// copula is within a tenth of it wherever the density is a tenth of its peak or
// more; valves taken for independent are off by up to a half.
func TestJointAgainstSampling(t *testing.T) {
	const draws = 100_000
	gauge := shim.Gauge{Step: 20_000, Leaf: 8_000, Stamp: 10_000}
	model := doubt.Model{Gauge: gauge}
	e := shim.Engine{Cylinders: 1, Intake: shim.Train{Valves: 1}, Exhaust: shim.Train{Valves: 1}}
	names := e.Valves()
	even := shim.Ratio{Times: shim.One}
	for _, c := range []struct {
		name       string
		shim, leaf bool
	}{{"shim", true, false}, {"leaf", false, true}, {"both", true, true}} {
		random := rand.New(rand.NewPCG(7, 1))
		off := func(half float64) float64 { return (2*random.Float64() - 1) * half }
		// What is drawn at once for all places: both errors but for the width of
		// the second reading.
		var drawn [draws][2]float64
		for i := range drawn {
			moved, after := off(10_000), off(8_000)
			for k, sign := range []float64{1, -1} {
				d := off(10_000) - off(8_000) + off(10_000) // step and leaf of the first reading, a shim
				if c.shim {
					d += sign * moved
				} else {
					d += off(10_000)
				}
				if c.leaf {
					d += after
				} else {
					d += off(8_000)
				}
				drawn[i][k] = d
			}
		}
		worst, alone, peak := 0.0, 0.0, 0.0
		for _, place := range [][2]float64{{0, 0}, {10e3, 10e3}, {10e3, -10e3}, {20e3, 20e3}, {20e3, -20e3}, {-20e3, 20e3}, {25e3, -5e3}, {30e3, -15e3}, {20e3, 10e3}} {
			var refits []Refit
			for i := range 2 {
				r := Refit{Valve: names[i], Expected: 200_000, Ratio: even, Size: 2_500_000, Before: 2_400_000, Out: true,
					First: shim.ReadingOf(shim.Length(100_000 + 20_000*i)), Reading: shim.ReadingOf(200_000 + shim.Length(place[i]))}
				r.Error = model.Difference(doubt.Parts{Reading: r.First, Ratio: even}, r.Reading)
				refits = append(refits, r)
			}
			if c.shim {
				refits[1].From = names[0]
			}
			a := Usual
			a.Gauge = gauge
			valves := measured(refits, a)
			require.Len(t, valves, 2)
			if c.leaf { // one leaf, whatever it is marked with
				valves[0].Reading.Low, valves[1].Reading.Low = 200_000, 200_000
			}
			known := map[shim.Valve]bool{names[0]: true, names[1]: true}
			ln := candidate{shift: make([]float64, 2)}.tie(valves, gauge, known)
			own := valves[0].fit(0) * valves[1].fit(0)
			sampled := 0.0
			for _, d := range drawn {
				if math.Abs(place[0]-d[0]) < 10_000 && math.Abs(place[1]-d[1]) < 10_000 {
					sampled += 1.0 / (20_000 * 20_000) / draws
				}
			}
			peak = max(peak, sampled)
			t.Logf("%s at %v: sampled %.3g, joint %.3g, as if independent %.3g", c.name, place, sampled, own*math.Exp(ln), own)
			if sampled >= peak/10 {
				worst = max(worst, math.Abs(math.Log(own*math.Exp(ln)/sampled)))
				alone = max(alone, math.Abs(math.Log(own/sampled)))
			}
		}
		t.Logf("%s: off by at most a factor %.3f, as if independent %.3f", c.name, math.Exp(worst), math.Exp(alone))
		assert.Less(t, worst, math.Log(1.1), c.name)
		if c.shim != c.leaf {
			assert.Greater(t, alone, 2*worst, c.name)
		}
	}
}
