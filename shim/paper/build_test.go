package paper

import (
	"bytes"
	"os"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"shimwright/shim"
	"shimwright/shim/files"
	"shimwright/shim/plan"
)

// On the card of a fresh build the picture of the head tells no valve to keep the
// bench set's shim: where nothing fits none stays in, and what was read over a
// set-up shim is neither tight nor loose.
func TestBuildHeadLeavesNoSetUpShim(t *testing.T) {
	open := func(name string) *bytes.Reader {
		text, err := os.ReadFile("../../testdata/demo/" + name)
		require.NoError(t, err)
		return bytes.NewReader(text)
	}
	e, _, err := files.ReadEngine("dunlin.toml", open("dunlin.toml"))
	require.NoError(t, err)
	checks, _, err := files.ReadCheck("dunlin-build.csv", open("dunlin-build.csv"), []*shim.Engine{e}, files.CheckOptions{Build: true})
	require.NoError(t, err)
	// With nothing to choose from nothing fits anywhere.
	p, err := plan.Make(t.Context(), plan.Request{NoBuy: true, Jobs: []plan.JobRequest{{Engine: e, Check: checks[0].Measurements, Build: true}}})
	require.NoError(t, err)
	var card bytes.Buffer
	require.NoError(t, Card(&card, p))
	var head strings.Builder
	for _, part := range strings.Split(card.String(), "<svg")[1:] {
		if drawing, _, _ := strings.Cut(part, "</svg>"); strings.Contains(drawing, "NONE FITS") {
			head.WriteString(drawing)
		}
	}
	require.Contains(t, head.String(), "NONE FITS")
	assert.Contains(t, head.String(), ">none<")
	assert.Contains(t, head.String(), "set-up")
	for _, word := range []string{"leave", "TIGHT", "LOOSE", `class="dash"`} {
		assert.NotContains(t, head.String(), word)
	}
	assert.Contains(t, card.String(), "nothing fits, so no shim stays in")
}
