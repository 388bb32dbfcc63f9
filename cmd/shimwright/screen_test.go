package main

import (
	"bytes"
	"fmt"
	"math/rand/v2"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"shimwright/testdata/effort"
)

// The plan of a six with 24 valves fits on one and a half screens of 50 rows, with
// up to 8, 16 or all of them outside their limits. The readings are drawn at random.
func TestSixFitsOnAScreenAndAHalf(t *testing.T) {
	const most = 75
	dir := t.TempDir()
	four, err := os.ReadFile("../../testdata/demo/kittiwake.toml")
	require.NoError(t, err)
	six := strings.NewReplacer("cylinders = 4", "cylinders = 6", "[1, 2, 4, 3]", "[1, 5, 3, 6, 2, 4]").Replace(string(four))
	engine, check := filepath.Join(dir, "six.toml"), filepath.Join(dir, "check.csv")
	require.NoError(t, os.WriteFile(engine, []byte(six), 0o600))
	box, err := filepath.Abs("../../testdata/demo/box.csv")
	require.NoError(t, err)
	longest, mostOut := 0, 0
	for seed := range uint64(max(3, effort.Share(18))) {
		upTo := 8 + 8*int(seed%3)
		r := rand.New(rand.NewPCG(seed, 11))
		out := 0
		rows := "valve,clearance,shim\n"
		for cylinder := 1; cylinder <= 6; cylinder++ {
			for _, side := range []struct {
				name         string
				tight, loose int // in 0.01 mm
			}{{"in", 11, 19}, {"ex", 21, 30}} {
				for _, letter := range "ab" {
					reading := side.tight + r.IntN(side.loose-side.tight+1)
					if out < upTo && (upTo == 24 || r.IntN(3) > 0) {
						out++
						reading = side.tight - 1 - r.IntN(6)
						if r.IntN(2) == 0 {
							reading = side.loose + 1 + r.IntN(6)
						}
					}
					rows += fmt.Sprintf("%s%d%c,0.%02d,%.3f\n", side.name, cylinder, letter, reading, 2.45+0.025*float64(r.IntN(9)))
				}
			}
		}
		require.NoError(t, os.WriteFile(check, []byte(rows), 0o600))
		text, _ := output(t, dir, "shimwright", []string{"solve", engine, check, "--box", box})
		require.Contains(t, string(text), fmt.Sprintf("Outside their limits: %d of 24 valves", out))
		lines := bytes.Count(text, []byte("\n"))
		assert.LessOrEqual(t, lines, most, "%s", text)
		longest, mostOut = max(longest, lines), max(mostOut, out)
	}
	t.Logf("a six of 24 valves, up to %d of them outside: at most %d lines at 80 columns (target %d)", mostOut, longest, most)
}
