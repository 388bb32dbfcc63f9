package main

import (
	"go/ast"
	"go/parser"
	"go/token"
	"path/filepath"
	"slices"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// TestSurroundings finds no command that reaches past its app for a stream,
// the environment, the clock or the width of the terminal.
func TestSurroundings(t *testing.T) {
	kept := []string{
		"os.Stdin", "os.Stdout", "os.Stderr", "os.Getenv", "os.LookupEnv", "os.Environ", "os.ExpandEnv",
		"time.Now", "time.Since", "time.Until", "term.GetSize",
	}
	names, err := filepath.Glob("*.go")
	require.NoError(t, err)
	found := map[string]bool{}
	for _, name := range names {
		if strings.HasSuffix(name, "_test.go") {
			continue
		}
		files := token.NewFileSet()
		file, err := parser.ParseFile(files, name, nil, 0)
		require.NoError(t, err)
		ast.Inspect(file, func(n ast.Node) bool {
			if s, ok := n.(*ast.SelectorExpr); ok {
				if of, ok := s.X.(*ast.Ident); ok && slices.Contains(kept, of.Name+"."+s.Sel.Name) {
					found[name] = true
					assert.Equal(t, "app.go", name, "%s: %s.%s", files.Position(n.Pos()), of.Name, s.Sel.Name)
				}
			}
			return true
		})
	}
	assert.True(t, found["app.go"], "the files must have been read")
}
