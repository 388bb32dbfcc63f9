package shim

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// What is taken off a loaded gap, and what is left of it, by an engine that takes
// the mean of two readings and by one that takes the tighter.
func TestLoadedLess(t *testing.T) {
	fine := Gauge{Step: 10 * Micrometre, Leaf: 2 * Micrometre}
	for _, c := range []struct {
		loaded, opener string
		tighter        bool
		gauge          Gauge
		text, clear    string // "" is no number
	}{
		{"0.152", "0.101", false, UsualGauge, "0.152 less 0.101", "0.051"}, // ducatitech.com, 2v maintenance
		{"0.17", "0.12/0.14", false, UsualGauge, "0.17 less 0.12/0.14", "0.04"},
		{"0.17", "0.14/0.12", true, UsualGauge, "0.17 less 0.14", "0.03"},
		{"0.17", "0.12/0.14", true, UsualGauge, "0.17 less 0.14", "0.03"},
		{"0.30", "0.10-0.13/0.12-0.15", false, UsualGauge, "0.30 less 0.12-0.13", "0.175"},
		{"0.30", "0.10-0.13/0.12-0.15", true, UsualGauge, "0.30 less 0.12-0.15", "0.165"},
		{"0.12", "0.12", false, UsualGauge, "<0.03 (0.12 less 0.12)", ""},
		{"0.12", "0.12", false, Gauge{}, "<0.000001 (0.12 less 0.12)", ""},
		{"0.14", "0.12", false, UsualGauge, "<0.05 (0.14 less 0.12)", ""},
		{"0.14", "0.12", false, fine, "0.14 less 0.12", "0.02"},
		{"0.10-0.15", "0.10-0.13", false, UsualGauge, "<0.05 (0.10-0.15 less 0.10-0.13)", ""},
		{"0.15-0.18", "0.10-0.13", false, UsualGauge, "0.15-0.18 less 0.10-0.13", "0.05"},
		// The loaded gap read twice: the mean, or the smaller one; far apart anything between.
		{"0.20/0.23", "0.12", false, UsualGauge, "0.20/0.23 less 0.12", "0.095"},
		{"0.23/0.20", "0.12", true, UsualGauge, "0.23/0.20 less 0.12", "0.08"},
		{"0.20/0.20", "0.12", false, UsualGauge, "0.20/0.20 less 0.12", "0.08"},
		{"0.20/0.23", "0.12/0.14", false, UsualGauge, "0.20/0.23 less 0.12/0.14", "0.085"},
		{"0.20/0.23", "0.12/0.14", true, UsualGauge, "0.20/0.23 less 0.14", "0.06"},
		{"0.20-0.23/0.21-0.24", "0.12", false, UsualGauge, "0.20-0.23/0.21-0.24 less 0.12", "0.1"},
		{"0.21-0.24/0.20-0.23", "0.12", true, UsualGauge, "0.21-0.24/0.20-0.23 less 0.12", "0.095"},
		{"0.12/0.13", "0.12", false, UsualGauge, "<0.04 (0.12/0.13 less 0.12)", ""},
		{"0.12/0.30", "0.12", false, UsualGauge, "<0.21 (0.12/0.30 less 0.12)", ""},
		// A loaded gap is never the smaller one: read so within what the leaves explain it shows no play.
		{"0.10", "0.12", false, UsualGauge, "<0.015 (0.10 less 0.12)", ""},
		{"0.09", "0.12", false, UsualGauge, "<0.015 (0.09 less 0.12)", ""},
		{"0.12", "0.12/0.13", false, UsualGauge, "<0.03 (0.12 less 0.12/0.13)", ""},
		{"0.13", "0.14", false, fine, "<0.005 (0.13 less 0.14)", ""},
		{"0.07-0.10", "0.10-0.13", false, UsualGauge, "<0.015 (0.07-0.10 less 0.10-0.13)", ""},
	} {
		loaded, err := ParseReading(c.loaded, MM)
		require.NoError(t, err)
		loaded.Second.Tighter = c.tighter && loaded.Second.Taken
		opener, err := ParseReading(c.opener, MM)
		require.NoError(t, err)
		opener.Second.Tighter = c.tighter
		r, known := LoadedLess(loaded, opener, c.gauge)
		require.True(t, known, c.text)
		assert.Equal(t, c.text, r.Format(MM))
		got, number := r.Estimate()
		assert.Equal(t, c.clear != "", number, c.text)
		if number {
			assert.Equal(t, mm(c.clear), got, c.text)
		}
		assert.Equal(t, loaded, r.Loaded())
		assert.True(t, r.TakenOff(opener), c.text)
		assert.False(t, r.TakenOff(ReadingOf(mm("0.09"))), c.text)
		again, err := ParseReading(c.text, MM)
		require.NoError(t, err)
		again.Second.Tighter = c.tighter && again.Second.Taken
		assert.Equal(t, r, again)
	}
	for _, c := range []struct{ loaded, opener string }{{"0.07", "0.12"}, {"0.10", "0.15/0.16"}, {"0.05/0.06", "0.12"}, {"0.07-0.09", "0.12-0.15"}} {
		loaded, err := ParseReading(c.loaded, MM)
		require.NoError(t, err)
		opener, err := ParseReading(c.opener, MM)
		require.NoError(t, err)
		r, known := LoadedLess(loaded, opener, UsualGauge)
		estimate, number := r.Estimate()
		assert.True(t, known && number && estimate < 0, "%s less %s is a misreading", c.loaded, c.opener)
	}
	for _, text := range []string{"<0.03 (0.12 less 0.12/0.13/0.14)", "<0.03 (0.12)", ">0.03 (0.12 less 0.12)", "(0.12 less 0.12)"} {
		_, err := ParseReading(text, MM)
		assert.Error(t, err, text)
	}
}
