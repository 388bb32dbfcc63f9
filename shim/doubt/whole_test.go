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
	type leafOf struct {
		set  shim.Gauge
		mark shim.Length
	}
	leaves, shims := map[leafOf]float64{}, map[int]float64{}
	even := func(half shim.Length) float64 { return float64(half) * (2*random.Float64() - 1) }
	leaf := func(set shim.Gauge, mark shim.Length) float64 {
		is := leafOf{set, mark}
		if _, known := leaves[is]; !known {
			leaves[is] = float64(mark) + even(set.Leaf)
		}
		return leaves[is]
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
	found := func(set shim.Gauge, low, high shim.Length) float64 {
		if low == high {
			return leaf(set, low) + even(set.Step)/2
		}
		from, to := leaf(set, low), leaf(set, high)
		return from + random.Float64()*(to-from)
	}
	gaps := map[int]float64{} // of openers, by their number
	opener := func(set shim.Gauge, number int, low, high shim.Length) float64 {
		if _, known := gaps[number]; number == 0 || !known {
			gaps[number] = found(set, low, high)
		}
		return gaps[number]
	}
	all := true
	for _, v := range members {
		set := g.Leaves(v.With)
		gap := func() float64 {
			if u := v.Reading.Unloaded; u != (shim.Unloaded{}) {
				return found(set, v.Reading.Low, v.Reading.High) - opener(set, v.Gap, u.Low, u.High)
			}
			return opener(set, v.Gap, v.Reading.Low, v.Reading.High)
		}()
		estimate := float64(v.Reading.Low+v.Reading.High-v.Reading.Unloaded.Low-v.Reading.Unloaded.High) / 2
		after := float64(v.Expected) + gap - estimate
		if !v.Kept {
			k := v.Ratio.Float()
			after += k * (size(v.Out, v.Installed) - size(v.In, v.Fitted))
		}
		all = all && after >= float64(v.Limits.Tight) && after <= float64(v.Limits.Loose)
	}
	return all
}

// anyEngine invents an engine of n valves: few leaves, shims that move in a ring
// or come from outside. With closers many an even valve is the closer of the one
// before it, read loaded.
func anyEngine(n int, closers bool, random *rand.Rand) (shim.Gauge, []Member) {
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
		if before := i - 1; closers && i%2 == 1 && random.IntN(4) > 0 { // read loaded
			o := &members[before]
			loaded := o.Reading.High + shim.Length(150+random.IntN(3)*30)*um
			v.Reading = shim.ReadingOf(loaded)
			if random.IntN(2) == 0 {
				v.Reading = between(loaded, loaded+30*um)
			}
			var known bool
			v.Reading, known = shim.LoadedLess(v.Reading, o.Reading, g)
			o.Gap, v.Gap = i, i
			if !known || !v.Reading.TakenOff(o.Reading) {
				panic("a loaded gap")
			}
			v.Expected = shim.Length(142+random.IntN(20)) * um // near the limit that both share
			o.Expected = shim.Length(142+random.IntN(20)) * um
		}
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
		g, members := anyEngine(2+random.IntN(15), e%2 == 1, random)
		if e%3 == 2 { // two sets of leaves, valve pair by valve pair
			for i := range members {
				if i/2%2 == 1 {
					members[i].With = shim.Gauge{Step: 2 * g.Step, Leaf: 2 * g.Leaf}
				}
			}
		}
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
			g, members = anyEngine(4+random.IntN(8), false, random)
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
	g, members := anyEngine(100, false, rand.New(rand.NewPCG(912, 3)))
	first := Model{Gauge: g}.All(members, 10_000)
	require.True(t, first.Sampled)
	assert.Equal(t, first, Model{Gauge: g}.All(members, 10_000))
}

