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
	var engine *shim.Engine
	for _, section := range strings.Split(string(page), "\n## ")[1:] {
		heading, body, _ := strings.Cut(section, "\n")
		for _, example := range regexp.MustCompile("(?s)```(?:toml|csv)\n(.*?)```").FindAllStringSubmatch(body, -1) {
			var warnings []Fault
			var err error
			text := strings.NewReader(example[1])
			switch heading {
			case "Engine":
				engine, warnings, err = ReadEngine("docs", text)
			case "Check":
				var checks []Check
				checks, warnings, err = ReadCheck("docs", text, []*shim.Engine{engine}, CheckOptions{})
				if assert.NoError(t, err, example[1]) {
					roundTrip(t, checks, []*shim.Engine{engine})
				}
			case "Box":
				_, warnings, err = ReadBox("docs", text, engine.Units)
			case "Catalogue":
				_, warnings, err = ReadCatalogue("docs", text, engine.Units)
			default:
				assert.Fail(t, "an example in a section that is not read", heading)
			}
			require.NoError(t, err, example[1])
			assert.Empty(t, warnings, example[1])
			read[heading]++
		}
	}
	assert.Equal(t, map[string]int{"Engine": 1, "Check": 2, "Box": 1, "Catalogue": 1}, read)
}
