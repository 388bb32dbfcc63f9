package shim

import (
	"encoding/json"
	"fmt"
	"math/big"
	"math/rand/v2"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"shimwright/testdata/effort"
)

// mm reads a length in mm, for tests whose figures are printed in mm.
func mm(text string) Length {
	l, err := MM.Parse(text)
	if err != nil {
		panic(err)
	}
	return l
}

// roundHalfEven is the test's own rounding, on exact fractions: the nearest
// whole number, ties to even.
func roundHalfEven(r *big.Rat) int64 {
	up := new(big.Rat).Add(r, big.NewRat(1, 2))
	floor := new(big.Int).Div(up.Num(), up.Denom()) // Euclidean: floor, as the denominator is positive
	if up.IsInt() && floor.Bit(0) == 1 {
		floor.Sub(floor, big.NewInt(1))
	}
	return floor.Int64()
}

func TestParse(t *testing.T) {
	for _, c := range []struct {
		unit Unit
		text string
		want Length
	}{
		{MM, "0.15", 150_000},
		{MM, "2.80", 2_800_000},
		{MM, "2.8000000000000000000000", 2_800_000},
		{MM, " 1.2 ", 1_200_000},
		{MM, "2.", 2_000_000},
		{MM, ".5", 500_000},
		{MM, "+1", 1_000_000},
		{MM, "-0.05", -50_000},
		{MM, "-0", 0},
		{MM, "0.000001", 1},
		{MM, "0002.675", 2_675_000},
		{MM, "1000000", 1_000_000_000_000},
		// NIST SP 811 (2008), appendix B.8: 1 in = 2.54 E-02 m, exact.
		{IN, "1", 25_400_000},
		{IN, "0.001", 25_400},
		{IN, "0.00001", 254},
		{IN, "0.000005", 127},
		{IN, "-.1", -2_540_000},
		{IN, "39370", 999_998_000_000},
	} {
		got, err := c.unit.Parse(c.text)
		assert.NoError(t, err, "%q", c.text)
		assert.Equal(t, c.want, got, "%q %s", c.text, c.unit)
	}
}

func TestParseRefuses(t *testing.T) {
	for _, c := range []struct {
		unit Unit
		text string
		want error
	}{
		{MM, "", ErrNotNumber},
		{MM, "-", ErrNotNumber},
		{MM, ".", ErrNotNumber},
		{MM, "+-1", ErrNotNumber},
		{MM, "1.2.3", ErrNotNumber},
		{MM, "1,2", ErrNotNumber},
		{MM, "1e3", ErrNotNumber},
		{MM, "0x10", ErrNotNumber},
		{MM, "1 2", ErrNotNumber},
		{MM, "0.15mm", ErrNotNumber},
		{MM, "NaN", ErrNotNumber},
		{MM, "Inf", ErrNotNumber},
		{MM, "٣", ErrNotNumber}, // a digit, yet not one of the ten
		{MM, "0.0000001", ErrTooFine},
		{MM, "0." + strings.Repeat("3", 400), ErrTooFine},
		{IN, "0.000001", ErrTooFine}, // 25.4 nm
		{MM, "1000001", ErrTooLarge},
		{MM, strings.Repeat("9", 400), ErrTooLarge},
		{MM, "-99999999999999999999", ErrTooLarge},
		{IN, "39371", ErrTooLarge},
	} {
		got, err := c.unit.Parse(c.text)
		assert.ErrorIs(t, err, c.want, "%q %s", c.text, c.unit)
		assert.Zero(t, got, "%q", c.text)
	}
}

