package entry_test

import (
	"regexp"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"shimwright/shim"
	"shimwright/shim/entry"
)

func TestClearance(t *testing.T) {
	for _, row := range []struct {
		unit  shim.Unit
		typed string
		want  string // as a check file has it
		sure  bool
	}{
		{shim.MM, ".15", "0.15", true},
		{shim.MM, "0,15", "0.15", true},
		{shim.MM, " 0.150 ", "0.15", true},
		{shim.MM, "0.15 mm", "0.15", true},
		{shim.MM, "0.15MM", "0.15", true},
		{shim.MM, "0.0", "0.00", true},
		{shim.MM, ".127001", "0.127001", true},
		{shim.MM, "15", "0.15", false},
		{shim.MM, "5", "0.05", false},
		{shim.MM, "99", "0.99", false},
		{shim.MM, "150", "0.15", false},
		{shim.MM, "0", "0.00", false},
		{shim.MM, ".15-.18", "0.15-0.18", true},
		{shim.MM, ".15 - .18", "0.15-0.18", true},
		{shim.MM, "0,15–0,18", "0.15-0.18", true},
		{shim.MM, ".15 .18", "0.15-0.18", true},
		{shim.MM, "0,15\t0,18 mm", "0.15-0.18", true},
		{shim.MM, "15-18", "0.15-0.18", false},
		{shim.MM, "15 .18", "0.15-0.18", false},
		{shim.MM, "<.05", "<0.05", true},
		{shim.MM, "< 0,05", "<0.05", true},
		{shim.MM, "<5", "<0.05", false},
		{shim.MM, ">.6", ">0.60", true},
		{shim.MM, ">60", ">0.60", false},
		{shim.MM, ".006in", "0.1524", true},
		{shim.MM, `.006"`, "0.1524", true},
		{shim.MM, "0,006 in", "0.1524", true},
		{shim.MM, "6in", "0.1524", false},
		{shim.MM, ".006-.007in", "0.1524-0.1778", true},
		{shim.MM, ".006in .18mm", "0.1524-0.18", true},
		{shim.MM, "<.002in", "<0.0508", true},
		{shim.MM, ".006/.007in", "0.1524/0.1778", true},
		{shim.MM, ".15mm/.006in", "0.15/0.1524", true},
		{shim.IN, ".0762mm", "0.003", true},
		{shim.IN, ".006", "0.006", true},
		{shim.IN, ".006 in", "0.006", true},
		{shim.IN, `.006"`, "0.006", true},
		{shim.IN, "6", "0.006", false},
		{shim.IN, "65", "0.0065", false},
		{shim.IN, "6-7", "0.006-0.007", false},
		{shim.IN, "<2", "<0.002", false},
	} {
		r, sure, err := entry.Clearance(row.typed, row.unit)
		require.NoError(t, err, "%q", row.typed)
		assert.Equal(t, row.want, r.Format(row.unit), "%q", row.typed)
		assert.Equal(t, row.sure, sure, "%q", row.typed)
	}
}

// What cannot be taken comes with the way out.
func TestClearanceRefused(t *testing.T) {
	for _, typed := range []string{
		"", " ", "-", "<", ">", "<>", "abc", "0x1", "1e-1", "--.1", "-.05", ".15-", "-.15-.18", ".1.5", "0,15,0,18", ".15 .18 .20",
		".18-.15", ".15 .15", "1.5", "12345", "<0", "<.", "0.0000001", "9999999999999999999", ".006ft", ".006in mm", "1.2in", "∞", "\x00", "½",
	} {
		_, sure, err := entry.Clearance(typed, shim.MM)
		var wrong *shim.Hinted
		require.ErrorAs(t, err, &wrong, "%q", typed)
		assert.False(t, sure, "%q", typed)
		assert.NotEmpty(t, wrong.Message, "%q", typed)
		assert.NotEmpty(t, wrong.Hint, "%q", typed)
	}
}

