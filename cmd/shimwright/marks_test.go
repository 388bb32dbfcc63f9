package main

import (
	"bytes"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// A person who types marks sees at once which size each was read as, and a whole
// number that may be a size is refused at its line.
func TestMarksAtThePrompt(t *testing.T) {
	dir := t.TempDir()
	shop, engine := filepath.Join(dir, "s.db"), filepath.Join(dir, "auk.toml")
	require.NoError(t, os.WriteFile(engine, []byte(`name = "Auk 650 twin"
cylinders = 1
[intake]
valves = 1
clearance = [0.15, 0.25]
[exhaust]
valves = 1
clearance = [0.25, 0.35]
[shims]
diameter = 28
marks = ["2.45 + 0.05 n, n = 1 to 17"]
[[shims.catalogue]]
from = 2.5
to = 3.3
step = 0.05
`), 0o600))
	mustShimwright(t, shop, "shop", "init")
	mustShimwright(t, shop, "job", "open", "--engine", engine)
	typed := func(text string, args ...string) (out, said string) {
		var o, e bytes.Buffer
		status := run(append(args, "--shop", shop), &app{in: strings.NewReader(text), out: &o, err: &e, person: true})
		require.Equal(t, exitDone, status, "%s", e.String())
		return o.String(), e.String()
	}
	out, said := typed("3\nNo. 3\n7x2\n\n", "box", "receive")
	assert.Contains(t, said, "3 may be a mark or a size")
	assert.Contains(t, said, "  2.600 (3) mm\n")
	assert.Contains(t, said, "  2.800 (7) mm\n")
	assert.Contains(t, out, "Received 1 × 2.600 (3), 2 × 2.800 (7) mm")
	out, said = typed("#3 1\nno. 7 2\n\n", "box", "count")
	assert.Contains(t, said, "  2.800 (7) mm\n")
	assert.Contains(t, out, "agrees")
}