// The oracle is the exact fraction that math/big makes of the same text.
func TestParseAgainstFractions(t *testing.T) {
	random := rand.New(rand.NewPCG(1, 1))
	digits := func(n int) string {
		text := make([]byte, n)
		for i := range text {
			text[i] = '0' + byte(random.IntN(10))
		}
		return string(text)
	}
	seen := map[string]int{}
	for range effort.Share(20_000) {
		text := []string{"", "-", "+"}[random.IntN(3)] + "0" + digits(random.IntN(8))
		if n := random.IntN(9); n > 0 {
			text += "." + digits(n) + strings.Repeat("0", random.IntN(3))
		}
		unit, scale := MM, int64(1_000_000)
		if random.IntN(2) == 0 {
			unit, scale = IN, 25_400_000
		}
		exact, ok := new(big.Rat).SetString(text)
		require.True(t, ok, "%q", text)
		exact.Mul(exact, new(big.Rat).SetInt64(scale))

		whole, _, _ := strings.Cut(strings.TrimLeft(text, "+-"), ".")
		size, _ := new(big.Int).SetString(whole, 10)
		got, err := unit.Parse(text)
		switch {
		case size.Int64() > 1_000_000_000_000/scale:
			seen["large"]++
			require.ErrorIs(t, err, ErrTooLarge, "%q %s", text, unit)
		case !exact.IsInt():
			seen["fine"]++
			require.ErrorIs(t, err, ErrTooFine, "%q %s", text, unit)
		default:
			seen["exact"]++
			require.NoError(t, err, "%q %s", text, unit)
			require.Equal(t, exact.Num().Int64(), int64(got), "%q %s", text, unit)
		}
	}
	for _, kind := range []string{"large", "fine", "exact"} {
		assert.Greater(t, seen[kind], effort.Share(500), "the texts must cover %s", kind)
	}
}

func TestFormat(t *testing.T) {
	for _, c := range []struct {
		unit     Unit
		length   Length
		decimals int
		want     string
	}{
		{MM, 0, 0, "0"},
		{MM, 0, 2, "0.00"},
		{MM, 2_800_000, 0, "2.8"},
		{MM, 2_800_000, 3, "2.800"},
		{MM, 2_812_345, 3, "2.812345"},
		{MM, -50_000, 0, "-0.05"},
		{MM, 1, 0, "0.000001"},
		{MM, 10_000_000, 0, "10"},
		{IN, 25_400_000, 0, "1"},
		{IN, 25_400_000, 3, "1.000"},
		{IN, 25_400, 0, "0.001"},
		// Half to even at the fifth decimal, 254 nm.
		{IN, 127, 0, "0"},
		{IN, 381, 0, "0.00002"},
		{IN, 635, 0, "0.00002"},
		{IN, 636, 0, "0.00003"},
		{IN, -381, 0, "-0.00002"},
	} {
		assert.Equal(t, c.want, c.unit.FormatAtLeast(c.length, c.decimals), "%d nm in %s", c.length, c.unit)
		if c.decimals == 0 {
			assert.Equal(t, c.want, c.unit.Format(c.length), "%d nm in %s", c.length, c.unit)
		}
	}
}

// Rounding half to even as in NIST SP 811 (2008), appendix B.7.1. The figures
// are those of "Rules for rounding off", Hartnell College (seen).
func TestHalfToEven(t *testing.T) {
	assert.EqualValues(t, 214, divHalfEven(21_450, 100), "21.450 to 21.4")
	assert.EqualValues(t, 214, divHalfEven(21_350, 100), "21.350 to 21.4")
	assert.EqualValues(t, 215, divHalfEven(214_501, 1000), "21.4501 to 21.5")
	for n := int64(-50); n <= 50; n++ {
		for d := int64(1); d <= 12; d++ {
			assert.Equal(t, roundHalfEven(big.NewRat(n, d)), divHalfEven(n, d), "%d/%d", n, d)
		}
	}
}

// Sizes that makers print both in mm and in inches: ours must round to the
// printed inches at the printed number of decimals.
func TestPublishedInches(t *testing.T) {
	for _, c := range []struct{ source, mm, inches string }{
		// Haynes manual, shim thickness table, mm (in), as copied at oplib.ru (seen).
		{"Haynes", "2.55", "0.1004"}, {"Haynes", "2.60", "0.1024"}, {"Haynes", "2.65", "0.1043"},
		{"Haynes", "2.70", "0.1063"}, {"Haynes", "2.75", "0.1083"}, {"Haynes", "2.80", "0.1102"},
		{"Haynes", "2.85", "0.1122"}, {"Haynes", "2.90", "0.1142"}, {"Haynes", "2.95", "0.116"},
		{"Haynes", "3.00", "0.118"}, {"Haynes", "3.05", "0.120"}, {"Haynes", "3.10", "0.122"},
		{"Haynes", "3.15", "0.1240"}, {"Haynes", "3.20", "0.1260"}, {"Haynes", "3.25", "0.1280"},
		{"Haynes", "3.30", "0.1299"},
		// Nissan MR20DE, valve clearance adjustment (seen).
		{"Nissan", "0.30", "0.012"}, {"Nissan", "0.33", "0.013"}, {"Nissan", "3.02", "0.1189"},
		{"Nissan", "3.00", "0.1181"}, {"Nissan", "3.50", "0.1378"}, {"Nissan", "0.02", "0.0008"},
	} {
		places := len(c.inches) - len("0.")
		half, err := IN.Parse("0." + strings.Repeat("0", places) + "5")
		require.NoError(t, err)
		printed, err := IN.Parse(c.inches)
		require.NoError(t, err)
		assert.LessOrEqual(t, (mm(c.mm) - printed).Abs(), half, "%s: %s mm is %s in, printed %s", c.source, c.mm, IN.Format(mm(c.mm)), c.inches)
	}
}

