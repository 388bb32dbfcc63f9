package shim

import (
	"errors"
	"fmt"
	"testing"

	"github.com/stretchr/testify/assert"
)

func TestFail(t *testing.T) {
	kind, other := errors.New("kind"), errors.New("other")
	inner := Fail(kind, "look again", "bin %s is not there", "A3")
	assert.EqualError(t, inner, "bin A3 is not there")
	assert.ErrorIs(t, inner, kind)
	assert.NotErrorIs(t, inner, other)
	assert.Equal(t, "look again", HintOf(inner))

	// What is wrapped keeps its kind and lends its hint.
	lent := Fail(other, "", "valve in1a: %w", inner)
	assert.EqualError(t, lent, "valve in1a: bin A3 is not there")
	assert.ErrorIs(t, lent, kind)
	assert.ErrorIs(t, lent, other)
	assert.Equal(t, "look again", HintOf(lent))
	assert.Equal(t, "look again", HintOf(fmt.Errorf("job 3: %w", lent)))

	both := Fail(nil, "", "%w: %w", other, inner)
	assert.ErrorIs(t, both, other)
	assert.ErrorIs(t, both, kind)
	assert.Equal(t, "look again", HintOf(both))

	// An own hint goes before it, and no kind is needed.
	own := Fail(nil, "measure it", "%w", inner)
	assert.ErrorIs(t, own, kind)
	assert.Equal(t, "measure it", HintOf(own))

	assert.Empty(t, HintOf(nil))
	assert.Empty(t, HintOf(kind))
}
