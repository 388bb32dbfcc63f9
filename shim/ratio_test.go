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

// With a rocker ratio r, k is 1/r and c' = c + (s - x)/r, rounded once, half to
// even: against fractions, for all r from 1.00 to 2.00 by 0.01.
func TestRockerRatioIsExact(t *testing.T) {
	random := rand.New(rand.NewPCG(9, 15))
	compared, ties, apart := 0, 0, 0
	rounds := int64(effort.Share(2000))
	for hundredths := int64(100); hundredths <= 200; hundredths++ {
		rocker := Factor(hundredths * 10_000)
		k := RockerRatio(rocker)
		decimal := Ratio{Times: Factor(roundHalfEven(big.NewRat(1e6*100, hundredths)))}
		for i := range rounds {
			by := i - rounds/2 // every nanometre near 0, then anything up to 3 mm
			if i%2 == 1 {
				by = random.Int64N(6_000_001) - 3_000_000
			}
			s := Setting{Ratio: k, Clearance: 170_000, Size: 2_800_000}
			exact := big.NewRat(by*100, hundredths)
			require.Equal(t, s.Clearance+Length(roundHalfEven(exact)), s.Expect(s.Size-Length(by)), "1/%s of %d nm", rocker, by)
			require.Equal(t, Length(roundHalfEven(big.NewRat(by*hundredths, 100))), k.Under(Length(by)), "%d nm over 1/%s", by, rocker)
			compared++
			if exact.Denom().Cmp(big.NewInt(2)) == 0 {
				ties++
			}
			if decimal.Of(Length(by)) != k.Of(Length(by)) {
				apart++
			}
		}
	}
	t.Logf("%d products compared, %d of them ties; six decimals would be a nanometre or more off in %d", compared, ties, apart)
	assert.Greater(t, ties, int(rounds)/2)
	assert.Greater(t, apart, int(rounds)/2)
}

// A decimal ratio is written as it always was; a fraction keeps both figures.
func TestRatioJSON(t *testing.T) {
	for text, ratio := range map[string]Ratio{
		"1000000":           RockerRatio(One),
		"699301":            {Times: 699_301},
		`"1000000/1430000"`: RockerRatio(1_430_000),
	} {
		written, err := json.Marshal(ratio)
		require.NoError(t, err)
		assert.Equal(t, text, string(written))
		var read Ratio
		require.NoError(t, json.Unmarshal([]byte(text), &read))
		assert.Equal(t, ratio, read)
	}
	var r Ratio
	for _, text := range []string{`"1/1.43"`, `"1000000"`, `"1000000/0"`, `"1/-1"`, `1.5`, `{}`, `"/"`} {
		assert.Error(t, json.Unmarshal([]byte(text), &r), text)
	}
	assert.Equal(t, "1/1.43", RockerRatio(1_430_000).String())
	assert.Equal(t, "0.7", Ratio{Times: 700_000}.String())
}
