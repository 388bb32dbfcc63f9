package wear

import (
	"math"
	"math/rand/v2"
	"testing"

	"github.com/stretchr/testify/require"

	"shimwright/shim"
)

func TestAim(t *testing.T) {
	const h = 1.2
	type result struct {
		first                float64
		inside, loose, count int
	}
	var middle, least result
	for i := range 200 {
		for kind, r := range map[int]*result{0: &middle, 1: &least} {
			s := source{rand.New(rand.NewPCG(77, uint64(i)))}
			e := newEngine(s)
			series := checked(s, 3, e)
			// What the last check fitted is taken out again: all sixteen are set anew.
			m, err := Fit(series)
			require.NoError(t, err)
			all, err := m.Outlooks(series.Meters[2] + h*Kilometres)
			require.NoError(t, err)
			for v := range e.gap {
				last := series.Valves[v].Readings[2]
				o := all[nameOf(v)]
				limits := limitsOf(v)
				best, bestCost := 0.0, math.Inf(1)
				for size := 1500.; size < 3500; size += 25 {
					c := um(last.Stack) - size
					if c < um(limits.Tight) || c > um(limits.Loose) {
						continue
					}
					cost := math.Abs(c - um(limits.Tight+limits.Loose)/2)
					if kind == 1 {
						cost = float64(o.Risk(length(size), shim.Length(0))) + cost/1000
					}
					if cost < bestCost {
						best, bestCost = size, cost
					}
				}
				e.gap[v] += e.fill[v] - best
				e.fill[v] = best
			}
			r.count++
			bad := false
			for v, gap := range e.gap {
				bad = bad || gap > um(limitsOf(v).Loose)
			}
			if bad {
				r.loose++
			}
			x := e.exit(s)
			r.first += min(x, 60)
			if x >= h {
				r.inside++
			}
		}
	}
	t.Logf("middle: %.2f inside %.1f %%, loose %.1f", middle.first/200, float64(middle.inside)/2, float64(middle.loose)/2)
	t.Logf("least: %.2f inside %.1f %%, loose %.1f", least.first/200, float64(least.inside)/2, float64(least.loose)/2)
}
