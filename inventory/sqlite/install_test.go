package sqlite

import (
	"path/filepath"
	"sync"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"shimwright/testdata/effort"
)

// What one command makes is not swept away by another that begins meanwhile.
func TestScratchStaysWhileOthersSweep(t *testing.T) {
	dir := t.TempDir()
	var all sync.WaitGroup
	for range 8 {
		all.Go(func() {
			for range effort.Of(20_000) {
				s, err := newScratch(dir)
				if !assert.NoError(t, err) {
					return
				}
				if !assert.NoError(t, empty(filepath.Join(s.folder, "shop.db"), ""), "swept while in use") {
					return
				}
				assert.NoError(t, s.remove())
			}
		})
	}
	all.Wait()
	left, err := filepath.Glob(filepath.Join(dir, scratchName+"*"))
	require.NoError(t, err)
	assert.Empty(t, left)
}
