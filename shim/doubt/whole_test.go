package doubt

import (
	"fmt"
	"math"
	"math/rand/v2"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"shimwright/shim"
	"shimwright/testdata/effort"
)

const um = shim.Micrometre

var one = shim.Ratio{Times: shim.One}

func between(low, high shim.Length) shim.Reading {
	return shim.Reading{Kind: shim.Bracket, Low: low, High: high}
}

// Members that share nothing are independent: their probabilities multiply.
func TestMembersThatShareNothingMultiply(t *testing.T) {
	m := Model{Gauge: shim.UsualGauge}
	l := shim.Limits{Tight: 140 * um, Loose: 210 * um}
	members := []Member{
		{Limits: l, Expected: 160 * um, Parts: Parts{Reading: shim.ReadingOf(100 * um), Ratio: one}, Out: 1, In: 2},
		{Limits: l, Expected: 155 * um, Parts: Parts{Reading: between(110*um, 140*um), Ratio: one, Fitted: Miked}, Out: 3, In: 4},
		{Limits: l, Expected: 200 * um, Parts: Parts{Reading: shim.ReadingOf(200 * um), Kept: true}},
	}
	want := 1.0
	for _, v := range members {
		p := m.Inside(v.Limits, v.Expected, v.Parts)
		require.Less(t, p, 1.0, "a valve that is certain proves nothing")
		want *= p
	}
	got := m.All(members, 1_000_000)
	assert.False(t, got.Sampled)
	assert.Zero(t, got.Error)
	assert.InDelta(t, want, got.Probability, 1e-9)
}

// What is certain is 1, and what has no number is 0.
func TestAllCertainAndNone(t *testing.T) {
	m := Model{Gauge: shim.UsualGauge}
	wide := Member{Limits: shim.Limits{Tight: 100 * um, Loose: 300 * um}, Expected: 200 * um, Parts: Parts{Reading: shim.ReadingOf(200 * um), Ratio: one}}
	assert.Equal(t, Chance{Probability: 1}, m.All([]Member{wide, wide}, 1000))
	assert.Equal(t, Chance{Probability: 1}, m.All(nil, 1000))
	unread := wide
	unread.Reading = shim.Reading{Kind: shim.Below, High: 50 * um}
	assert.Equal(t, Chance{}, m.All([]Member{wide, unread}, 1000))
}

// Two valves that share the shim moved from one to the other, held against a
// sum over the errors of the shim (501 places) and, at each, of the two valves'
// own, which are known to be trapezia: independent of the code under test.
func TestTwoValvesThatShareAShim(t *testing.T) {
	g := shim.Gauge{Step: 30 * um, Stamp: 9 * um}
	m := Model{Gauge: g}
	l := shim.Limits{Tight: 140 * um, Loose: 210 * um}
	for _, ratio := range []shim.Ratio{one, {Times: 1_400_000}, shim.RockerRatio(700_000)} {
		a := Member{Limits: l, Expected: 158 * um, Parts: Parts{Reading: shim.ReadingOf(90 * um), Ratio: ratio}, Out: 1, In: 2}
		b := Member{Limits: l, Expected: 190 * um, Parts: Parts{Reading: shim.ReadingOf(250 * um), Ratio: ratio}, Out: 3, In: 1}
		got := m.All([]Member{a, b}, 1_000_000)
		require.False(t, got.Sampled)

		k := ratio.Float()
		// The chance that a rectangle of half width 15000 and one of half width
		// k 9000 add up to at most x, by the mean over the second.
		below := func(x float64) float64 {
			const n = 4000
			total := 0.0
			for i := range n {
				y := k * 9000 * (2*(float64(i)+0.5)/n - 1)
				total += min(1, max(0, (x-y+15000)/30000))
			}
			return total / n
		}
		const n = 501
		want, free := 0.0, [2]float64{}
		for i := range n {
			e := k * 9000 * (2*(float64(i)+0.5)/n - 1)
			pa := below(210e3-158e3-e) - below(140e3-158e3-e)
			pb := below(210e3-190e3+e) - below(140e3-190e3+e)
			want += pa * pb / n
			free[0] += pa / n
			free[1] += pb / n
		}
		assert.InDelta(t, want, got.Probability, 1e-6, "ratio %v", ratio)
		assert.Greater(t, math.Abs(want-free[0]*free[1]), 1e-4, "the share must count")
	}
}

