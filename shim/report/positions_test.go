package report_test

import (
	"bytes"
	"encoding/csv"
	"encoding/json"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"shimwright/shim"
	"shimwright/shim/crank"
	"shimwright/shim/report"
)

// four is an inline four that fires 1-3-4-2, with a name that Markdown and CSV
// have to take care of.
func four(t *testing.T) *report.Positions {
	t.Helper()
	e := &shim.Engine{
		Name: `Four, "cold" | <1>`, Cylinders: 4, FiringOrder: []int{1, 3, 4, 2},
		Intake:  shim.Train{Valves: 1, Timing: &shim.Timing{Opens: 15, Closes: 50}},
		Exhaust: shim.Train{Valves: 1},
	}
	list, err := crank.Plan(e)
	require.NoError(t, err)
	return &report.Positions{Engine: e, List: list}
}

// TestPositionsJSON pins the fields of the contract, and the valves that US
// Army TM 5-3895-383-24, p. 6-60, prints.
func TestPositionsJSON(t *testing.T) {
	p := four(t)
	p.List[1].Doubtful = p.List[1].Valves[:1]
	var out bytes.Buffer
	require.NoError(t, p.JSON(&out))
	var got map[string]any
	require.NoError(t, json.Unmarshal(out.Bytes(), &got))
	cautions, _ := got["cautions"].([]any)
	assert.NotEmpty(t, cautions)
	delete(got, "cautions")
	assert.Equal(t, map[string]any{
		"engine": `Four, "cold" | <1>`,
		"timing": []any{
			map[string]any{"side": "intake", "opens_deg": 15.0, "closes_deg": 50.0, "assumed": false},
			map[string]any{"side": "exhaust", "opens_deg": 85.0, "closes_deg": 45.0, "assumed": true},
		},
		"positions": []any{
			map[string]any{
				"crank_deg": 0.0, "further_deg": 0.0, "mark": p.List[0].Mark,
				"valves": []any{"in1", "ex1", "in2", "ex3"}, "also": names(p.List[0].Also), "doubtful": []any{},
			},
			map[string]any{
				"crank_deg": 360.0, "further_deg": 360.0, "mark": p.List[1].Mark,
				"valves": []any{"ex2", "in3", "in4", "ex4"}, "also": names(p.List[1].Also), "doubtful": []any{"ex2"},
			},
		},
	}, got)
}

func names(valves []shim.Valve) []any {
	list := []any{}
	for _, v := range valves {
		list = append(list, v.String())
	}
	return list
}

func TestPositionsCSV(t *testing.T) {
	p := four(t)
	var out bytes.Buffer
	require.NoError(t, p.CSV(&out))
	rows, err := csv.NewReader(&out).ReadAll()
	require.NoError(t, err)
	require.Len(t, rows, 9)
	assert.Equal(t, []string{"engine", "crank_deg", "further_deg", "mark", "valve", "doubtful"}, rows[0])
	assert.Equal(t, []string{p.Engine.Name, "360", "360", p.List[1].Mark, "ex2", "false"}, rows[5])
}

func TestPositionsDocument(t *testing.T) {
	p := four(t)
	p.List[1].Doubtful = p.List[1].Valves[:1]
	var plain, markdown bytes.Buffer
	require.NoError(t, p.Document().Text(&plain, false))
	require.NoError(t, p.Document().Markdown(&markdown))
	for _, line := range strings.Split(plain.String(), "\n") {
		assert.LessOrEqual(t, len([]rune(line)), report.LineWidth, line)
	}
	assert.Contains(t, plain.String(), "*ex2")
	assert.Contains(t, plain.String(), "(assumed)")
	assert.Contains(t, plain.String(), shim.Cautions[1][:60])
	assert.Contains(t, markdown.String(), `\*ex2`)
	assert.Contains(t, markdown.String(), `\<1>`)
}

// An angle at which nothing can be measured is an answer too.
func TestPositionsAsked(t *testing.T) {
	p := &report.Positions{Engine: four(t).Engine, Asked: true, List: []crank.Position{{Degrees: -90.5}}}
	var out bytes.Buffer
	require.NoError(t, p.JSON(&out))
	assert.Contains(t, out.String(), `"crank_deg": -90.5`)
	assert.Contains(t, out.String(), `"further_deg": null`)
	assert.Contains(t, out.String(), `"valves": []`)
	out.Reset()
	require.NoError(t, p.Document().Text(&out, false))
	assert.Contains(t, out.String(), "none")
}
