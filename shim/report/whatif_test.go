package report

import (
	"math/rand/v2"
	"regexp"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"shimwright/shim"
)

// A sentence names sizes that were asked about, and no other: read again, its
// runs and single sizes are the first of the list.
func TestSentencesNameOnlyWhatHolds(t *testing.T) {
	run := regexp.MustCompile(`^(\S+) to (\S+) in steps of (\S+)$`)
	r := rand.New(rand.NewPCG(6, 9))
	parse := func(text string) shim.Length {
		l, err := shim.MM.Parse(text)
		require.NoError(t, err)
		return l
	}
	runs := 0
	for range 2000 {
		var sizes []shim.Length
		for size := 2300 * shim.Micrometre; size <= 2850*shim.Micrometre; size += 25 * shim.Micrometre {
			if r.IntN(5) > 0 {
				sizes = append(sizes, size)
			}
		}
		var named []shim.Length
		text := strings.ReplaceAll(anyOf(shim.MM, sizes, func(shim.Length) string { return "" }), " or ", ", ")
		for _, part := range strings.Split(text, ", ") {
			if found := run.FindStringSubmatch(part); found != nil {
				runs++
				for size := parse(found[1]); size <= parse(found[2]); size += parse(found[3]) {
					named = append(named, size)
				}
				continue
			}
			named = append(named, parse(part))
		}
		require.Equal(t, sizes[:len(named)], named)
	}
	assert.Greater(t, runs, 1000)
	assert.Equal(t, "2.300 to 2.375 in steps of 0.025 or 2.425", anyOf(shim.MM, []shim.Length{2_300_000, 2_325_000, 2_350_000, 2_375_000, 2_425_000}, func(shim.Length) string { return "" }))
}
