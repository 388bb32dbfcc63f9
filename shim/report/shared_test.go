package report

import (
	"bytes"
	"encoding/csv"
	"encoding/json"
	"strings"
	"testing"

	"github.com/jedib0t/go-pretty/v6/text"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"shimwright/shim/plan"
)

// TestSharedShimsNameTheirJob: a shim that goes from engine to engine is named
// with its job at both ends, within the width of a terminal; within one job no
// row names one.
func TestSharedShimsNameTheirJob(t *testing.T) {
	e := single(t, "Plover 250")
	q := plan.Request{NoBuy: true, SharePulled: true, Jobs: []plan.JobRequest{
		{Name: "117", Engine: e, Check: check(t, e, "0.20 2.425", "0.225 2.5")},
		{Name: "4", Engine: e, Check: check(t, e, "0.05 2.5", "0.225 2.5")},
	}}
	p := made(t, q)
	require.Equal(t, 2, p.Criteria.Changed)
	lines := strings.Split(textOf(t, Plan(p, Options{}), false), "\n")
	row := func(words ...string) bool {
		for _, line := range lines {
			if strings.Join(strings.Fields(line), " ") == strings.Join(words, " ") {
				return true
			}
		}
		return false
	}
	assert.True(t, row("1 in1 2.425 in1 of job 4 2.500 in1 of job 4"))
	assert.True(t, row("2 in1 2.500 in1 of job 117 2.425 in1 of job 117"))
	const note = "A shim from another job"
	assert.Equal(t, 2, strings.Count(strings.Join(lines, "\n"), note), "once in each fitting list")
	for _, line := range lines {
		assert.LessOrEqual(t, text.StringWidth(line), LineWidth, "%q", line)
	}

	// Files name the job as their own column or field job does.
	var moved []string
	for _, j := range decoded(t, p).Jobs {
		moved = append(moved, j.Valves[0].FromJob)
	}
	assert.ElementsMatch(t, []string{"4", "117"}, moved)
	rows := csvOf(t, p)
	require.Equal(t, []string{"from_job", "undecided"}, rows[0][len(csvHeader):])
	assert.ElementsMatch(t, moved, []string{rows[1][len(csvHeader)], rows[3][len(csvHeader)]})

	alone := made(t, plan.Request{NoBuy: true, SharePulled: true, Jobs: []plan.JobRequest{
		{Name: "4", Engine: e, Check: check(t, e, "0.05 2.5", "0.30 2.425")},
	}})
	require.Equal(t, 2, alone.Criteria.Changed)
	assert.NotContains(t, textOf(t, Plan(alone, Options{}), false), note)
	assert.NotContains(t, textOf(t, Plan(alone, Options{}), false), "of job")
	assert.Equal(t, csvHeader, csvOf(t, alone)[0][:len(csvHeader)])
}

type movedJSON struct {
	Jobs []struct {
		Valves []struct {
			FromJob string `json:"from_job"`
		}
	}
}

func decoded(t *testing.T, p *plan.Plan) (m movedJSON) {
	t.Helper()
	require.NoError(t, json.Unmarshal(jsonOf(t, p), &m))
	return m
}

func csvOf(t *testing.T, p *plan.Plan) [][]string {
	t.Helper()
	var b bytes.Buffer
	require.NoError(t, CSV(&b, p))
	rows, err := csv.NewReader(&b).ReadAll()
	require.NoError(t, err)
	return rows
}
