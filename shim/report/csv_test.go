package report

import (
	"bytes"
	"encoding/csv"
	"encoding/json"
	"fmt"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"shimwright/shim/internal/plantest"
	"shimwright/shim/plan"
)

// TestCSVSaysWhatJSONSays reads the rows of awkward plans back, quotes, bars
// and all, and finds the valves of the JSON, field by field.
func TestCSVSaysWhatJSONSays(t *testing.T) {
	fields := keys(t, jsonOf(t, plantest.Everything(t)))["jobs[].valves[]"][0]
	assert.Equal(t, append([]string{"job", "engine"}, fields[:len(csvHeader)-2]...), csvHeader)
	eachAwkward(t, func(t *testing.T, p *plan.Plan) {
		var b bytes.Buffer
		require.NoError(t, CSV(&b, p))
		rows, err := csv.NewReader(&b).ReadAll()
		require.NoError(t, err)

		var back struct {
			Jobs []struct {
				Job, Engine string
				Valves      []map[string]any
			}
		}
		d := json.NewDecoder(bytes.NewReader(jsonOf(t, p)))
		d.UseNumber() // so that figures are compared as they are written
		require.NoError(t, d.Decode(&back))

		header := rows[0]
		require.Equal(t, csvHeader, header[:len(csvHeader)])
		require.Equal(t, "undecided", header[len(header)-1])
		if len(header) > len(csvHeader)+1 {
			require.Equal(t, []string{"from_job", "undecided"}, header[len(csvHeader):])
		}
		rows = rows[1:]
		for _, j := range back.Jobs {
			for _, v := range j.Valves {
				require.NotEmpty(t, rows)
				want := []string{j.Job, j.Engine}
				for _, name := range header[2:] {
					cell := ""
					if v[name] != nil {
						cell = fmt.Sprint(v[name])
					} else if name == "undecided" {
						cell = "false" // the JSON leaves it out then
					}
					want = append(want, cell)
				}
				assert.Equal(t, want, rows[0])
				rows = rows[1:]
			}
		}
		assert.Empty(t, rows)
	})
}
