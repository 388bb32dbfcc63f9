package plan_test

import (
	"context"
	"errors"
	"fmt"
	"math"
	"math/rand/v2"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"shimwright/shim"
	"shimwright/shim/plan"
	"shimwright/testdata/effort"
)

// carriedOut plays a planned job once with real leaves, real shims and real
// gaps behind every figure of the plan, and reports whether all valves that are
// planned inside are so in the end.
func carriedOut(p *plan.Plan, job int, r *rand.Rand) bool {
	j := &p.Jobs[job]
	leaves, shims := map[shim.Length]float64{}, map[shim.Valve]float64{}
	even := func(half shim.Length) float64 { return float64(half) * (2*r.Float64() - 1) }
	leaf := func(mark shim.Length) float64 {
		if _, known := leaves[mark]; !known {
			leaves[mark] = float64(mark) + even(j.Gauge.Leaf)
		}
		return leaves[mark]
	}
	size := func(nominal shim.Length, miked, used bool) float64 {
		switch {
		case miked:
			return float64(nominal) + even(j.Gauge.Mic)
		case used && j.Gauge.Used != 0:
			return float64(nominal) + even(j.Gauge.Used)
		}
		return float64(nominal) + even(j.Gauge.Stamp)
	}
	for k := range j.Valves {
		shims[j.Valves[k].Valve] = size(j.Valves[k].Installed, j.Valves[k].InstalledMiked, true)
	}
	for k := range j.Valves {
		v := &j.Valves[k]
		if !v.Served() {
			continue
		}
		var gap float64
		if v.Reading.Kind == shim.Bracket {
			low, high := leaf(v.Reading.Low), leaf(v.Reading.High)
			gap = low + r.Float64()*(high-low)
		} else {
			gap = leaf(v.Reading.Low) + even(j.Gauge.Step)/2
		}
		if v.Changed() {
			fitted := size(v.Size, v.Miked, v.Used)
			if v.From != nil && v.From.Job == job {
				fitted = shims[v.From.Valve]
			}
			gap += j.Engine.Train(v.Valve.Side).Ratio.Float() * (shims[v.Valve] - fitted)
		}
		if gap < float64(v.Limits.Tight) || gap > float64(v.Limits.Loose) {
			return false
		}
	}
	return true
}

// The probability that all end inside agrees with jobs carried out, whatever is
// swapped, bought, kept and shared.
func TestAllInsideAgainstJobsCarriedOut(t *testing.T) {
	r := rand.New(rand.NewPCG(912, 4))
	jobs, trials := max(40, effort.Of(2_000)), max(4_000, effort.Of(40_000))
	f := family{jobs: 2, valves: 16, sizes: 12, boxRows: 7, offers: 8, pieces: 2, cylinders: 4}
	worst, sum, moved, sampled, certain := 0.0, 0.0, 0, 0, 0
	for done := 0; done < jobs; {
		p, err := plan.Make(context.Background(), randomRequest(r, f))
		if errors.Is(err, plan.ErrRequest) {
			continue
		}
		require.NoError(t, err)
		for i := range p.Jobs {
			w := p.AllInside(i)
			served := 0
			for k := range p.Jobs[i].Valves {
				v := &p.Jobs[i].Valves[k]
				if v.Served() {
					served++
					if v.From != nil {
						moved++
					}
				}
			}
			require.Equal(t, served, w.Valves)
			require.Equal(t, len(p.Jobs[i].Valves)-served, w.Others)
			if served == 0 {
				require.Zero(t, w.Probability)
				continue
			}
			if done++; w.Sampled {
				sampled++
			}
			hits := 0
			for range trials {
				if carriedOut(p, i, r) {
					hits++
				}
			}
			if w.Probability == 1 {
				certain++
				require.Equal(t, trials, hits)
				continue
			}
			q := w.Probability
			// A chance near 0 or 1 is judged by counts, not by a bell curve.
			z := (float64(hits) - float64(trials)*q) / math.Sqrt(float64(trials)*q*(1-q)+math.Pow(float64(trials)*w.Error, 2)+1)
			worst, sum = max(worst, math.Abs(z)), sum+z
			assert.Less(t, math.Abs(z), 5.0, "%+v, carried out %d of %d", w, hits, trials)
		}
	}
	assert.Less(t, math.Abs(sum)/math.Sqrt(float64(jobs)), 4.0)
	assert.Positive(t, sampled)
	assert.Greater(t, moved, 10)
	fmt.Printf("all inside: %d jobs of %d trials, %d sampled, %d certain, %d shims moved: furthest %.1f standard errors, bound 5\n", jobs, trials, sampled, certain, moved, worst)
}
