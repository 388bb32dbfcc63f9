package shim

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// What two readings of one valve come to: JCGM 100:2008, 4.2.1 (the mean), F.2.2.1
// (a repeated figure tells nothing new) and 4.3.7 (bounds); which way brackets
// are put together is the project's own rule.
func TestTwoReadings(t *testing.T) {
	l := limits("0.14", "0.21")
	gauge := Gauge{Step: mm("0.03"), Leaf: mm("0.005")}
	for _, c := range []struct {
		text            string
		tighter         bool
		estimate        string
		joined, against string
		verdict         Verdict
		undecided, far  bool
	}{
		{text: "0.15/0.16", estimate: "0.155", joined: "0.15/0.16", against: "0.15/0.16"},
		{text: "0.16/0.15", estimate: "0.155", joined: "0.16/0.15", against: "0.16/0.15"},
		{text: "0.15/0.16", tighter: true, estimate: "0.15", joined: "0.15", against: "0.15"},
		{text: "0.16/0.15", tighter: true, estimate: "0.15", joined: "0.15", against: "0.15"},
		{text: "0.15/0.15", estimate: "0.15", joined: "0.15", against: "0.15"},
		{text: "0.13/0.16", estimate: "0.145", joined: "0.13/0.16", against: "0.13/0.16", undecided: true},
		{text: "0.13/0.16", tighter: true, estimate: "0.13", joined: "0.13", against: "0.13", verdict: Tight},
		{text: "0.12/0.15", estimate: "0.135", joined: "0.12/0.15", against: "0.12/0.15", verdict: Tight},
		{text: "0.20/0.23", estimate: "0.215", joined: "0.20/0.23", against: "0.20/0.23", verdict: Loose},
		{text: "0.15/0.19", estimate: "0.17", joined: "0.15/0.19", against: "0.15/0.19"}, // step and two leaves: just explained
		{text: "0.15/0.191", estimate: "0.1705", joined: "0.15/0.191", against: "0.135-0.206", far: true},
		{text: "0.15-0.18/0.15-0.18", estimate: "0.165", joined: "0.15-0.18", against: "0.15-0.18"},
		{text: "0.15-0.18/0.16-0.20", estimate: "0.17", joined: "0.16-0.18", against: "0.16-0.18"},
		{text: "0.15-0.18/0.16-0.20", tighter: true, estimate: "0.165", joined: "0.15-0.18", against: "0.15-0.18"},
		{text: "0.15-0.18/0.18-0.20", estimate: "0.175", joined: "0.15-0.20", against: "0.15-0.20"},
		{text: "0.15-0.18/0.19-0.20", estimate: "0.175", joined: "0.15-0.20", against: "0.15-0.20"}, // two leaves: just explained
		{text: "0.10-0.13/0.15-0.18", estimate: "0.14", joined: "0.10-0.18", against: "0.10-0.18", undecided: true, far: true},
	} {
		r, err := ParseReading(c.text, MM)
		require.NoError(t, err, c.text)
		assert.Equal(t, c.text, r.Format(MM))
		r.Second.Tighter = c.tighter
		got, number := r.Estimate()
		assert.True(t, number, c.text)
		assert.Equal(t, mm(c.estimate), got, "%s %t", c.text, c.tighter)
		assert.Equal(t, c.joined, r.Joined().Format(MM), "%s %t", c.text, c.tighter)
		assert.Equal(t, c.against, r.Against(gauge).Format(MM), "%s %t", c.text, c.tighter)
		assert.Equal(t, c.verdict, l.Judge(r), "%s %t", c.text, c.tighter)
		assert.Equal(t, c.undecided, l.Undecided(r), "%s %t", c.text, c.tighter)
		_, _, far := r.Apart(gauge)
		assert.Equal(t, c.far, far, c.text)
	}
	r, err := ParseReading("0.13/0.16", MM)
	require.NoError(t, err)
	assert.Contains(t, l.Deciding(r, MM), "0.13 is tight, 0.16 is inside")
}

func TestReadingsThatDoNotGoTogether(t *testing.T) {
	for _, text := range []string{"0.15/0.15-0.18", "<0.05/0.06", "<0.05/<0.05", ">0.6/>0.6", "0.15/", "/0.15", "0.15/0.16/0.17"} {
		_, err := ParseReading(text, MM)
		assert.Error(t, err, text)
	}
}
