package shim

import (
	"encoding/json"
	"math/big"
	"math/rand/v2"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"shimwright/testdata/effort"
)

func TestFactor(t *testing.T) {
	for text, want := range map[string]Factor{
		"1": One, "0.5": 500_000, "-1": -One, "1.43": 1_430_000, "0.699301": 699_301, ".6": 600_000, "1000": 1000 * One, "-1000": -1000 * One,
	} {
		got, err := ParseFactor(text)
		require.NoError(t, err, "%q", text)
		assert.Equal(t, want, got, "%q", text)
		again, err := ParseFactor(got.String())
		require.NoError(t, err, "%q", text)
		assert.Equal(t, want, again, "%q written as %q", text, got)
	}
	assert.Equal(t, "1.43", Factor(1_430_000).String())
	for text, want := range map[string]error{
		"": ErrNotNumber, "1/2": ErrNotNumber, "50%": ErrNotNumber, "0.1234567": ErrTooFine,
		"1000.000001": ErrTooLarge, "-1000.000001": ErrTooLarge, "99999999999999999999": ErrTooLarge,
	} {
		got, err := ParseFactor(text)
		assert.ErrorIs(t, err, want, "%q", text)
		assert.Zero(t, got, "%q", text)
	}
}

func TestOf(t *testing.T) {
	for _, c := range []struct {
		factor       Factor
		length, want Length
	}{
		{One, 123_457, 123_457},
		{-One, 123_457, -123_457},
		{One / 2, 1, 0}, // 0.5 to even
		{One / 2, 3, 2}, // 1.5 to even
		{One / 2, 5, 2}, // 2.5 to even
		{One / 2, -1, 0},
		{One / 2, -3, -2},
		{-One / 2, 5, -2},
		{1_430_000, 110_000, 157_300}, // Tomei SR20 manual p. 9: 0.11 x 1.43 = 0.1573
		{1000 * One, 999_999_999, 999_999_999_000},
	} {
		assert.Equal(t, c.want, c.factor.Of(c.length), "%s of %d nm", c.factor, c.length)
	}
}

// The oracle is the exact product as a fraction, rounded by the test itself.
func TestOfAgainstFractions(t *testing.T) {
	random := rand.New(rand.NewPCG(3, 3))
	ties := 0
	for i := range effort.Share(30_000) {
		f := Factor(random.Int64N(2*int64(maxFactor)) - int64(maxFactor))
		l := Length(random.Int64N(2_000_000_000) - 1_000_000_000)
		if i%2 == 0 { // ratios and aims as people write them, where ties are common
			f = Factor(random.Int64N(80)-40) * One / 8
			l = Length(random.Int64N(4000) - 2000)
		}
		exact := big.NewRat(int64(f), int64(One))
		exact.Mul(exact, new(big.Rat).SetInt64(int64(l)))
		if exact.Denom().Int64() == 2 {
			ties++
		}
		require.EqualValues(t, roundHalfEven(exact), f.Of(l), "%s of %d nm", f, l)
	}
	assert.Greater(t, ties, effort.Share(500), "the values must cover ties")
}

func TestPrice(t *testing.T) {
	for text, want := range map[string]struct {
		price   Price
		written string
	}{
		"7.80":   {78_000, "7.80"},
		"7.8125": {78_125, "7.8125"},
		"12":     {120_000, "12.00"},
		"0":      {0, "0.00"},
	} {
		got, err := ParsePrice(text)
		require.NoError(t, err, "%q", text)
		assert.Equal(t, want.price, got, "%q", text)
		assert.Equal(t, want.written, got.String(), "%q", text)
	}
	for _, text := range []string{"-0.01", "1.00001", "", "7,80", "£7", "999999999"} {
		got, err := ParsePrice(text)
		assert.Error(t, err, "%q", text)
		assert.Zero(t, got, "%q", text)
	}
}

func TestPriceJSON(t *testing.T) {
	data, err := json.Marshal([]Price{78_000, 78_125, 120_000})
	require.NoError(t, err)
	assert.Equal(t, `[7.8,7.8125,12]`, string(data))
	var back []Price
	require.NoError(t, json.Unmarshal(data, &back))
	assert.Equal(t, []Price{78_000, 78_125, 120_000}, back)

	kept := Price(5)
	assert.Error(t, json.Unmarshal([]byte(`-1`), &kept))
	assert.Error(t, json.Unmarshal([]byte(`"7.80"`), &kept))
	assert.Equal(t, Price(5), kept)
}
