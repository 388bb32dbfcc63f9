package shim

import (
	"testing"

	"github.com/stretchr/testify/assert"
)

func TestCount(t *testing.T) {
	assert.Equal(t, "0 pieces", Count(0, "piece"))
	assert.Equal(t, "1 piece", Count(1, "piece"))
	assert.Equal(t, "12 pieces", Count(12, "piece"))
	assert.Equal(t, "1 valve stays", Count(1, "valve stays", "valves stay"))
	assert.Equal(t, "2 valves stay", Count(2, "valve stays", "valves stay"))
}