// truth is a plain simulation of the physical model: real leaves, real shims,
// a real gap, and what the hand then reads of it. It knows nothing of spreads.
func truth(g shim.Gauge, members []Member, random *rand.Rand) bool {
	leaves, shims := map[shim.Length]float64{}, map[int]float64{}
	even := func(half shim.Length) float64 { return float64(half) * (2*random.Float64() - 1) }
	leaf := func(mark shim.Length) float64 {
		if _, known := leaves[mark]; !known {
			leaves[mark] = float64(mark) + even(g.Leaf)
		}
		return leaves[mark]
	}
	size := func(number int, s Source) float64 {
		half := g.Stamp
		if s == Miked {
			half = g.Mic
		}
		if number == 0 {
			return even(half)
		}
		if _, known := shims[number]; !known {
			shims[number] = even(half)
		}
		return shims[number]
	}
	all := true
	for _, v := range members {
		var found, estimate float64
		if v.Reading.Kind == shim.Single {
			found, estimate = leaf(v.Reading.Low)+even(g.Step)/2, float64(v.Reading.Low)
		} else {
			low, high := leaf(v.Reading.Low), leaf(v.Reading.High)
			found = low + random.Float64()*(high-low)
			estimate = float64(v.Reading.Low+v.Reading.High) / 2
		}
		after := float64(v.Expected) + found - estimate
		if !v.Kept {
			k := v.Ratio.Float()
			after += k * (size(v.Out, v.Installed) - size(v.In, v.Fitted))
		}
		all = all && after >= float64(v.Limits.Tight) && after <= float64(v.Limits.Loose)
	}
	return all
}

// anyEngine invents an engine of n valves: few leaves, shims that move in a ring
// or come from outside.
func anyEngine(n int, random *rand.Rand) (shim.Gauge, []Member) {
	g := shim.Gauge{
		Step: shim.Length(10+random.IntN(30)) * um, Leaf: shim.Length(random.IntN(8)) * um,
		Stamp: shim.Length(random.IntN(9)) * um, Mic: shim.Length(1+random.IntN(4)) * um,
	}
	members := make([]Member, n)
	for i := range members {
		low := shim.Length(100+30*random.IntN(4)) * um
		v := Member{Limits: shim.Limits{Tight: 140 * um, Loose: 210 * um}, Expected: shim.Length(155+random.IntN(40)) * um}
		v.Reading = shim.ReadingOf(low)
		if random.IntN(2) == 0 {
			v.Reading = between(low, low+30*um)
		}
		v.Ratio = []shim.Ratio{one, {Times: 700_000}, shim.RockerRatio(1_300_000)}[random.IntN(3)]
		v.Installed, v.Fitted = Source(random.IntN(2)), Source(random.IntN(2))
		v.Out = i + 1
		switch random.IntN(4) {
		case 0:
			v.Kept = true
		case 1:
			v.In = n + 1 + i
		default:
			v.In = (i+1)%n + 1
		}
		members[i] = v
	}
	for i := range members { // the same piece is known in the same way
		if v := &members[i]; v.In > 0 && v.In <= n {
			v.Fitted = members[v.In-1].Installed
		}
	}
	return g, members
}

// The probability of all agrees with plain Monte Carlo of the physical model
// within both errors.
func TestAllAgainstSimulation(t *testing.T) {
	random := rand.New(rand.NewPCG(912, 1))
	engines, trials := max(6, effort.Of(200)), max(20_000, effort.Of(400_000))
	worst, sum := 0.0, 0.0
	for e := range engines {
		g, members := anyEngine(2+random.IntN(15), random)
		c := Model{Gauge: g}.All(members, 400_000)
		hits := 0
		for range trials {
			if truth(g, members, random) {
				hits++
			}
		}
		p := float64(hits) / float64(trials)
		error := math.Sqrt(max(p*(1-p), 1/float64(trials))/float64(trials) + c.Error*c.Error)
		z := (c.Probability - p) / error
		worst, sum = max(worst, math.Abs(z)), sum+z
		assert.Less(t, math.Abs(z), 4.5, "engine %d: %+v, simulated %.5f", e, c, p)
		assert.Less(t, c.Error, 0.002)
	}
	mean := sum / math.Sqrt(float64(engines))
	assert.Less(t, math.Abs(mean), 4.0, "the lot must not lean to one side")
	fmt.Printf("all inside: %d engines, %d trials each: furthest %.1f standard errors, bound 4.5; together %.1f, bound 4\n", engines, trials, worst, mean)
}

// The error that a sample states is the one that it has: against a sample many
// times as long.
func TestTheStatedErrorIsTrue(t *testing.T) {
	random := rand.New(rand.NewPCG(912, 2))
	engines := max(5, effort.Share(20))
	beyond := 0
	squares := 0.0
	for range engines {
		var rough Chance
		var g shim.Gauge
		var members []Member
		for rough.Error == 0 {
			g, members = anyEngine(4+random.IntN(8), random)
			rough = Model{Gauge: g}.All(members, 10_000)
		}
		better := Model{Gauge: g}.All(members, 1_000_000)
		z := (rough.Probability - better.Probability) / math.Hypot(rough.Error, better.Error)
		squares += z * z
		if math.Abs(z) > 3 {
			beyond++
		}
	}
	t.Logf("root mean square %.2f of the stated error, %d of %d beyond three", math.Sqrt(squares/float64(engines)), beyond, engines)
	assert.LessOrEqual(t, beyond, 2)
	assert.Less(t, squares/float64(engines), 2.5)
}

// A sample is the same every time.
func TestAllIsReproducible(t *testing.T) {
	g, members := anyEngine(100, rand.New(rand.NewPCG(912, 3)))
	first := Model{Gauge: g}.All(members, 10_000)
	require.True(t, first.Sampled)
	assert.Equal(t, first, Model{Gauge: g}.All(members, 10_000))
}
