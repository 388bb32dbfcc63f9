package main

import (
	"encoding/csv"
	"encoding/json"
	"maps"
	"path/filepath"
	"slices"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// TestBoxFields pins the names that programs rely on (docs/box.md): those of
// the JSON, and that CSV has the same.
func TestBoxFields(t *testing.T) {
	shop := filepath.Join(t.TempDir(), "shop.db")
	mustShimwright(t, shop, "shop", "init")
	mustShimwright(t, shop, "box", "receive", "2.300", "2.350", "2.400", "2.500", "--diameter", "8.9")
	const page = " page pages"
	for _, c := range []struct {
		args              []string
		top, list, fields string
	}{
		{[]string{"box", "list"}, "sizes gaps" + page, "sizes", "diameter_mm size_mm on_hand reserved free"},
		{[]string{"box", "list"}, "sizes gaps" + page, "gaps", "diameter_mm from_mm to_mm sizes"},
		{[]string{"box", "list", "2.300"}, "lots" + page, "lots", "diameter_mm size_mm stamp_mm mic_mm used bin on_hand"},
		{[]string{"box", "history"}, "movements older", "movements", "movement batch time kind diameter_mm size_mm stamp_mm mic_mm used bin count job valve price who note reverses hash supplier part"},
		{[]string{"shop", "info"}, "path bytes version diameters engines jobs movements pieces reserved last_time last_hash", "", ""},
		{[]string{"shop", "check"}, "path sound expected_movement findings", "", ""},
	} {
		var top map[string]json.RawMessage
		require.NoError(t, json.Unmarshal([]byte(mustShimwright(t, shop, append(c.args, "--output", "json")...)), &top), "%v", c.args)
		assert.ElementsMatch(t, strings.Fields(c.top), slices.Collect(maps.Keys(top)), "%v", c.args)
		if c.list == "" {
			continue
		}
		var rows []map[string]any
		require.NoError(t, json.Unmarshal(top[c.list], &rows), "%v", c.args)
		require.NotEmpty(t, rows, "%v", c.args)
		assert.ElementsMatch(t, strings.Fields(c.fields), slices.Collect(maps.Keys(rows[0])), "%v: %s", c.args, c.list)
		if c.list == "gaps" {
			continue
		}
		table, err := csv.NewReader(strings.NewReader(mustShimwright(t, shop, append(c.args, "--output", "csv")...))).ReadAll()
		require.NoError(t, err, "%v", c.args)
		assert.Equal(t, strings.Fields(c.fields), table[0], "%v", c.args)
		assert.Len(t, table, 1+len(rows), "%v", c.args)
	}
}