// An opener's reading that was taken off its closer's loaded gap is in both
// clearances. Both near the tight limit, the product of the two is too hopeful;
// near the tight and the loose one it is not hopeful enough. Against a simulation
// of the two gaps that knows nothing of the code under test.
func TestLoadedGapSharesTheOpenersReading(t *testing.T) {
	random := rand.New(rand.NewPCG(912, 15))
	for _, c := range []struct {
		gauge          shim.Gauge
		opener, closer shim.Limits
		read, loaded   shim.Reading
		exact          bool
	}{
		{shim.UsualGauge, shim.Limits{Tight: 115 * um, Loose: 200 * um}, shim.Limits{Tight: 70 * um, Loose: 200 * um}, shim.ReadingOf(120 * um), shim.ReadingOf(200 * um), false},
		{shim.UsualGauge, shim.Limits{Tight: 100 * um, Loose: 130 * um}, shim.Limits{Tight: 60 * um, Loose: 100 * um}, shim.ReadingOf(120 * um), shim.ReadingOf(200 * um), false},
		{shim.UsualGauge, shim.Limits{Tight: 118 * um, Loose: 200 * um}, shim.Limits{Tight: 75 * um, Loose: 200 * um}, between(120*um, 150*um), between(200*um, 230*um), false},
		{shim.UsualGauge, shim.Limits{Tight: 115 * um, Loose: 200 * um}, shim.Limits{Tight: 70 * um, Loose: 200 * um}, shim.ReadingOf(120 * um), twice(190*um, 220*um), false},
		{shim.UsualGauge, shim.Limits{Tight: 115 * um, Loose: 200 * um}, shim.Limits{Tight: 70 * um, Loose: 200 * um}, twice(110*um, 140*um), twice(190*um, 280*um), false},
		{shim.Gauge{Step: 30 * um}, shim.Limits{Tight: 115 * um, Loose: 200 * um}, shim.Limits{Tight: 70 * um, Loose: 200 * um}, shim.ReadingOf(120 * um), shim.ReadingOf(200 * um), true},
		{shim.Gauge{Step: 30 * um}, shim.Limits{Tight: 118 * um, Loose: 200 * um}, shim.Limits{Tight: 75 * um, Loose: 200 * um}, between(120*um, 150*um), between(200*um, 230*um), true},
	} {
		loaded, known := shim.LoadedLess(c.loaded, c.read, c.gauge)
		require.True(t, known)
		opener, _ := c.read.Estimate()
		closer, _ := loaded.Estimate()
		m := Model{Gauge: c.gauge}
		members := []Member{
			{Limits: c.opener, Expected: opener, Parts: Parts{Reading: c.read, Kept: true}, Gap: 1},
			{Limits: c.closer, Expected: closer, Parts: Parts{Reading: loaded, Kept: true}, Gap: 1},
		}
		got := m.All(members, 200_000)
		assert.Equal(t, c.exact, !got.Sampled, "exact is said where it is so")
		assert.Equal(t, c.exact, got.Error == 0)

		trials, hits := max(60_000, effort.Of(1_000_000)), 0
		for range trials {
			gap := func(r shim.Reading) float64 {
				even := func(half shim.Length) float64 { return float64(half) * (2*random.Float64() - 1) }
				if r = r.Against(c.gauge); r.Second.Taken { // two figures, each by its own leaf
					return float64(r.Low+r.Second.Low)/2 + (even(c.gauge.Step)/2+even(c.gauge.Leaf)+even(c.gauge.Step)/2+even(c.gauge.Leaf))/2
				}
				if r.Kind == shim.Single {
					return float64(r.Low) + even(c.gauge.Step)/2 + even(c.gauge.Leaf)
				}
				low, high := float64(r.Low)+even(c.gauge.Leaf), float64(r.High)+even(c.gauge.Leaf)
				return low + random.Float64()*(high-low)
			}
			free := gap(c.read)
			held := gap(c.loaded) - free
			if free >= float64(c.opener.Tight) && free <= float64(c.opener.Loose) && held >= float64(c.closer.Tight) && held <= float64(c.closer.Loose) {
				hits++
			}
		}
		p := float64(hits) / float64(trials)
		t.Logf("all inside %.4f, simulated %.4f, product %.4f", got.Probability, p, m.Inside(c.opener, opener, members[0].Parts)*m.Inside(c.closer, closer, members[1].Parts))
		assert.InDelta(t, p, got.Probability, 4*(math.Sqrt(p*(1-p)/float64(trials))+got.Error))
	}
}

// twice is two figures of one gap.
func twice(one, other shim.Length) shim.Reading {
	r := shim.ReadingOf(one)
	r.Second = shim.Second{Low: other, High: other, Taken: true}
	return r
}

// What a temperature leaves open is one error at all valves measured then, and
// another one at those measured at another temperature, by the table or without.
func TestATemperatureIsOneError(t *testing.T) {
	m := Model{Gauge: shim.Gauge{Step: 10 * um}}
	member := func(open, moved shim.Length, unconverted bool) Member {
		r := shim.ReadingOf(200 * um)
		r.Open, r.Shifted, r.Unconverted = open, moved, unconverted
		return Member{Limits: shim.Limits{Tight: 190 * um, Loose: 400 * um}, Expected: 200 * um, Parts: Parts{Reading: r, Kept: true}}
	}
	for _, c := range []struct {
		name     string
		one, two Member
		together bool
	}{
		{"one temperature, no table", member(50*um, 0, true), member(50*um, 0, true), true},
		{"two temperatures, no table", member(50*um, 0, true), member(10*um, 0, true), false},
		{"one temperature, a table", member(20*um, 30*um, false), member(20*um, 30*um, false), true},
		{"below and above the window", member(20*um, 30*um, false), member(20*um, -30*um, false), false},
	} {
		t.Run(c.name, func(t *testing.T) {
			alone := m.Inside(c.one.Limits, 200*um, c.one.Parts) * m.Inside(c.two.Limits, 200*um, c.two.Parts)
			// By trials: both errors are rectangular, as the GUM has them where only bounds are known.
			r, inside := rand.New(rand.NewPCG(12, 2)), 0
			const trials = 200_000
			for range trials {
				even := func(half shim.Length) float64 { return float64(half) * (2*r.Float64() - 1) }
				first, second := even(c.one.Reading.Open), even(c.two.Reading.Open)
				if c.together {
					second = first
				}
				if first+even(5*um) >= float64(-10*um) && second+even(5*um) >= float64(-10*um) {
					inside++
				}
			}
			got := m.All([]Member{c.one, c.two}, 1_000_000).Probability
			assert.InDelta(t, float64(inside)/trials, got, 0.005)
			if c.together {
				assert.Greater(t, got, alone+0.05)
			} else {
				assert.InDelta(t, alone, got, 1e-9)
			}
		})
	}
}
