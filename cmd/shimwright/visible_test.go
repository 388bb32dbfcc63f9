package main

import (
	"os"
	"path/filepath"
	"strings"
	"testing"
	"unicode"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// Whatever stands in files, nothing of it steers a terminal: not where it is
// refused, nor where it is echoed.
func TestNothingSteers(t *testing.T) {
	demo := filepath.Join("..", "..", "testdata", "demo")
	engine, err := os.ReadFile(filepath.Join(demo, "sandpiper.toml"))
	require.NoError(t, err)
	check, err := os.ReadFile(filepath.Join(demo, "sandpiper-check.csv"))
	require.NoError(t, err)
	folder := t.TempDir()
	put := func(name, text string) string {
		name = filepath.Join(folder, name)
		require.NoError(t, os.WriteFile(name, []byte(text), 0o666))
		return name
	}
	good := put("good.csv", string(check))
	goodEngine := put("good.toml", string(engine))
	for _, evil := range []string{"\x1b[2J", "\u202e", "\u2066", "\u009b2J", "\x9b2J", "\x1b]0;x\a"} {
		for name, args := range map[string][]string{
			"key":     {"sheet", put("key.toml", "\"a"+evil+"\" = 1\n"+string(engine))},
			"name":    {"sheet", put("name.toml", strings.Replace(string(engine), "Sandpiper", "Sand"+evil, 1))},
			"value":   {"sheet", put("value.toml", strings.Replace(string(engine), "cylinders = 2", "cylinders = \"2"+evil+"\"", 1))},
			"column":  {"solve", "-e", goodEngine, put("column.csv", strings.Replace(string(check), "valve,", "x"+evil+",valve,", 1))},
			"valve":   {"solve", "-e", goodEngine, put("valve.csv", strings.Replace(string(check), "in1a", "in1"+evil, 1))},
			"number":  {"solve", "-e", goodEngine, put("number.csv", strings.Replace(string(check), "in1a,", "in1a,"+evil, 1))},
			"bin":     {"solve", "-e", goodEngine, "-b", put("box.csv", "size,count,bin\n2.400,1,A"+evil+"\n"), good},
			"part":    {"solve", "-e", goodEngine, "-c", put("catalogue.csv", "size,price,part\n2.400,1,A"+evil+"\n"), good},
			"plan":    {"recheck", "-e", goodEngine, put("plan.json", "{\"jobs\":[{\"job\":\""+evil+"\"}]}"), good},
			"file":    {"sheet", filepath.Join(folder, "none"+evil+".toml")},
			"flag":    {"sheet", "--" + evil, goodEngine},
			"command": {evil},
			"choice":  {"sheet", goodEngine, "--units", evil},
		} {
			var out, errs strings.Builder
			status := run(args, &app{in: strings.NewReader(""), out: &out, err: &errs})
			assert.NotZero(t, status, "%s %q", name, evil)
			assert.NotEmpty(t, errs.String(), "%s %q", name, evil)
			said := out.String() + errs.String()
			assert.False(t, strings.ContainsFunc(strings.ReplaceAll(said, "\n", ""), func(c rune) bool {
				return unicode.IsControl(c) || c == unicode.ReplacementChar || unicode.Is(unicode.Bidi_Control, c)
			}), "%s %q: %q", name, evil, said)
		}
	}
}
