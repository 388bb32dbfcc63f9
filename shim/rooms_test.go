package shim

import (
	"go/parser"
	"go/token"
	"io/fs"
	"maps"
	"os"
	"path/filepath"
	"strconv"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// importsOf lists what each Go file under a folder of the project imports,
// tests left out. Nothing is compiled, so the rule holds for every platform.
func importsOf(t *testing.T, folder string, deep bool) map[string][]string {
	t.Helper()
	found := map[string][]string{}
	err := filepath.WalkDir(folder, func(path string, d fs.DirEntry, err error) error {
		switch {
		case err != nil:
			return err
		case d.IsDir() && (d.Name() == "testdata" || !deep && path != folder):
			return filepath.SkipDir
		case d.IsDir() || !strings.HasSuffix(path, ".go") || strings.HasSuffix(path, "_test.go"):
			return nil
		}
		file, err := parser.ParseFile(token.NewFileSet(), path, nil, parser.ImportsOnly)
		if err != nil {
			return err
		}
		found[path] = nil
		for _, spec := range file.Imports {
			name, err := strconv.Unquote(spec.Path.Value)
			if err != nil {
				return err
			}
			found[path] = append(found[path], name)
		}
		return nil
	})
	require.NoError(t, err)
	return found
}

// within reports whether an import path is the given package or lies below it.
func within(path, parent string) bool {
	return path == parent || strings.HasPrefix(path, parent+"/")
}

// Package shim imports the standard library only, and of that nothing that
// brings in a store, a terminal or a file format.
func TestShimImportsNoStoreTerminalOrFormat(t *testing.T) {
	files := importsOf(t, ".", false)
	require.Contains(t, files, "length.go")
	require.Contains(t, files["length.go"], "fmt", "the imports must have been read")
	for file, imports := range files {
		for _, path := range imports {
			first, _, _ := strings.Cut(path, "/")
			// Only paths of the standard library have no dot in their first part.
			assert.False(t, strings.Contains(first, ".") || first == "shimwright" || first == "C", "%s imports %s", file, path)
			for _, room := range []string{"database", "os", "io/fs", "io/ioutil", "net", "syscall", "log", "encoding", "html", "text", "bufio", "flag"} {
				assert.False(t, within(path, room), "%s imports %s", file, path)
			}
		}
	}
}

// A walk is data that a page can use as well as a terminal.
func TestWalkKnowsNoTerminalOrFile(t *testing.T) {
	files := importsOf(t, "walk", true)
	require.NotEmpty(t, files)
	asked := importsOf(t, "model", true)
	require.NotEmpty(t, asked)
	maps.Copy(files, asked)
	for file, imports := range files {
		for _, path := range imports {
			for _, room := range []string{"os", "io", "fmt", "bufio", "time", "shimwright/shim/files", "shimwright/shim/report", "golang.org/x/term"} {
				assert.False(t, within(path, room), "%s imports %s", file, path)
			}
		}
	}
}

func TestRooms(t *testing.T) {
	require.NotEmpty(t, importsOf(t, ".", true))
	for file, imports := range importsOf(t, ".", true) {
		for _, path := range imports {
			assert.False(t, within(path, "shimwright/cmd") || within(path, "shimwright/inventory"), "shim/%s imports %s", file, path)
		}
	}
	inventory := filepath.Join("..", "inventory")
	if found, err := filepath.Glob(inventory); err != nil || found == nil {
		return // not built yet
	}
	for file, imports := range importsOf(t, inventory, true) {
		for _, path := range imports {
			assert.False(t, within(path, "shimwright/cmd"), "%s imports %s", file, path)
		}
	}
}

// What inventory/work does, a page does too, on any store: it rests on the
// trade and on the rules of the shop alone. The rules know nothing of it.
func TestWorkRestsOnTradeAndRules(t *testing.T) {
	work := importsOf(t, filepath.Join("..", "inventory", "work"), true)
	require.NotEmpty(t, work)
	for file, imports := range work {
		for _, path := range imports {
			first, _, _ := strings.Cut(path, "/")
			own := first == "shimwright"
			assert.False(t, strings.Contains(first, "."), "%s imports %s", file, path)
			assert.False(t, own && path != "shimwright/inventory" && !within(path, "shimwright/shim"), "%s imports %s", file, path)
			for _, room := range []string{"shimwright/shim/report", "shimwright/shim/paper", "shimwright/shim/files", "os", "io", "database", "net", "html", "text"} {
				assert.False(t, within(path, room), "%s imports %s", file, path)
			}
		}
	}
	for file, imports := range importsOf(t, filepath.Join("..", "inventory"), false) {
		assert.NotContains(t, imports, "shimwright/inventory/work", file)
	}
}

// Commands reach the store by its interface; one file opens it and knows its kind.
func TestOneFileNamesTheStore(t *testing.T) {
	var named []string
	for file := range importsOf(t, filepath.Join("..", "cmd"), true) {
		text, err := os.ReadFile(file)
		require.NoError(t, err)
		if strings.Contains(strings.ToLower(string(text)), "sqlite") {
			named = append(named, filepath.Base(file))
		}
	}
	assert.Equal(t, []string{"store.go"}, named)
}
