package entry_test

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"shimwright/shim"
	"shimwright/shim/entry"
)

// A mark at a prompt, alone or beside what the micrometer reads.
func TestMarked(t *testing.T) {
	marks := shim.MarkList{{Text: "10", Size: 2_700_000}, {Text: "50", Size: 2_500_000}, {Text: "50", Size: 3_500_000}}
	all := []shim.Range{{From: 2_000_000, To: 3_500_000, Step: 25_000}}
	for _, c := range []struct {
		typed        string
		known        shim.Length
		stamp, mic   shim.Length
		sure, marked bool
	}{
		{"10", 0, 2_700_000, 0, true, true},
		{" no. 10 ", 0, 2_700_000, 0, true, true},
		{"10 mic 2.697", 0, 2_700_000, 2_697_000, true, true},
		{"50 MIC 3,49", 0, 3_500_000, 3_490_000, true, true},
		{"50 mic 3.0", 0, 0, 3_000_000, true, true},
		{"50", 2_490_000, 2_500_000, 0, false, true},
		{"2.70", 0, 0, 0, false, false},
		{"mic 2.70", 0, 0, 0, false, false},
	} {
		s, sure, marked, err := entry.Marked(c.typed, shim.MM, marks, all, c.known)
		require.NoError(t, err, c.typed)
		assert.Equal(t, entry.Shim{Stamp: c.stamp, Mic: c.mic}, s, c.typed)
		assert.Equal(t, []bool{c.sure, c.marked}, []bool{sure, marked}, c.typed)
	}
	for typed, known := range map[string]shim.Length{"50": 3_000_000, "10 mic x": 0, "10 mic": 0} {
		_, _, marked, err := entry.Marked(typed, shim.MM, marks, all, known)
		assert.True(t, marked)
		var wrong *shim.Hinted
		require.ErrorAs(t, err, &wrong, typed)
		assert.NotEmpty(t, wrong.Hint)
	}
}
