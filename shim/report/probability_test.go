package report

import (
	"testing"

	"github.com/stretchr/testify/assert"

	"shimwright/shim/doubt"
)

// No rounding makes a certainty, and no certainty is rounded away.
func TestProbabilityNeverRoundsToCertainty(t *testing.T) {
	for p, want := range map[float64]float64{0: 0, 1e-9: 0.0001, 0.00004: 0.0001, 0.12344: 0.1234, 0.99994: 0.9999, 0.99998: 0.9999, 1: 1} {
		assert.InDelta(t, want, doubt.Rounded(p), 1e-12, "%g", p)
	}
	for p, want := range map[float64]string{0: "0%", 1e-9: "<1%", 0.5: "50%", 0.996: ">99%", 0.99998: ">99%", 0.985: "99%", 1: "100%"} {
		assert.Equal(t, want, short(p), "%g", p)
	}
}
