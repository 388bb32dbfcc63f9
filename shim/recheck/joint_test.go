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
			known := map[shim.Valve]*valve{names[0]: valves[0], names[1]: valves[1]}
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

// An opener's reading that was taken off its closer's loaded gap ties the two
// valves: the variances and the covariance of their differences against a
// simulation of the gaps, before the job and after it.
func TestJointOfALoadedGap(t *testing.T) {
	const draws = 200_000
	gauge := shim.Gauge{Step: 20_000, Leaf: 5_000, Stamp: 5_000}
	opener := shim.Valve{Side: shim.Intake, Cylinder: 1}
	bracket := func(low, high shim.Length) shim.Reading {
		return shim.Reading{Kind: shim.Bracket, Low: low, High: high}
	}
	pair := shim.ReadingOf(140_000)
	pair.Second = shim.Second{Low: 150_000, High: 150_000, Taken: true}
	for _, c := range []struct {
		name           string
		opener, loaded [2]shim.Reading // before and after
		other          bool            // the opener was read again since
	}{
		{name: "figures", opener: [2]shim.Reading{shim.ReadingOf(100_000), shim.ReadingOf(130_000)}, loaded: [2]shim.Reading{shim.ReadingOf(180_000), shim.ReadingOf(230_000)}},
		{name: "brackets", opener: [2]shim.Reading{bracket(100_000, 120_000), bracket(130_000, 150_000)}, loaded: [2]shim.Reading{bracket(180_000, 200_000), bracket(230_000, 260_000)}},
		{name: "a pair", opener: [2]shim.Reading{shim.ReadingOf(100_000), pair}, loaded: [2]shim.Reading{shim.ReadingOf(180_000), shim.ReadingOf(230_000)}},
		{name: "another reading", other: true, opener: [2]shim.Reading{shim.ReadingOf(100_000), shim.ReadingOf(130_000)}, loaded: [2]shim.Reading{shim.ReadingOf(180_000), shim.ReadingOf(230_000)}},
	} {
		two := []*valve{{Refit: &Refit{Valve: opener, Ratio: shim.Ratio{Times: shim.One}, First: c.opener[0], Reading: c.opener[1]}}, {Refit: &Refit{Valve: opener.Other(), Ratio: shim.Ratio{Times: shim.One}}}}
		for i, to := range []*shim.Reading{&two[1].First, &two[1].Reading} {
			r, known := shim.LoadedLess(c.loaded[i], c.opener[i], gauge)
			require.True(t, known)
			*to = r
		}
		if c.other {
			two[0].First, two[0].Reading = shim.ReadingOf(110_000), shim.ReadingOf(121_000)
		}
		known := map[shim.Valve]*valve{opener: two[0], opener.Other(): two[1]}
		a, b := partsOf(two[0], two[0], gauge, known), partsOf(two[1], two[1], gauge, known)
		product := func(a, b parts) (sum float64) {
			for s, x := range a.of {
				sum += x * b.of[s]
			}
			return sum
		}

		random := rand.New(rand.NewPCG(7, 15))
		off := func(half shim.Length) float64 { return (2*random.Float64() - 1) * float64(half) }
		var want [3]float64
		for range draws {
			leaves := map[shim.Length]float64{}
			leaf := func(mark shim.Length) float64 {
				if _, known := leaves[mark]; !known {
					leaves[mark] = off(gauge.Leaf)
				}
				return leaves[mark]
			}
			var read func(r shim.Reading) float64
			read = func(r shim.Reading) float64 {
				first, second, twice := r.Twice()
				switch {
				case twice:
					return (read(first) + read(second)) / 2
				case r.Kind == shim.Single:
					return off(gauge.Step/2) + leaf(r.Low)
				}
				u := random.Float64()
				return (1-u)*leaf(r.Low) + u*leaf(r.High) + (u-0.5)*float64(r.High-r.Low)
			}
			var d [2]float64
			for i, sign := range []float64{-1, 1} {
				o := read(c.opener[i])
				d[1] += sign * (read(c.loaded[i]) - o)
				if c.other {
					o = read([]shim.Reading{two[0].First, two[0].Reading}[i])
				}
				d[0] += sign * o
			}
			want[0] += d[0] * d[0] / draws
			want[1] += d[1] * d[1] / draws
			want[2] += d[0] * d[1] / draws
		}
		// A shim that stays is the same before and after.
		got := [3]float64{product(a, a) + a.rest, product(b, b) + b.rest, product(a, b)}
		scale := math.Sqrt(want[0] * want[1])
		t.Logf("%s: variances %.3g %.3g, covariance %.3g; simulated %.3g", c.name, got[0], got[1], got[2], want)
		for i := range want {
			assert.InDelta(t, want[i], got[i], 0.015*scale, c.name)
		}
		assert.Equal(t, !c.other, math.Abs(got[2]) > 0.2*scale, "the opener's reading ties both where it is the one that was taken off")
	}
}
