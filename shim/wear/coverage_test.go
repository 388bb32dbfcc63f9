package wear

import (
	"math/rand/v2"
	"testing"

	"github.com/stretchr/testify/require"
)

func TestCoverage(t *testing.T) {
	for n := 2; n <= 6; n++ {
		inside, early, count, settled := 0, 0, 0, 0
		var insideSettled, earlySettled int
		for i := range 200 {
			s := source{rand.New(rand.NewPCG(uint64(n), uint64(i)))}
			e := newEngine(s)
			series := checked(s, n, e)
			m, err := Fit(series)
			require.NoError(t, err)
			f := m.Forecast()
			last := series.Meters[n-1]
			at := last + e.exit(s)*Kilometres
			count++
			in := at >= f.First.P5 && at <= f.First.P95
			if in {
				inside++
			}
			if at < f.First.P10 {
				early++
			}
			if f.Settled() {
				settled++
				if in {
					insideSettled++
				}
				if at < f.First.P10 {
					earlySettled++
				}
			}
		}
		t.Logf("%d checks: %d engines, inside %.1f %%, early %.1f %%; settled %d: inside %.1f, early %.1f", n, count, 100*float64(inside)/float64(count), 100*float64(early)/float64(count), settled, 100*float64(insideSettled)/float64(settled), 100*float64(earlySettled)/float64(settled))
	}
}
