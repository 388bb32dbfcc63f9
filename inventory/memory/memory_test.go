package memory_test

import (
	"testing"

	"shimwright/inventory"
	"shimwright/inventory/internal/storetest"
	"shimwright/inventory/memory"
	"shimwright/testdata/effort"
)

func TestStore(t *testing.T) {
	storetest.Run(t, effort.Share(24), func(*testing.T) inventory.Store { return memory.New() })
}
