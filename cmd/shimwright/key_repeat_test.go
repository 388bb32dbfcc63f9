package main

import (
	"bytes"
	"fmt"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"

	"github.com/spf13/cobra"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"shimwright/testdata/effort"
)

// TestKeyRepeats gives every booking command twice under one key: the second
// time nothing is booked and the first receipt is printed. Another request under
// that key is refused and books nothing either.
func TestKeyRepeats(t *testing.T) {
	effort.Long(t)
	folder := t.TempDir()
	shop, boxFile := filepath.Join(folder, "shop.db"), filepath.Join(folder, "box.csv")
	demo := func(name string) string { return filepath.Join("..", "..", "testdata", "demo", name) }
	changed := func(file, from, to, as string) string {
		text, err := os.ReadFile(file)
		require.NoError(t, err)
		require.Contains(t, string(text), from)
		name := filepath.Join(folder, as)
		require.NoError(t, os.WriteFile(name, bytes.ReplaceAll(text, []byte(from), []byte(to)), 0o600))
		return name
	}
	changed(demo("box.csv"), "2.", "2.", "box.csv")
	newer := changed(demo("sandpiper.toml"), "clearance = [0.20, 0.27]", "clearance = [0.18, 0.25]", "newer.toml")
	call := func(line ...string) (int, string, string) {
		var out, told bytes.Buffer
		code := run(append(slices.Clone(line), "--shop", shop), &app{in: &bytes.Buffer{}, out: &out, err: &told})
		return code, out.String(), told.String()
	}
	must := func(line ...string) string {
		code, out, told := call(line...)
		require.Contains(t, []int{exitDone, exitOutside}, code, "%v: %s", line, told)
		return out
	}
	must("shop", "init")
	must("box", "import", demo("box.csv"), "--yes")
	jobs := 0
	// record is all that the shop keeps of the box and of the jobs.
	record := func() string {
		text := must("box", "history", "--all", "--output", "csv") + must("box", "list", "--lots", "--output", "json") + must("box", "list", "--output", "json") + must("job", "order", "--output", "json") + must("machine", "list", "--output", "json") + must("gauge", "list", "--output", "json") + must("box", "labels", "--changed", "--trial") + must("supplier", "list", "--output", "json")
		for id := range jobs {
			text += must("job", "show", fmt.Sprint(id+1), "--output", "json")
		}
		_, machine, _ := call("machine", "show", "1", "--output", "json") // has the certificates, once there is one
		return text + machine + must("job", "list", "--output", "json")
	}
	words := strings.Fields
	after := []string{"ex1a=0.25", "ex1b=0.25", "ex2a=0.25", "ex2b=0.25"}
	seen := map[string]bool{}
	for i, c := range []struct {
		line  []string // two words name the command
		other []string // what else is asked under the key
		jobs  int      // that there are then
	}{
		{words("box receive 2.400x3 --diameter 8.9 --bin K1"), words("box receive 2.400x4 --diameter 8.9 --bin K1"), 0},
		{words("box scrap 2.400x1 --diameter 8.9 --bin K1"), words("box scrap 2.400x2 --diameter 8.9 --bin K1"), 0},
		{words("box correct 2.400x1 --diameter 8.9 --bin K1 --is-bin K2"), words("box correct 2.400x1 --diameter 8.9 --bin K1 --is-bin K3"), 0},
		{words("box count 2.400x2 --diameter 8.9 --bin K2 --yes"), words("box count 2.400x3 --diameter 8.9 --bin K2 --yes"), 0},
		{[]string{"box", "import", boxFile, "--yes"}, []string{"box", "import", demo("box.csv"), "--yes"}, 0},
		{words("box undo 1 --yes"), words("box undo 2 --yes"), 0},
		{words("box labels --bin A1"), words("box labels --bin A2"), 0},
		{[]string{"job", "open", "--engine", demo("sandpiper.toml"), "--tag", "K 1"}, []string{"job", "open", "--engine", demo("sandpiper.toml"), "--tag", "K 2"}, 1},
		{[]string{"job", "read", "1", demo("sandpiper-check.csv")}, words("job read 1 ex1a=0.30"), 1},
		{words("job plan 1 --policy blueprint"), words("job plan 1"), 1},
		{words("job order --placed"), words("job order --placed --supplier X"), 1},
		{words("job order --arrived --bin K4"), words("job order --arrived --bin K5"), 1},
		{words("job fit 1 --bin U1"), words("job fit 1 --bin U2"), 1},
		{append(words("job recheck 1"), after...), words("job recheck 1 ex1a=0.26"), 1},
		{words("job correct 1 ex1a ex2b"), words("job correct 1 ex1b ex2b"), 1},
		{append(words("job edit 1 --note mended --yes --engine"), newer), words("job edit 1 --note other"), 1},
		{words("job close 1 --anyway"), words("job close 1"), 1},
		{[]string{"job", "open", "--engine", newer, "--tag", "K 3"}, []string{"job", "open", "--engine", newer, "--tag", "K 4"}, 2},
		{words("job certificate 1 --anyway --output json"), words("job certificate 1 --remark other"), 2},
		{words("gauge add fine --step 0.01"), words("gauge add fine --step 0.02"), 2},
		{words("gauge edit fine --number G1"), words("gauge edit fine --number G2"), 2},
		{words("gauge retire fine"), words("gauge retire 1"), 2},
		{words("supplier add Aspen --carriage 5"), words("supplier add Aspen --carriage 6"), 2},
		{words("supplier edit Aspen --least 20"), words("supplier edit Aspen --least 30"), 2},
		{[]string{"supplier", "read", "Aspen", filepath.Join("..", "..", "testdata", "demo", "supplier.csv"), "--yes"}, []string{"supplier", "read", "Aspen", boxFile}, 2},
		{words("box advise --pieces 3 --levels"), words("box advise --pieces 4 --levels"), 2},
		{words("machine edit 1 --number F7"), words("machine edit 1 --number F8"), 2},
		{words("machine merge 2 1 --yes"), words("machine merge 2 1"), 2},
		{[]string{"machine", "import", filepath.Join("testdata", "machine.json")}, []string{"machine", "import", filepath.Join("testdata", "machine.json"), "--from", "X"}, 2},
		{words("job cancel 2 --yes"), words("job cancel 2 --yes --note other"), 2},
	} {
		t.Run(fmt.Sprint(i, " ", strings.Join(c.line[:2], " ")), func(t *testing.T) {
			seen[strings.Join(c.line[:2], " ")] = true
			key := fmt.Sprint("key ", i)
			blank := record()
			code, first, told := call(append(c.line, "--key", key)...)
			require.Contains(t, []int{exitDone, exitOutside}, code, told)
			jobs = c.jobs
			booked := record()
			require.NotEqual(t, blank, booked, "it books")
			for range 2 {
				again, out, told := call(append(c.line, "--key", key)...)
				assert.Equal(t, code, again, told)
				assert.Equal(t, first, out, "the first receipt")
				assert.Contains(t, told, "nothing was booked now")
				assert.Equal(t, booked, record())
			}
			for _, other := range [][]string{c.other, words("box receive 2.500x1 --diameter 8.9")} {
				again, out, told := call(append(other, "--key", key)...)
				assert.Equal(t, exitFailed, again, "%v: %s", other, told)
				assert.Empty(t, out)
				assert.Contains(t, told, key)
				assert.Equal(t, booked, record())
			}
		})
	}
	var walk func(*cobra.Command)
	walk = func(cmd *cobra.Command) {
		for _, c := range cmd.Commands() {
			walk(c)
		}
		if cmd.Flags().Lookup("key") != nil {
			name := strings.TrimPrefix(cmd.CommandPath(), "shimwright ")
			assert.True(t, seen[name], "%s takes a key and is not repeated here", name)
		}
	}
	walk(newRoot(&app{in: &bytes.Buffer{}, out: &bytes.Buffer{}, err: &bytes.Buffer{}}))
}
