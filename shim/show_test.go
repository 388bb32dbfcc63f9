package shim

import (
	"math/big"
	"math/rand/v2"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"shimwright/testdata/effort"
)

func TestShow(t *testing.T) {
	for _, c := range []struct {
		unit        Unit
		length      Length
		least, most int
		want        string
	}{
		{MM, 2_450_000, 3, 4, "2.450"},
		{MM, 2_450_000, 0, 4, "2.45"},
		{MM, 2_000_000, 0, 4, "2"},
		{MM, 165_000, 2, 4, "0.165"},
		{MM, 123_456, 3, 4, "0.1235"},
		{MM, 123_456, 3, 3, "0.123"},
		{MM, 123_450, 3, 4, "0.1234"}, // a tie, 4 is even
		{MM, 123_550, 3, 4, "0.1236"}, // a tie, 5 is odd
		{MM, 123_550, 3, 3, "0.124"},
		{MM, -123_450, 3, 4, "-0.1234"},
		{MM, -123_550, 3, 4, "-0.1236"},
		{MM, 999_950, 0, 4, "1"}, // a tie that carries
		{MM, 500_000, 0, 0, "0"}, // ties at whole millimetres
		{MM, 1_500_000, 0, 0, "2"},
		{MM, 0, 3, 4, "0.000"},
		{MM, 1, 0, 9, "0.000001"}, // never finer than a nanometre
		{MM, 2_450_000, 5, 3, "2.450"},
		// NIST SP 811: 1 in = 25.4 mm exactly.
		{IN, 25_400_000, 4, 5, "1.0000"},
		{IN, 2_450_000, 4, 5, "0.09646"}, // 0.0964566...
		{IN, 2_450_000, 4, 4, "0.0965"},
		{IN, 127, 0, 9, "0"},       // half of 0.00001 in, to even
		{IN, 381, 0, 9, "0.00002"}, // one and a half of them, to even
	} {
		assert.Equal(t, c.want, c.unit.Show(c.length, c.least, c.most), "%d nm in %s, %d to %d decimals", int64(c.length), c.unit, c.least, c.most)
	}
}

// TestShowIsNearest holds the text against exact rational numbers: no other
// text of so many decimals is nearer, a tie ends in an even digit.
func TestShowIsNearest(t *testing.T) {
	random := rand.New(rand.NewPCG(3, 7))
	for range effort.Share(20_000) {
		l := Length(random.Int64N(40_000_000) - 10_000_000)
		if random.IntN(2) == 0 {
			l -= l % 50 // so that ties come often
		}
		unit := []Unit{MM, IN}[random.IntN(2)]
		most := random.IntN(6)
		least := random.IntN(most + 1)
		got := unit.Show(l, least, most)

		shown, ok := new(big.Rat).SetString(got)
		require.True(t, ok, "%q", got)
		per := int64(Millimetre)
		if unit == IN {
			per = int64(Inch)
		}
		exact := big.NewRat(int64(l), per)
		last := new(big.Rat).SetFrac(big.NewInt(1), new(big.Int).Exp(big.NewInt(10), big.NewInt(int64(most)), nil))
		off := new(big.Rat).Sub(shown, exact)
		off.Abs(off).Add(off, off) // twice the error, at most one unit of the last place
		switch off.Cmp(last) {
		case 1:
			t.Fatalf("%d nm in %s to %d decimals: %q is not the nearest", int64(l), unit, most, got)
		case 0:
			units := new(big.Rat).Quo(shown, last)
			require.True(t, units.IsInt())
			require.Zero(t, units.Num().Bit(0), "%d nm in %s to %d decimals: %q breaks a tie to odd", int64(l), unit, most, got)
		}

		_, fraction, point := strings.Cut(got, ".")
		require.True(t, len(fraction) >= least && len(fraction) <= most, "%q", got)
		require.Equal(t, len(fraction) > 0, point, "%q", got)
		if len(fraction) > least {
			require.False(t, strings.HasSuffix(fraction, "0"), "%q has zeros that nobody asked for", got)
		}
	}
}
