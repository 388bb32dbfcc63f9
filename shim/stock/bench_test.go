package stock_test

import (
	"context"
	"testing"

	"github.com/stretchr/testify/require"

	"shimwright/shim/stock"
)

// Target: 1,000 jobs, 300 pieces, 73 sizes in less than 3 s and 200 MiB on two cores.
func BenchmarkAdvise(b *testing.B) {
	records := visits(2, 1000)
	b.ReportAllocs()
	for b.Loop() {
		drawn := stock.Draw(records, catalogue(), stock.Drawing{Jobs: 1000, Spread: 20 * um, Seed: 1})
		a, err := stock.Advise(context.Background(), stock.Request{Jobs: drawn, Period: period, Offers: catalogue(), Pieces: 300})
		require.NoError(b, err)
		require.Len(b, a.Steps, 300)
		for n := 0; n <= 300; n += 10 {
			_, err := stock.Replay(context.Background(), drawn, period, a.Added(n))
			require.NoError(b, err)
		}
		_, err = stock.Spare(context.Background(), drawn, period, a.Added(300))
		require.NoError(b, err)
	}
}