func TestFormatParsesBack(t *testing.T) {
	random := rand.New(rand.NewPCG(2, 2))
	for range effort.Share(20_000) {
		l := Length(random.Int64N(2_000_000_000) - 1_000_000_000)
		decimals := random.IntN(7)
		back, err := MM.Parse(MM.FormatAtLeast(l, decimals))
		require.NoError(t, err)
		require.Equal(t, l, back, "%d nm through mm", l)

		// In inches: exact on the grid of the fifth decimal, elsewhere rounded.
		text := IN.FormatAtLeast(l, decimals)
		back, err = IN.Parse(text)
		require.NoError(t, err)
		units := roundHalfEven(big.NewRat(int64(l), 254))
		require.EqualValues(t, units*254, back, "%d nm through inches: %s", l, text)
	}
}

func TestUnit(t *testing.T) {
	for text, want := range map[string]Unit{"mm": MM, " MM ": MM, "in": IN, "In": IN} {
		got, err := ParseUnit(text)
		assert.NoError(t, err, "%q", text)
		assert.Equal(t, want, got, "%q", text)
	}
	for _, text := range []string{"", "cm", "inch", "m m"} {
		_, err := ParseUnit(text)
		assert.Error(t, err, "%q", text)
	}
	assert.Equal(t, "mm in", fmt.Sprint(MM, " ", IN))
}

func TestLengthJSON(t *testing.T) {
	type row struct {
		Size Length `json:"size_mm"`
	}
	data, err := json.Marshal(row{2_675_001})
	require.NoError(t, err)
	assert.Equal(t, `{"size_mm":2.675001}`, string(data))

	var back row
	require.NoError(t, json.Unmarshal([]byte(`{"size_mm": -0.05}`), &back))
	assert.Equal(t, Length(-50_000), back.Size)

	for _, bad := range []string{`"2.675"`, `2e3`, `true`, `null`, `0.0000001`, `1000001`} {
		kept := row{7}
		assert.Error(t, json.Unmarshal([]byte(`{"size_mm":`+bad+`}`), &kept), "%s", bad)
		assert.Equal(t, row{7}, kept, "%s must change nothing", bad)
	}
}

func TestAbs(t *testing.T) {
	assert.Equal(t, Length(3), Length(-3).Abs())
	assert.Equal(t, Length(3), Length(3).Abs())
	assert.Equal(t, Length(0), Length(0).Abs())
}

func FuzzParse(f *testing.F) {
	for _, text := range []string{"0.15", "-2.8", ".5", "5.", "+1", "1e3", "", "0.1181", "0.000005", "999.9999999", "1.2.3", "٣", "0.00000000000000000001"} {
		f.Add(text)
	}
	f.Fuzz(func(t *testing.T, text string) {
		for _, unit := range []Unit{MM, IN} {
			l, err := unit.Parse(text)
			if err != nil {
				require.Zero(t, l, "%q", text)
				continue
			}
			if l.Abs() >= 1000*Millimetre {
				continue // rounding up in inches may leave what can be read
			}
			written := unit.Format(l)
			back, err := unit.Parse(written)
			require.NoError(t, err, "%q, written %q", text, written)
			require.Equal(t, written, unit.Format(back), "%q", text)
			if unit == MM {
				require.Equal(t, l, back, "%q", text)
			} else {
				require.LessOrEqual(t, (l - back).Abs(), Length(127), "%q", text)
			}
		}
	})
}
