package shim

import (
	"encoding/json"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

func TestEstimate(t *testing.T) {
	for _, c := range []struct {
		reading Reading
		want    Length
		number  bool
	}{
		{ReadingOf(mm("0.15")), mm("0.15"), true},
		{ReadingOf(0), 0, true},
		{Reading{Kind: Bracket, Low: mm("0.15"), High: mm("0.18")}, mm("0.165"), true},
		{Reading{Kind: Bracket, Low: 10, High: 11}, 10, true}, // 10.5 to even
		{Reading{Kind: Bracket, Low: 11, High: 12}, 12, true}, // 11.5 to even
		{Reading{Kind: Below, High: mm("0.05")}, 0, false},
		{Reading{Kind: Above, Low: mm("0.60")}, 0, false},
		{Reading{}, 0, false},
	} {
		got, number := c.reading.Estimate()
		assert.Equal(t, c.number, number, "%+v", c.reading)
		assert.Equal(t, c.want, got, "%+v", c.reading)
	}
}

func TestReadingFormat(t *testing.T) {
	for _, c := range []struct {
		reading    Reading
		mm, inches string
	}{
		{ReadingOf(mm("0.2")), "0.20", "0.00787"},
		{ReadingOf(mm("0.254")), "0.254", "0.010"},
		{Reading{Kind: Bracket, Low: mm("0.1524"), High: mm("0.1778")}, "0.1524-0.1778", "0.006-0.007"},
		{Reading{Kind: Below, High: mm("0.0508")}, "<0.0508", "<0.002"},
		{Reading{Kind: Above, Low: mm("0.6")}, ">0.60", ">0.02362"},
		{Reading{}, "", ""},
	} {
		assert.Equal(t, c.mm, c.reading.Format(MM), "%+v", c.reading)
		assert.Equal(t, c.inches, c.reading.Format(IN), "%+v", c.reading)
	}
}

// Both limits are inclusive. A reading without a number gives no verdict, yet
// its leaf alone may prove the clearance to be outside: the clearance is
// smaller than a leaf that does not go, larger than one that falls through.
func TestJudgeAndOutside(t *testing.T) {
	l := limits("0.14", "0.21")
	for _, c := range []struct {
		reading Reading
		verdict Verdict
		outside bool
	}{
		{ReadingOf(mm("0.139999")), Tight, true},
		{ReadingOf(mm("0.14")), OK, false},
		{ReadingOf(mm("0.21")), OK, false},
		{ReadingOf(mm("0.210001")), Loose, true},
		{Reading{Kind: Bracket, Low: mm("0.10"), High: mm("0.12")}, Tight, true},
		{Reading{Kind: Bracket, Low: mm("0.12"), High: mm("0.15")}, Tight, true}, // the middle, 0.135
		{Reading{Kind: Bracket, Low: mm("0.13"), High: mm("0.15")}, OK, false},
		{Reading{Kind: Bracket, Low: mm("0.20"), High: mm("0.23")}, Loose, true},
		{Reading{Kind: Below, High: mm("0.05")}, Unmeasured, true},
		{Reading{Kind: Below, High: mm("0.14")}, Unmeasured, true},
		{Reading{Kind: Below, High: mm("0.15")}, Unmeasured, false},
		{Reading{Kind: Above, Low: mm("0.60")}, Unmeasured, true},
		{Reading{Kind: Above, Low: mm("0.21")}, Unmeasured, true},
		{Reading{Kind: Above, Low: mm("0.20")}, Unmeasured, false},
		{Reading{}, Unmeasured, false},
	} {
		assert.Equal(t, c.verdict, l.Judge(c.reading), "%+v", c.reading)
		assert.Equal(t, c.outside, l.Outside(c.reading), "%+v", c.reading)
	}
}

func TestVerdictText(t *testing.T) {
	data, err := json.Marshal([]Verdict{OK, Tight, Loose, Unmeasured})
	require.NoError(t, err)
	assert.Equal(t, `["ok","tight","loose","unmeasured"]`, string(data))
	var back []Verdict
	require.NoError(t, json.Unmarshal(data, &back))
	assert.Equal(t, []Verdict{OK, Tight, Loose, Unmeasured}, back)
	kept := Loose
	assert.Error(t, json.Unmarshal([]byte(`"good"`), &kept))
	assert.Equal(t, Loose, kept)
}

// The micrometer wins over the stamp: shims wear and marks lie (Honda SH300i
// p. 4-10 and Toyota and Suzuki manuals ask for it).
func TestMeasurementSize(t *testing.T) {
	assert.Equal(t, mm("2.687"), Measurement{Marks: Marks{Stamp: mm("2.70"), Mic: mm("2.687")}}.Size())
	assert.Equal(t, mm("2.70"), Measurement{Marks: Marks{Stamp: mm("2.70")}}.Size())
	assert.Equal(t, mm("2.687"), Measurement{Marks: Marks{Mic: mm("2.687")}}.Size())
	assert.Zero(t, Measurement{}.Size())
}
