package planjson

import (
	"testing"

	"github.com/stretchr/testify/assert"

	"shimwright/shim/doubt"
	"shimwright/shim/plan"
)

// The JSON calls nothing certain that is not, nor impossible what may be.
func TestWholeIsNeverRoundedToCertainty(t *testing.T) {
	of := func(p, e float64) plan.Whole {
		return plan.Whole{Chance: doubt.Chance{Probability: p, Error: e, Sampled: e > 0}, Valves: 8}
	}
	for p, want := range map[float64]float64{0.9: 0.9, 0.896: 0.896, 0.67341: 0.6734, 0.9999999: 0.9999, 0.995: 0.995, 1e-12: 0.0001, 0: 0, 1: 1} {
		assert.Equal(t, want, *wholeOf(of(p, 0)).Probability)
	}
	assert.InDelta(t, 0.000013, wholeOf(of(0.5, 0.0000123)).Error, 1e-12, "the error is rounded up")
	assert.Nil(t, wholeOf(plan.Whole{Others: 8}).Probability, "without a number nothing can be said")
}
