package main

import (
	"os"
	"path/filepath"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"shimwright/testdata/effort"
)

// Plans of an earlier version are read: testdata/earlier has some that it wrote, of
// every kind (invented), readings after fitting, and what its recheck said
// of them with the engine files and without. Of the plans that a shop kept (shop,
// shop-gauge) it is what the present recheck says: the earlier one left aside what
// "kept" tells of brackets and the gauge.
func TestPlansOfAnEarlierVersion(t *testing.T) {
	effort.Long(t)
	dirs, err := filepath.Glob("testdata/earlier/*")
	require.NoError(t, err)
	require.Len(t, dirs, 15)
	for _, dir := range dirs {
		engines, err := filepath.Glob(filepath.Join(dir, "*.toml"))
		require.NoError(t, err)
		var withEngines []string
		for _, e := range engines {
			withEngines = append(withEngines, "--engine", filepath.Base(e))
		}
		for name, args := range map[string][]string{"recheck.json": nil, "recheck-engine.json": withEngines} {
			got, _ := output(t, dir, "shimwright", append([]string{"recheck", "--output", "json", "plan.json", "after.csv"}, args...))
			if *update { // where recheck itself changed
				require.NoError(t, os.WriteFile(filepath.Join(dir, name), got, 0o666))
			}
			want, err := os.ReadFile(filepath.Join(dir, name))
			require.NoError(t, err)
			assert.Equal(t, string(want), string(without(added, got, want)), "%s/%s", dir, name)
		}
	}
}
