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

// Every clearance has its boxes on sheet and card, those of closers too, and a
// closer read by its loaded gap is drawn where its clearance is.
func TestClosersOnPaper(t *testing.T) {
	open := func(name string) *bytes.Reader {
		text, err := os.ReadFile("../../testdata/demo/" + name)
		require.NoError(t, err)
		return bytes.NewReader(text)
	}
	e, _, err := files.ReadEngine("whimbrel.toml", open("whimbrel.toml"))
	require.NoError(t, err)
	checks, _, err := files.ReadCheck("whimbrel-check.csv", open("whimbrel-check.csv"), []*shim.Engine{e}, files.CheckOptions{})
	require.NoError(t, err)

	var sheet bytes.Buffer
	require.NoError(t, Sheet(&sheet, e, Info{}))
	assert.Equal(t, len(e.Valves()), strings.Count(sheet.String(), ">clearance<"))
	assert.Equal(t, 4, strings.Count(sheet.String(), ">closer 0.03 - 0.20 mm<"))

	p, err := plan.Make(t.Context(), plan.Request{Jobs: []plan.JobRequest{{Engine: e, Check: checks[0].Measurements, Lift: shim.LiftAll}}})
	require.NoError(t, err)
	var card bytes.Buffer
	require.NoError(t, Card(&card, p))
	assert.Contains(t, card.String(), "ex2.closer: found 0.35 less 0.12, LOOSE")
	v := &p.Jobs[0].Valves[7]
	require.Equal(t, "ex2.closer", v.Valve.String())
	read, direct := drawing{}, drawing{}
	read.found(scale{v.Limits}, v.Reading)
	direct.found(scale{v.Limits}, shim.ReadingOf(v.Clearance))
	assert.Equal(t, direct, read)
}
