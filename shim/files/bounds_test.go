package files

import (
	"errors"
	"fmt"
	"io"
	"runtime"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"shimwright/shim"
	"shimwright/testdata/effort"
)

// repeated gives a text again and again, and counts what was read.
type repeated struct {
	head, text string
	rest       string
	read       int
}

func (r *repeated) Read(p []byte) (int, error) {
	if r.rest == "" {
		r.rest = r.text
	}
	if r.head != "" {
		r.rest, r.head = r.head, ""
	}
	n := copy(p, r.rest)
	r.rest = r.rest[n:]
	r.read += n
	return n, nil
}

// allocated is how many bytes the function takes from the heap, all in all.
func allocated(work func()) uint64 {
	var before, after runtime.MemStats
	runtime.ReadMemStats(&before)
	work()
	runtime.ReadMemStats(&after)
	return after.TotalAlloc - before.TotalAlloc
}

// A document that no engine can be is refused before it costs memory. Dotted
// keys of 400 KB once took 14.5 GB.
func TestDocumentBounds(t *testing.T) {
	const most = 64 << 20
	for name, text := range map[string]string{
		"dotted keys, 400 KB":   strings.Repeat("a.", 200_000) + "a = 1\n",
		"dotted keys, 200 KB":   strings.Repeat("a.", 100_000) + "a = 1\n",
		"dotted header":         "[" + strings.Repeat("a.", 100_000) + "a]\n",
		"spaced dots":           strings.Repeat("a . ", 50_000) + "a = 1\n",
		"nine parts":            strings.Repeat("a.", 8) + "a = 1\n",
		"many dotted keys":      strings.Repeat(strings.Repeat("a.", 100)+"b = 1\n", 1000),
		"quoted dotted keys":    strings.Repeat(`"a".`, 50_000) + "a = 1\n",
		"lists":                 "a = " + strings.Repeat("[", 200_000),
		"lists over lines":      "a = " + strings.Repeat("[\n", 100_000),
		"tables in tables":      "a = " + strings.Repeat("{a = ", 50_000),
		"tables in lists":       "a = " + strings.Repeat("[\n{a = ", 30_000) + "1" + strings.Repeat("}\n]", 30_000) + "\n",
		"behind a long text":    "a = \"\"\"\n\"#\\\"\"\"\"\nb." + strings.Repeat("a.", 100_000) + "a = 1\n",
		"behind a single quote": "a = 'it\\'\nb." + strings.Repeat("a.", 100_000) + "a = 1\n",
		"a long key, many keys": "[\"" + strings.Repeat("x", 100_000) + "\"]\n" + manyKeys(15_000),
		"many unknown keys":     manyKeys(15_000),
		"many keys in a line":   "intake = {" + strings.ReplaceAll(strings.TrimSpace(manyKeys(15_000)), "\n", ",") + "}\n",
		"many headers":          manyHeaders(15_000),
		"not ended":             "a = \"" + strings.Repeat("a.", 100_000),
		"endless text":          "name = '''" + strings.Repeat("x", 1<<20),
	} {
		took := allocated(func() {
			_, _, err := ReadEngine("e.toml", strings.NewReader(text))
			var faults Faults
			require.ErrorAs(t, err, &faults, name)
			assert.NotEmpty(t, faults[0].Hint, name)
		})
		assert.Less(t, took, uint64(most), name)
	}
}

func manyHeaders(n int) string {
	var b strings.Builder
	for i := range n {
		fmt.Fprintf(&b, "[k%d]\n", i)
	}
	return b.String()
}

func manyKeys(n int) string {
	var b strings.Builder
	for i := range n {
		fmt.Fprintf(&b, "k%d=1\n", i)
	}
	return b.String()
}

// What looks deep and is not is read.
func TestDocumentDots(t *testing.T) {
	text := strings.Replace(twinText, `"Sandpiper 720 twin"`, `"a.b.c.d.e.f.g.h.i.j [[[[[[[[[[ {{{{{{{{{{"  # a.b.c.d.e.f.g.h.i.j.k [[[[[[[[[[`, 1)
	e, _, err := ReadEngine("e.toml", strings.NewReader(text))
	require.NoError(t, err)
	assert.Equal(t, "a.b.c.d.e.f.g.h.i.j [[[[[[[[[[ {{{{{{{{{{", e.Name)
}

// A CSV file without end is left at its bound, whatever is in it.
func TestTableBounds(t *testing.T) {
	e := single(t, "mm")
	for name, r := range map[string]*repeated{
		"rows":       {head: "size,count\n", text: "2.4,1\n"},
		"wide rows":  {head: "size,count,note\n", text: "2.4,1," + strings.Repeat("x", 10_000) + "\n"},
		"bad rows":   {head: "size,count\n", text: "x,y\n"},
		"comments":   {head: "size,count\n", text: "# " + strings.Repeat("x", 1000) + "\n"},
		"blank":      {text: strings.Repeat(" ", 1000) + "\n"},
		"blank rows": {head: "size,count\n", text: strings.Repeat(",", 1000) + "\n"},
	} {
		if name == "blank rows" && !effort.All() || name == "wide rows" && testing.Short() {
			continue // 64 MB of cells
		}
		var faults Faults
		_, _, err := ReadStocktake("box.csv", r, shim.MM, Marks{})
		require.ErrorAs(t, err, &faults, name)
		last := faults[len(faults)-1]
		assert.NotEmpty(t, last.Hint, name)
		assert.LessOrEqual(t, len(faults), mostFaults+10, name)
		assert.Less(t, r.read, mostMB<<20+1<<17, name)
	}
	r := &repeated{head: "valve,clearance,shim\n", text: "zz1,0.07,2.4\n"}
	_, _, err := ReadCheck("check.csv", r, []*shim.Engine{e}, CheckOptions{})
	var faults Faults
	require.ErrorAs(t, err, &faults)
	assert.LessOrEqual(t, len(faults), mostFaults+10)
}

// The bound is where it says, and an error on the way is not hidden.
func TestBounded(t *testing.T) {
	over := errors.New("over")
	for size, want := range map[int]error{9: nil, 10: nil, 11: over, 1000: over} {
		got, err := io.ReadAll(&bounded{strings.NewReader(strings.Repeat("x", size)), 10, over})
		assert.Equal(t, want, err, size)
		assert.Len(t, got, min(size, 10), size)
	}
}
