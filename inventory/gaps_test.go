package inventory

import (
	"math/rand/v2"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"shimwright/shim"
)

func stocksOf(t *testing.T, sizes string) []Stock {
	t.Helper()
	var list []Stock
	for _, text := range strings.Fields(sizes) {
		l, err := shim.MM.Parse(text)
		require.NoError(t, err)
		list = append(list, Stock{Diameter: 8900 * shim.Micrometre, Size: l, OnHand: 1})
	}
	return list
}

func TestGaps(t *testing.T) {
	for _, c := range []struct{ sizes, want string }{
		{"", ""},
		{"2.4", ""},
		{"2.4 2.425 2.45", ""},
		{"2.4 2.425 2.475", ""}, // one distance is no step yet
		{"2.35 2.4 2.45 2.6 2.65 2.8 2.811 2.823 2.829 2.837 2.846 2.858 2.863 2.872", ""},
		{"2.4 2.425 2.45 2.5", "2.475-2.475:1"},
		{"2.35 2.4 2.45 2.6 2.65 2.8", "2.5-2.55:2 2.7-2.75:2"},
		// A mic reading is on no grid, yet lies in the gap.
		{"2.25 2.3 2.35 2.422 2.5", "2.4-2.4:1 2.45-2.45:1"},
		// The thinnest may be a mic reading as well.
		{"2.238 2.25 2.3 2.35 2.45", "2.4-2.4:1"},
		// Readings of a micrometer alone show no range.
		{"2.4 2.401 2.403 2.404", ""},
	} {
		stocks := stocksOf(t, c.sizes)
		var got []string
		for _, g := range Gaps(stocks, Sizes(stocks)) {
			assert.Equal(t, stocks[0].Diameter, g.Diameter)
			got = append(got, g.From.String()+"-"+g.To.String()+":"+string(rune('0'+g.Sizes)))
		}
		assert.Equal(t, c.want, strings.Join(got, " "), "%s", c.sizes)
	}
}

// TestGapsAndStocksMakeTheRange: every size of a range is on hand or in exactly
// one gap, and no size on hand lies within a gap.
func TestGapsAndStocksMakeTheRange(t *testing.T) {
	rng := rand.New(rand.NewPCG(3, 4))
	for range 2000 {
		var stocks []Stock
		var of []shim.Length
		missing := 0
		for size := shim.Length(1000); size < 1040; size++ {
			in, have := rng.IntN(2) == 0, rng.IntN(3) == 0
			if in {
				of = append(of, size)
			}
			if have {
				stocks = append(stocks, Stock{Size: size})
			}
			if in && !have {
				missing++
			}
		}
		for _, g := range Gaps(stocks, of) {
			require.LessOrEqual(t, g.From, g.To)
			missing -= g.Sizes
			inside := 0
			for _, size := range of {
				if g.From <= size && size <= g.To {
					inside++
				}
			}
			require.Equal(t, g.Sizes, inside, "%v in %v of %v", g, stocks, of)
			for _, s := range stocks {
				require.False(t, g.From <= s.Size && s.Size <= g.To, "%v in %v of %v", g, stocks, of)
			}
		}
		require.Zero(t, missing, "%v of %v", stocks, of)
	}
}
