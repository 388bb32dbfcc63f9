package files

import (
	"os"
	"regexp"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"shimwright/shim"
)

// TestDocumentedExamples reads every example of docs/files.md as what its
// heading says.
func TestDocumentedExamples(t *testing.T) {
	page, err := os.ReadFile("../../docs/files.md")
	require.NoError(t, err)
	read := map[string]int{}
	var engines []*shim.Engine
	for _, section := range strings.Split(string(page), "\n## ")[1:] {
		heading, body, _ := strings.Cut(section, "\n")
		for _, example := range regexp.MustCompile("(?s)```(?:toml|csv)\n(.*?)```").FindAllStringSubmatch(body, -1) {
			var warnings []Fault
			var err error
			text := strings.NewReader(example[1])
			switch heading {
			case "Engine":
				var e *shim.Engine
				e, warnings, err = ReadEngine("docs", text)
				engines = append(engines, e)
			case "Check", "Two units":
				var checks []Check
				own := engines[:1]
				for i, e := range engines {
					if strings.Contains(example[1], e.Name) {
						own = engines[i : i+1]
					}
				}
				checks, warnings, err = ReadCheck("docs", text, own, CheckOptions{})
				if assert.NoError(t, err, example[1]) {
					roundTrip(t, checks, own)
				}
			case "Box":
				_, warnings, err = ReadBox("docs", text, engines[0].Units.Size, Marks{})
			case "Catalogue":
				_, warnings, err = ReadCatalogue("docs", text, engines[0].Units.Size, Marks{})
			default:
				assert.Fail(t, "an example in a section that is not read", heading)
			}
			require.NoError(t, err, example[1])
			assert.Empty(t, warnings, example[1])
			read[heading]++
		}
	}
	assert.Equal(t, map[string]int{"Engine": 2, "Check": 3, "Two units": 1, "Box": 1, "Catalogue": 1}, read)
}
