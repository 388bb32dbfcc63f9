package main

import (
	"path/filepath"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
)

// A page of HTML is not printed to a terminal; what to do instead is said.
func TestNoPageOnScreen(t *testing.T) {
	demo := filepath.Join("..", "..", "testdata", "demo")
	engine, check := filepath.Join(demo, "sandpiper.toml"), filepath.Join(demo, "sandpiper-check.csv")
	for _, args := range [][]string{
		{"sheet", engine},
		{"solve", engine, check, "--output", "html"},
		{"box", "labels", "--from", filepath.Join(demo, "box.csv")},
	} {
		for _, screen := range []bool{true, false} {
			var out, errs strings.Builder
			status := run(args, &app{in: strings.NewReader(""), out: &out, err: &errs, screen: screen})
			assert.Equal(t, screen, status == exitUsage, "%v", args)
			assert.Equal(t, screen, out.Len() == 0, "%v", args)
			assert.Equal(t, screen, strings.Contains(errs.String(), "write it to a file"), "%v: %s", args, errs.String())
		}
	}
}
