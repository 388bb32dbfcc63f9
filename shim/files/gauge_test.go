package files

import (
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"shimwright/shim"
)

func TestReadGauge(t *testing.T) {
	for text, want := range map[string]shim.Gauge{
		"[gauge]\nstep = 0.01\n": {Step: 10_000, Leaf: shim.UsualGauge.Leaf, Stamp: shim.UsualGauge.Stamp, Used: shim.UsualGauge.Used, Mic: shim.UsualGauge.Mic},
		"[gauge]\nstep = 0.02\nleaf = 0.003\nstamp = 0.01\nmic = 0.002":          {Step: 20_000, Leaf: 3_000, Stamp: 10_000, Mic: 2_000},
		"units = \"in\"\n[gauge]\nstep = 0.001\nleaf = 0\nstamp=0\nmic = 0.0001": {Step: 25_400, Mic: 2_540},
	} {
		g, _, err := ReadGauge("gauge.toml", strings.NewReader(text))
		require.NoError(t, err, text)
		assert.Equal(t, want, g, text)
	}
	for text, place := range map[string]string{
		"step = 0.01\n":              "gauge.toml:1:",
		"[gauge]\nsteps = 0.01\n":    "gauge.toml:2:1: gauge.steps",
		"[gauge]\nstep = 0\n":        "gauge.toml:2:8: gauge.step: ",
		"[gauge]\nstep = 0.9\n":      "gauge.toml:2:8: gauge.step",
		"[gauge]\nstep = \"thin\"\n": "gauge.toml:2:8: gauge.step",
		"":                           "gauge.toml:",
	} {
		_, _, err := ReadGauge("gauge.toml", strings.NewReader(text))
		var faults Faults
		require.ErrorAs(t, err, &faults, text)
		assert.True(t, strings.HasPrefix(faults[0].Error(), place), "%s: %s", text, faults[0].Error())
	}
}

func TestReadEngineWithGauge(t *testing.T) {
	e, _, err := ReadEngine("engine.toml", strings.NewReader(`name = "Heron"
units = "in"
cylinders = 1
[intake]
valves = 1
clearance = [0.004, 0.006]
[shims]
diameter = 0.35
[gauge]
step = 0.001
`))
	require.NoError(t, err)
	require.NotNil(t, e.Gauge)
	assert.Equal(t, shim.Length(25_400), e.Gauge.Step)
	assert.Equal(t, shim.UsualGauge.Mic, e.Gauge.Mic)
}
