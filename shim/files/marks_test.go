package files

import (
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"shimwright/shim"
)

// readMarks reads an engine whose shims have these lines.
func readMarks(lines, catalogue string) (*shim.Engine, error) {
	e, _, err := ReadEngine("e.toml", strings.NewReader("name = \"Auk\"\ncylinders = 1\n[intake]\nvalves = 1\nclearance = [0.1, 0.2]\n[shims]\ndiameter = 29\n"+lines+catalogue))
	return e, err
}

const onSale = "\n[[shims.catalogue]]\nfrom = 2.5\nto = 3.3\nstep = 0.025\n"

// No. n is 2.45 + 0.025 n (Toyota Mk3, 02-34, seen); two digits are 2.50 and
// 3.50 (Kawasaki KLE650, seen); letters stand 0.001 in apart (Jaguar XK, seen).
func TestReadMarks(t *testing.T) {
	for name, c := range map[string]struct {
		lines, catalogue string
		count            int
		want             map[string]string // a mark and its sizes
	}{
		"none":          {"", onSale, 0, nil},
		"rule":          {`marks = "2.45 + 0.025 n"`, onSale, 33, map[string]string{"2": "2.500", "10": "2.700", "34": "3.300", "1": "", "35": ""}},
		"no catalogue":  {`marks = "2.45 + 0.025 n"`, "", 100, map[string]string{"0": "2.450", "99": "4.925"}},
		"bounds":        {`marks = "2.45+0.025n, n = 1 to 17"`, onSale, 17, map[string]string{"1": "2.475", "17": "2.875", "18": ""}},
		"two digits":    {`marks = ["2.00 + 0.01 nn", "3.00 + 0.01 nn"]`, onSale, 81, map[string]string{"50": "2.500", "05": "3.050", "30": "3.300"}},
		"down":          {`marks = "3.30 - 0.025 n"`, onSale, 33, map[string]string{"0": "3.300", "32": "2.500"}},
		"three digits":  {`marks = "0.01 nnn"`, onSale, 81, map[string]string{"265": "2.650", "250": "2.500"}},
		"table":         {"[shims.marks]\nA = 2.159\nB = \"2.1844\"\n2P = 3\n", "", 3, map[string]string{"a": "2.159", "B": "2.1844", "2p": "3.000"}},
		"table, inline": {`marks = { 50 = [2.50, 3.50], A = 2.6 }`, onSale, 3, map[string]string{"50": "2.500 or 3.500", "A": "2.600"}},
	} {
		e, err := readMarks(c.lines, c.catalogue)
		require.NoError(t, err, name)
		assert.Len(t, e.Marks, c.count, name)
		for mark, sizes := range c.want {
			assert.Equal(t, sizes, shim.Meaning{Among: e.Marks.Sizes(mark)}.Sizes(shim.MM), "%s: %s", name, mark)
		}
	}
}

// What is no list of marks is one fault at its place.
func TestReadMarksFaults(t *testing.T) {
	for lines, want := range map[string]string{
		`marks = "2,45 + 0,025 n"`:              `8:9: shims.marks: "2,45 + 0,025 n" is no rule`,
		`marks = "2.45 + 0.025 x"`:              `8:9: shims.marks: "2.45 + 0.025 x" is no rule`,
		`marks = "2.45.1 + 0.025 n"`:            `8:9: shims.marks: "2.45.1" is not a plain decimal number`,
		`marks = "2.45 + 0 n"`:                  `8:9: shims.marks: each number of "2.45 + 0 n" adds nothing`,
		`marks = "2.45 + 0.025 n, n = 17 to 1"`: `8:9: shims.marks: the numbers run from 17 down to 1`,
		`marks = "245 + 0.025 n"`:               `8:9: shims.marks: "245 + 0.025 n" gives no size on sale`,
		`marks = "24.5 + 0.25 n, n = 1 to 2"`:   `8:9: shims.marks.1: mark 1: 24.75 mm is not a plausible shim size`,
		`marks = 5`:                             `8:9: shims.marks: this is neither a rule nor a table of marks`,
		`marks = [2.5, 3]`:                      `8:9: shims.marks: a list of marks holds rules`,
		"[shims.marks]\nA = 2.5\na = 2.6":       `10:5: shims.marks.a: the marks A and a are the same`,
		"[shims.marks]\nA = \"2,5\"":            `9:5: shims.marks.A: a decimal comma: TOML writes 2.5`,
		"[shims.marks]\nA = 25.9":               `9:5: shims.marks.A: mark A: 25.9 mm is not a plausible shim size`,
		"[shims.marks]\nA = true":               `9:5: shims.marks.A: mark "A" needs a size`,
		"[shims.marks]\nA = []":                 `9:5: shims.marks.A: the mark has no size`,
		"[shims.marks]\n\"2.50\" = 2.5":         `9:10: shims.marks.2.50: "2.50" is no mark`,
		"[shims.marks]\nmic = 2.5":              `9:7: shims.marks.mic: "mic" is no mark`,
	} {
		_, err := readMarks(lines, onSale)
		var faults Faults
		require.ErrorAs(t, err, &faults, lines)
		if want == `8:9: shims.marks.1: mark 1: 24.75 mm is not a plausible shim size` {
			faults = faults[:1]
		}
		require.Len(t, faults, 1, "%s: %v", lines, err)
		assert.Contains(t, faults[0].Error(), "e.toml:"+want, lines)
		assert.NotEmpty(t, faults[0].Hint, lines)
	}
}

