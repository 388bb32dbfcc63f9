package shim

import (
	"testing"

	"github.com/stretchr/testify/assert"
)

func TestGaugeValidate(t *testing.T) {
	assert.Empty(t, UsualGauge.Validate())
	assert.Empty(t, Gauge{}.Validate())
	for key, g := range map[string]Gauge{
		"gauge.stamp": {Stamp: -1},
		"gauge.step":  {Step: 600 * Micrometre},
		"gauge.leaf":  {Leaf: Millimetre},
		"gauge.mic":   {Mic: -Micrometre},
	} {
		problems := g.Validate()
		if assert.Len(t, problems, 1, "%+v", g) {
			assert.Equal(t, key, problems[0].Key)
		}
	}
}
