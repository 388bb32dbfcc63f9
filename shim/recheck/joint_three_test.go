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

// TestJointOfThree holds the joint density of three valves against one sampled
// from the errors themselves, with what the test of two leaves out: brackets
// before and after, leaves shared between first and second readings, shims passed
// on from valve to valve, miked ones among them, and two shims exchanged.
func TestJointOfThree(t *testing.T) {
	const draws = 400_000
	gauge := shim.Gauge{Step: 20_000, Leaf: 8_000, Stamp: 10_000, Mic: 2_000}
	model := doubt.Model{Gauge: gauge}
	e := shim.Engine{Cylinders: 1, Intake: shim.Train{Valves: 2}, Exhaust: shim.Train{Valves: 1}}
	names := e.Valves()
	even := shim.Ratio{Times: shim.One}
	between := func(low, high shim.Length) shim.Reading {
		return shim.Reading{Kind: shim.Bracket, Low: low, High: high}
	}
	first := []shim.Reading{between(100_000, 120_000), shim.ReadingOf(120_000), shim.ReadingOf(100_000)}
	after := []shim.Reading{shim.ReadingOf(200_000), between(200_000, 220_000), shim.ReadingOf(220_000)}
	wasMiked := []bool{true, false, false}
	// The new shim of the first comes from the second, of the second from the
	// box, of the third from the first. Old shims are 0 to 2, the new one is 3.
	from, shims := []shim.Valve{names[1], {}, names[0]}, []int{1, 3, 0}
	for _, c := range []struct {
		name string
		lies []int
	}{{"as planned", []int{0, 1, 2}}, {"two exchanged", []int{1, 0, 2}}} {
		random := rand.New(rand.NewPCG(11, 3))
		off := func(half shim.Length) float64 { return (2*random.Float64() - 1) * float64(half) }
		type draw struct{ differs, low, high [3]float64 }
		drawn := make([]draw, draws)
		for i := range drawn {
			leaf := map[shim.Length]float64{100_000: off(8_000), 120_000: off(8_000), 200_000: off(8_000), 220_000: off(8_000)}
			size := [4]float64{off(gauge.Mic), off(gauge.Stamp), off(gauge.Stamp), off(gauge.Stamp)}
			d := &drawn[i]
			for k := range 3 {
				r := first[k]
				was := leaf[r.Low] + off(gauge.Step/2)
				if r.Kind == shim.Bracket {
					u := random.Float64()
					was = leaf[r.Low]*(1-u) + leaf[r.High]*u + (u-0.5)*float64(r.High-r.Low)
				}
				d.differs[k] = was + size[k] - size[shims[c.lies[k]]]
				r = after[k]
				half := float64(gauge.Step / 2)
				d.low[k], d.high[k] = leaf[r.Low]-half, leaf[r.Low]+half
				if r.Kind == shim.Bracket {
					half = float64(r.High-r.Low) / 2
					d.low[k], d.high[k] = leaf[r.Low]-half, leaf[r.High]+half
				}
			}
		}
		worst, alone, peak := 0.0, 0.0, 0.0
		for _, place := range [][3]float64{{0, 0, 0}, {10e3, 10e3, 10e3}, {10e3, -10e3, 5e3}, {-10e3, 10e3, 10e3}, {15e3, -15e3, 0}, {0, 15e3, -15e3}, {-15e3, 0, 15e3}, {15e3, 15e3, -5e3}} {
			var refits []Refit
			for k := range 3 {
				at, _ := after[k].Estimate()
				r := Refit{Valve: names[k], Expected: at - shim.Length(place[k]), Ratio: even, Size: 2_500_000, Before: 2_400_000, Out: true,
					First: first[k], Reading: after[k], From: from[k], WasMiked: wasMiked[k], Miked: k == 2}
				p := doubt.Parts{Reading: r.First, Ratio: even}
				if r.WasMiked {
					p.Installed = doubt.Miked
				}
				if r.Miked {
					p.Fitted = doubt.Miked
				}
				r.Error = model.Difference(p, r.Reading)
				p.Kept = true
				r.Own = model.Difference(p, r.Reading)
				refits = append(refits, r)
			}
			a := Usual
			a.Gauge = gauge
			valves := measured(refits, a)
			require.Len(t, valves, 3)
			known := map[shim.Valve]*valve{names[0]: valves[0], names[1]: valves[1], names[2]: valves[2]}
			tied := candidate{shift: make([]float64, 3), lies: c.lies}.tie(valves, gauge, known)
			own := 1.0
			for k, v := range valves {
				own *= v.fitOf(v.with(valves[c.lies[k]]), 0)
			}
			sum, squares := 0.0, 0.0
			for i := range drawn {
				d, p := &drawn[i], 1.0
				for k := range 3 {
					// What is left to the second reading's own error.
					if x := d.differs[k] - place[k]; x < d.low[k] || x > d.high[k] {
						p = 0
						break
					}
					p /= d.high[k] - d.low[k]
				}
				sum, squares = sum+p, squares+p*p
			}
			sampled := sum / draws
			doubtful := math.Sqrt(squares/draws-sampled*sampled) / math.Sqrt(draws) / sampled
			peak = max(peak, sampled)
			t.Logf("%s at %v: sampled %.3g (within %.1f %%), joint %.3g, as if independent %.3g", c.name, place, sampled, 200*doubtful, own*math.Exp(tied), own)
			if sampled >= peak/10 {
				worst = max(worst, math.Abs(math.Log(own*math.Exp(tied)/sampled))-2*doubtful)
				alone = max(alone, math.Abs(math.Log(own/sampled)))
			}
		}
		t.Logf("%s: off by at most a factor %.3f beyond the sampling's own error, as if independent %.3f", c.name, math.Exp(worst), math.Exp(alone))
		assert.Less(t, worst, math.Log(1.1), c.name)
		assert.Greater(t, alone, 1.5*worst, c.name)
	}
}
