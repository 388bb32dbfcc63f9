package shim

import (
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

func TestParsePlacing(t *testing.T) {
	for i, word := range Placings {
		p, err := ParsePlacing(strings.ToUpper(word))
		require.NoError(t, err)
		assert.Equal(t, Placing(i), p)
		assert.Equal(t, word, p.String())
	}
	_, err := ParsePlacing("above")
	assert.Error(t, err)
}
