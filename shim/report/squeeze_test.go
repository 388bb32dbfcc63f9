package report

import (
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
)

// Two columns of words that are too wide for the line give way both.
func TestSqueezeSharesTheLine(t *testing.T) {
	words := strings.TrimSpace(strings.Repeat("four ", 12))
	d := &Document{Sections: []Section{{Table: &Table{Header: []string{"a", "b"}, Rows: [][]string{{words, words + " more"}}}}}}
	var out strings.Builder
	assert.NoError(t, d.Text(&out, false))
	assert.LessOrEqual(t, strings.Count(out.String(), "\n"), 2+3, out.String())
}
