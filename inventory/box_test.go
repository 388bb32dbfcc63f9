package inventory

import (
	"fmt"
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
		list = append(list, Stock{Disc: shim.Disc{Family: shim.Family{Diameter: 8900 * shim.Micrometre}, Size: l}, OnHand: 1})
	}
	return list
}

func TestGaps(t *testing.T) {
	for _, c := range []struct{ sizes, of, want string }{
		{"", "2.4 2.45", "2.4-2.45:2"},
		{"2.4", "2.4", ""},
		{"2.4 2.425 2.475", "2.4 2.425 2.45 2.475", "2.45-2.45:1"},
		{"2.35 2.4 2.6", "2.3 2.35 2.4 2.45 2.5 2.55 2.6 2.65 2.7", "2.3-2.3:1 2.45-2.55:3 2.65-2.7:2"},
		// A reading of a micrometer is none of the range, yet lies in the gap.
		{"2.35 2.422 2.5", "2.35 2.4 2.45 2.5", "2.4-2.4:1 2.45-2.45:1"},
	} {
		stocks := stocksOf(t, c.sizes)
		var of []shim.Length
		for _, s := range stocksOf(t, c.of) {
			of = append(of, s.Size)
		}
		var got []string
		for _, g := range Gaps(stocks, of) {
			got = append(got, fmt.Sprintf("%s-%s:%d", g.From, g.To, g.Sizes))
		}
		assert.Equal(t, c.want, strings.Join(got, " "), "%s of %s", c.sizes, c.of)
	}
}

func TestRangeOf(t *testing.T) {
	for _, c := range []struct{ stamps, want string }{
		{"", ""},
		{"2.4", ""}, // one size shows no step
		{"2.5 2.4 2.45 2.4", "2.4 2.45 2.5"},
		{"2.3 2.425 2.35", "2.3 2.325 2.35 2.375 2.4 2.425"},
		{"2.4 2.401 2.5", ""},                               // finer than any range
		{"2.54 2.5654 2.6162", "2.54 2.5654 2.5908 2.6162"}, // thousandths of an inch
	} {
		var stamps []shim.Length
		for _, s := range stocksOf(t, c.stamps) {
			stamps = append(stamps, s.Size)
		}
		var got []string
		for _, size := range RangeOf(stamps) {
			got = append(got, size.String())
		}
		assert.Equal(t, c.want, strings.Join(got, " "), "%s", c.stamps)
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
				stocks = append(stocks, Stock{Disc: shim.Disc{Size: size}})
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
