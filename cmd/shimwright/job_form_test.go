package main

import (
	"encoding/json"
	"path/filepath"
	"slices"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// fields lists the names in a JSON value, those of the first element for a list.
func fields(value any, path string) []string {
	var list []string
	switch v := value.(type) {
	case map[string]any:
		for name, inner := range v {
			list = append(list, path+name)
			if name != "document" { // docs/json.md
				list = append(list, fields(inner, path+name+".")...)
			}
		}
	case []any:
		if len(v) > 0 {
			return fields(v[0], path)
		}
	}
	slices.Sort(list)
	return list
}

// TestJobJSON pins the fields that docs/jobs.md promises: one may be added
// here, none may go.
func TestJobJSON(t *testing.T) {
	shop := filepath.Join(t.TempDir(), "shop.db")
	mustShimwright(t, shop, "shop", "init")
	mustShimwright(t, shop, "box", "receive", "2.250", "--diameter", "8.9")
	openJobs(t, shop, 2)
	mustShimwright(t, shop, "job", "plan", "1")
	mustShimwright(t, shop, "job", "plan", "2")
	mustShimwright(t, shop, "job", "fit", "2", "ex1a")
	job := "changed diameter_mm engine engine_id job meter note opened plan short state tag who"
	for _, c := range []struct {
		args []string
		want string
	}{
		{[]string{"job", "show", "1"}, job + ` next unproven seats checks current_plan reserved purchases movements
			seats.valve seats.empty seats.stamp_mm seats.mic_mm
			checks.number checks.kind checks.time checks.who checks.note checks.readings
			checks.readings.valve checks.readings.reading checks.readings.clearance_mm checks.readings.stamp_mm checks.readings.mic_mm checks.readings.note
			current_plan.number current_plan.time current_plan.who current_plan.placements current_plan.document
			current_plan.placements.valve current_plan.placements.size_mm current_plan.placements.source current_plan.placements.from current_plan.placements.fitted
			reserved.diameter_mm reserved.size_mm reserved.count`},
		{[]string{"job", "show", "2"}, `purchases.diameter_mm purchases.size_mm purchases.needed purchases.ordered purchases.came_in purchases.price
			movements.movement movements.batch movements.time movements.kind movements.valve movements.count movements.diameter_mm movements.stamp_mm
			movements.mic_mm movements.used movements.bin movements.price movements.who movements.note movements.reverses`},
		{[]string{"job", "list"}, "jobs page pages jobs." + strings.Join(strings.Fields(job), " jobs.")},
	} {
		var got any
		out := mustShimwright(t, shop, append(c.args, "--output", "json")...)
		require.NoError(t, json.Unmarshal([]byte(out), &got), "%s", out)
		assert.Subset(t, fields(got, ""), strings.Fields(c.want), "%v", c.args)
	}
}
