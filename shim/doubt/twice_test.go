package doubt

import (
	"math"
	"math/rand/v2"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"shimwright/shim"
	"shimwright/testdata/effort"
)

func twoReadings(t *testing.T, text string) shim.Reading {
	t.Helper()
	r, err := shim.ParseReading(text, shim.MM)
	require.NoError(t, err)
	return r
}

// The mean of two figures by the law of propagation (JCGM 100:2008, 5.1.2): half
// of each error, the variance of a rectangle a third of its half width squared
// (4.3.7). The same leaf twice is one error, not two: F.2.2.1.
func TestDoubtOfTwoReadings(t *testing.T) {
	m := Model{Gauge: shim.Gauge{Step: mm(0.03), Leaf: mm(0.005), Stamp: mm(0.005), Mic: mm(0.004)}}
	u := func(text string) float64 {
		return float64(m.Spread(Parts{Reading: twoReadings(t, text), Kept: true}).Standard()) / 1e3 // µm
	}
	one := math.Sqrt((15*15 + 5*5) / 3.0)
	assert.InDelta(t, one, u("0.15"), 1e-3)
	assert.InDelta(t, one, u("0.15/0.15"), 1e-3, "nothing new")
	assert.InDelta(t, one/math.Sqrt2, u("0.15/0.16"), 1e-3, "two leaves, two roundings")
	assert.InDelta(t, math.Sqrt(80*80/12.0+2*5*5/9.0), u("0.15/0.20"), 1e-3, "the gauge does not explain it: anywhere between")
	assert.InDelta(t, u("0.15-0.18"), u("0.15-0.18/0.15-0.18"), 1e-9)
	tighter := twoReadings(t, "0.15/0.16")
	tighter.Second.Tighter = true
	assert.InDelta(t, one, float64(m.Spread(Parts{Reading: tighter, Kept: true}).Standard())/1e3, 1e-3, "one of them is one reading")
}

// Draws of every error of two readings, two shims and a recheck that is read
// twice as well give the probabilities that the exact sum says.
func TestTwoReadingsAgainstDraws(t *testing.T) {
	n := effort.Of(20_000_000)
	random := rand.New(rand.NewPCG(12, 9))
	g := shim.Gauge{Step: mm(0.03), Leaf: mm(0.005), Stamp: mm(0.005), Mic: mm(0.004)}
	m := Model{Gauge: g}
	parts := Parts{Reading: twoReadings(t, "0.15/0.16"), Ratio: shim.Ratio{Times: shim.One}, Installed: Stamped, Fitted: Miked}
	after := twoReadings(t, "0.17/0.18")
	even := func(half shim.Length) float64 { return (2*random.Float64() - 1) * float64(half) }
	two := func() float64 { return (even(g.Step/2) + even(g.Leaf) + even(g.Step/2) + even(g.Leaf)) / 2 }
	spread, difference := m.Spread(parts), m.Difference(parts, after)
	limits := shim.Limits{Tight: mm(0.14), Loose: mm(0.17)}
	expected := mm(0.165)
	inside, beyond := 0, 0
	at := difference.Within(0.9)
	for range n {
		one := two() + even(g.Stamp) + even(g.Mic)
		if limits.Contain(expected + shim.Length(one)) {
			inside++
		}
		if math.Abs(one+two()) > float64(at) {
			beyond++
		}
	}
	within := 4 * math.Sqrt(0.25/float64(n))
	got, all := float64(inside)/float64(n), float64(beyond)/float64(n)
	t.Logf("inside: exact %.5f, %d draws %.5f; beyond the 90 %% bound: %.5f; bound %.5f", spread.Inside(limits, expected), n, got, all, within)
	assert.InDelta(t, spread.Inside(limits, expected), got, within)
	assert.InDelta(t, 0.1, all, within)
}

// Two valves that were read twice, over three leaves: the leaf that both have is
// off for both alike. Against draws of every error.
func TestTwoReadingsOfTwoValvesAgainstDraws(t *testing.T) {
	n := effort.Of(10_000_000)
	random := rand.New(rand.NewPCG(12, 10))
	g := shim.Gauge{Step: mm(0.01), Leaf: mm(0.009)}
	even := func(half shim.Length) float64 { return (2*random.Float64() - 1) * float64(half) }
	limits := shim.Limits{Tight: mm(0.15), Loose: mm(0.20)}
	member := func(text string) Member {
		return Member{Limits: limits, Expected: mm(0.154), Parts: Parts{Reading: twoReadings(t, text), Kept: true}}
	}
	exact := Model{Gauge: g}.All([]Member{member("0.15/0.16"), member("0.15/0.17")}, 1_000_000)
	good := 0
	for range n {
		common := even(g.Leaf)
		a := (common + even(g.Leaf) + even(g.Step/2) + even(g.Step/2)) / 2
		b := (common + even(g.Leaf) + even(g.Step/2) + even(g.Step/2)) / 2
		if limits.Contain(mm(0.154)+shim.Length(a)) && limits.Contain(mm(0.154)+shim.Length(b)) {
			good++
		}
	}
	got, within := float64(good)/float64(n), 4*math.Sqrt(0.25/float64(n))
	apart := Model{Gauge: g}.Inside(limits, mm(0.154), member("0.15/0.16").Parts)
	t.Logf("both inside: %.5f, %d draws %.5f, bound %.5f; were they independent %.5f", exact.Probability, n, got, within, apart*apart)
	assert.InDelta(t, exact.Probability, got, within)
	assert.Greater(t, exact.Probability, apart*apart, "what is off for both alike makes it likelier that both are right")
}

// What a table leaves open is a rectangle more (JCGM 100:2008, 4.3.7), and the same
// one for all valves that it moved by as much.
func TestDoubtOfATable(t *testing.T) {
	m := Model{Gauge: shim.Gauge{Step: mm(0.03), Leaf: mm(0.005)}}
	r := shim.ReadingOf(mm(0.2))
	r.Shifted, r.Open = -mm(0.022), mm(0.005)
	got := float64(m.Spread(Parts{Reading: r, Kept: true}).Standard()) / 1e3
	assert.InDelta(t, math.Sqrt((15*15+5*5+5*5)/3.0), got, 1e-3)

	narrow := Model{Gauge: shim.Gauge{Step: mm(0.002)}}
	limits := shim.Limits{Tight: mm(0.2), Loose: mm(0.3)}
	member := Member{Limits: limits, Expected: mm(0.2), Parts: Parts{Reading: r, Kept: true}}
	both := narrow.All([]Member{member, member}, 100_000).Probability
	assert.Greater(t, both, 0.4, "one error decides for both; independent they were a quarter")
}