// A check has marks where it has sizes. What tells one of two sizes is said; what
// nothing tells is a fault, unless the micrometer read the shim.
func TestReadCheckMarks(t *testing.T) {
	e, err := readMarks(`marks = ["2.00 + 0.01 nn", "3.00 + 0.01 nn, n = 0 to 99"]`, "\n[[shims.catalogue]]\nfrom = 2.0\nto = 3.5\nstep = 0.05\n")
	require.NoError(t, err)
	read := func(row string, known shim.Length) (shim.Marks, []Fault, error) {
		checks, warnings, err := ReadCheck("c.csv", strings.NewReader("valve,clearance,shim,mic\n"+row+"\n"), []*shim.Engine{e},
			CheckOptions{Known: func(string, *shim.Engine, shim.Valve) shim.Length { return known }})
		if err != nil {
			return shim.Marks{}, warnings, err
		}
		return checks[0].Measurements[0].Marks, warnings, nil
	}
	for _, c := range []struct {
		row   string
		known shim.Length
		want  shim.Marks
		warns string
	}{
		{"in1,0.15,75,", 0, shim.Marks{Stamp: 2_750_000}, "mark 75 stands for 2.750 or 3.750 mm: taken as 2.750, the only one on sale"},
		{"in1,0.15,no. 50,", 3_480_000, shim.Marks{Stamp: 3_500_000}, "mark 50 stands for 2.500 or 3.500 mm: taken as 3.500, the one on record"},
		{"in1,0.15,50,2.493", 3_480_000, shim.Marks{Stamp: 2_500_000, Mic: 2_493_000}, ""},
		{"in1,0.15,50,2.8", 0, shim.Marks{Mic: 2_800_000}, "mark 50 stands for 2.500 or 3.500 mm, and the micrometer reads 2.8"},
		{"in1,0.15,2.65,", 0, shim.Marks{Stamp: 2_650_000}, ""},
	} {
		got, warnings, err := read(c.row, c.known)
		require.NoError(t, err, c.row)
		assert.Equal(t, c.want, got, c.row)
		if c.warns == "" {
			assert.Empty(t, warnings, c.row)
		} else if assert.Len(t, warnings, 1, c.row) {
			assert.Contains(t, warnings[0].Error(), "c.csv:2:")
			assert.Contains(t, warnings[0].Error(), c.warns)
		}
	}
	for row, want := range map[string]string{
		"in1,0.15,50,": "c.csv:2:10: in1: mark 50 stands for 2.500 or 3.500 mm, and nothing says for which",
		"in1,0.15,5,":  "c.csv:2:10: in1: mark 5 stands for 2.050 or 3.050 mm, and nothing says for which",
		"in1,0.15,A,":  `c.csv:2:10: in1: "A" is not a number`,
	} {
		_, _, err := read(row, 2_800_000)
		var faults Faults
		require.ErrorAs(t, err, &faults, row)
		require.Len(t, faults, 1, row)
		assert.Contains(t, faults[0].Error(), want)
	}
}