func TestSize(t *testing.T) {
	mm := func(from, to int) []shim.Range {
		return []shim.Range{{From: shim.Length(from) * shim.Micrometre, To: shim.Length(to) * shim.Micrometre}}
	}
	usual := mm(1200, 3000)
	for _, row := range []struct {
		unit       shim.Unit
		catalogue  []shim.Range
		typed      string
		stamp, mic string // mm
		sure       bool
	}{
		{shim.MM, usual, "2.450", "2.45", "0", true},
		{shim.MM, usual, "2,45", "2.45", "0", true},
		{shim.MM, usual, "2.45mm", "2.45", "0", true},
		{shim.MM, usual, "mic 2.447", "0", "2.447", true},
		{shim.MM, usual, "MIC2,447", "0", "2.447", true},
		{shim.MM, usual, "2.450 mic 2.447", "2.45", "2.447", true},
		{shim.MM, usual, "245", "2.45", "0", false},
		{shim.MM, usual, "2450", "2.45", "0", false},
		{shim.MM, usual, "1200", "1.2", "0", false}, // not 12 mm
		{shim.MM, usual, "3", "3", "0", false},
		{shim.MM, usual, "25", "2.5", "0", false},
		{shim.MM, usual, "245 mic 2447", "2.45", "2.447", false},
		{shim.MM, nil, "245", "2.45", "0", false},
		{shim.MM, append(mm(5000, 5200), mm(1200, 1300)...), "510", "5.1", "0", false},
		{shim.MM, usual, ".098in", "2.4892", "0", true},
		{shim.MM, usual, "98in", "2.4892", "0", false},
		{shim.MM, usual, "2.450mm mic .0965in", "2.45", "2.4511", true},
		{shim.IN, nil, "2.45mm", "2.45", "0", true},
		{shim.IN, nil, "mic 2.447 mm", "0", "2.447", true},
		{shim.IN, nil, ".098", "2.4892", "0", true},
		{shim.IN, nil, "98", "2.4892", "0", false},
		{shim.IN, nil, "985", "2.5019", "0", false},
		{shim.IN, nil, "0985 mic .0984", "2.5019", "2.49936", false},
	} {
		s, sure, err := entry.Size(row.typed, row.unit, row.catalogue)
		require.NoError(t, err, "%q", row.typed)
		assert.Equal(t, []string{row.stamp, row.mic}, []string{s.Stamp.String(), s.Mic.String()}, "%q", row.typed)
		assert.Equal(t, row.sure, sure, "%q", row.typed)
	}
}

func TestSizeRefused(t *testing.T) {
	for _, typed := range []string{"", "abc", "mic", "2.45 mic", "mic mic 2.4", "2.45 2.5", "0.1", "0", "24.5", "-2.45", "99999", "2.45.1", "1e1", "2.0000000001"} {
		s, sure, err := entry.Size(typed, shim.MM, nil)
		var wrong *shim.Hinted
		require.ErrorAs(t, err, &wrong, "%q", typed)
		assert.False(t, sure, "%q", typed)
		assert.Zero(t, s, "%q", typed)
		assert.NotEmpty(t, wrong.Hint, "%q", typed)
	}
}

// Whatever is typed, what is taken can stand in a check file.
func FuzzEntry(f *testing.F) {
	for _, seed := range []string{".15", "0,15-0,18", "<.05", ">60", "245", "2.450 mic 2.447", "15 18", "−.1"} {
		f.Add(seed, false)
		f.Add(seed, true)
	}
	f.Fuzz(func(t *testing.T, typed string, inches bool) {
		u := shim.MM
		if inches {
			u = shim.IN
		}
		if r, _, err := entry.Clearance(typed, u); err == nil {
			require.NotEqual(t, shim.Unread, r.Kind)
			for _, l := range []shim.Length{r.Low, r.High} {
				require.NoError(t, shim.ImplausibleClearance(l, u))
			}
			again, sure, err := entry.Clearance(r.Format(u), u)
			require.NoError(t, err, "%q", r.Format(u))
			require.True(t, sure)
			if u == shim.MM {
				require.Equal(t, r, again)
			}
		}
		if s, _, err := entry.Size(typed, u, nil); err == nil {
			require.NotZero(t, s.Stamp+s.Mic)
			for _, l := range []shim.Length{s.Stamp, s.Mic} {
				require.True(t, l == 0 || shim.ImplausibleSize(l, u) == nil)
			}
		}
	})
}

// The examples of the hints are taken, in either unit.
func TestHintsAreTaken(t *testing.T) {
	like := regexp.MustCompile(`like ([^ ]*[^ ,])`)
	for _, u := range []shim.Unit{shim.MM, shim.IN} {
		_, _, err := entry.Clearance("xx", u)
		for _, example := range like.FindAllStringSubmatch(shim.HintOf(err), -1) {
			_, sure, err := entry.Clearance(example[1], u)
			assert.NoError(t, err, example[1])
			assert.True(t, sure, example[1])
		}
		_, _, err = entry.Size("xx", u, nil)
		size := like.FindStringSubmatch(shim.HintOf(err))
		require.NotNil(t, size)
		_, sure, err := entry.Size(size[1], u, nil)
		assert.NoError(t, err, size[1])
		assert.True(t, sure, size[1])
		assert.Less(t, len(size[1]), 6, "no figure turned over from the other unit: %s", size[1])
	}
}
