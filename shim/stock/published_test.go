package stock_test

import (
	"context"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"gonum.org/v1/gonum/stat/distuv"

	"shimwright/shim"
	"shimwright/shim/stock"
	"shimwright/testdata/effort"
)

// Where sizes do not stand in for one another, the advice is the classical answer. So
// a shop of one size, with no pulled shims and a Poisson number of valves a period, has to
// find the published figures of the newsvendor.

// oneSize is periods of one job each, with a Poisson number of valves: not drawn by
// chance, but each number as often as its probability says, to within one period.
func oneSize(mean float64, periods int) []stock.Job {
	demand := distuv.Poisson{Lambda: mean}
	jobs := make([]stock.Job, periods)
	valves := 0
	for i := range jobs {
		for demand.CDF(float64(valves)) < (float64(i)+0.5)/float64(periods) {
			valves++
		}
		for range valves {
			jobs[i] = append(jobs[i], stock.Need{Family: disc, Thin: 2000 * um, Thick: 2000 * um, Ideal: 2000 * um})
		}
	}
	return jobs
}

// loss is the expected shortage n(S) of a Poisson demand over a stock of S, and over
// the expected surplus: n(S) = -(S - mean) (1 - F(S)) + mean f(S) (Snyder and Shen,
// Fundamentals of Supply Chain Theory, appendix C; from memory).
func loss(mean float64, s int) (short, over float64) {
	p := distuv.Poisson{Lambda: mean}
	short = -(float64(s)-mean)*p.Survival(float64(s)) + mean*p.Prob(float64(s))
	return short, short + float64(s) - mean
}

// The Poisson loss function, mean 7: n(5) = 2.292600125697, n(11) = 0.102799704109245
// (tests of stockpyl, recomputed). The purchases of the replayed periods come to it.
func TestPoissonLoss(t *testing.T) {
	periods := max(2000, effort.Of(100_000))
	jobs := oneSize(7, periods)
	for stocked, want := range map[int]float64{5: 2.292600125697, 11: 0.102799704109245} {
		short, _ := loss(7, stocked)
		assert.InDelta(t, want, short, 1e-11)
		r, err := stock.Replay(context.Background(), jobs, 1, []stock.Pieces{{Disc: disc.Of(2000 * um), Count: stocked}})
		require.NoError(t, err)
		got := float64(r.Bought) / float64(periods)
		t.Logf("Poisson loss, mean 7, %d pieces: %.4f replayed in %d periods, %.4f published", stocked, got, periods, want)
		assert.InDelta(t, want, got, 10/float64(periods), "each of a dozen numbers is at most half a period off")
	}
}

// The newsvendor, Poisson demand of mean 6, holding 1, shortage 4: S = 8 at a cost of
// 3.570106945770946, and 6.590296024616344 at S = 5 (tests of stockpyl, recomputed). A
// piece is worth keeping while it saves at least 1 / (1 + 4) of a purchase a period.
func TestNewsvendor(t *testing.T) {
	cost := func(s int) float64 {
		short, over := loss(6, s)
		return over + 4*short
	}
	assert.InDelta(t, 3.570106945770946, cost(8), 1e-12)
	assert.InDelta(t, 6.590296024616344, cost(5), 1e-12)
	for s := range 30 {
		assert.GreaterOrEqual(t, cost(s), cost(8))
	}
	offers := []shim.Offer{{Disc: disc.Of(2000 * um)}}
	a, err := stock.Advise(context.Background(), stock.Request{Jobs: oneSize(6, max(2000, effort.Of(100_000))), Period: 1, Offers: offers, Pieces: 30, Least: 1. / 5})
	require.NoError(t, err)
	t.Logf("newsvendor, mean 6, holding 1, shortage 4: %d pieces advised, 8 published", len(a.Steps))
	assert.Len(t, a.Steps, 8)
}
