package recheck

import (
	"testing"

	"github.com/stretchr/testify/assert"

	"shimwright/shim"
)

// Theories too rare to be looked at keep their share and no more, however far the
// ties lie below those of a job in which nothing went wrong.
func TestRareTheoriesKeepTheirShare(t *testing.T) {
	list := []candidate{{}, {}}
	list[0].Probability, list[1].Probability = 0.9, 0.0999
	weigh(list, nil, shim.UsualGauge)
	assert.InDelta(t, 0.9999, list[0].Probability+list[1].Probability, 1e-12)
}
