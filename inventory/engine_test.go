package inventory

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"shimwright/shim"
)

// A gauge that a version without an error of used shims kept is the file's of today; one that
// states its stamp states it for used shims too.
func TestEngineKeptBeforeUsedShims(t *testing.T) {
	usual := shim.UsualGauge
	for _, c := range []struct {
		data, source string
		used         shim.Length
	}{
		{`{"Gauge":{"Step":0.02,"Leaf":0.005,"Stamp":0.005,"Mic":0.004}}`, "[gauge]\nstep = 0.02 # no stamp = 0.005\n", usual.Used},
		{`{"Gauge":{"Step":0.02,"Leaf":0.005,"Stamp":0.005,"Mic":0.004}}`, "[gauge]\nstamp = 0.005\n", 0},
		{`{"Gauge":{"Step":0.02,"Leaf":0.005,"Stamp":0.005,"Mic":0.004}}`, "gauge = { step = 0.02, stamp=0.005 }", 0},
		{`{"Gauge":{"Step":0.02,"Leaf":0.005,"Stamp":0.004,"Mic":0.004}}`, "", 0},
		{`{"Gauge":{"Step":0.02,"Leaf":0.005,"Stamp":0.005,"Used":0.015,"Mic":0.004}}`, "[gauge]\n", usual.Used},
	} {
		e := Engine{Data: []byte(c.data), Source: c.source}
		require.NoError(t, e.Read())
		assert.Equal(t, c.used, e.Spec.Gauge.Used, c.source)
	}
	kept := Engine{Data: []byte(`{"Name":"Knot","Gauge":{"Step":0.02,"Leaf":0.005,"Stamp":0.005,"Mic":0.004}}`), Source: "[gauge]\nstep = 0.02\n"}.sealed()
	require.NoError(t, kept.Read())
	today := shim.Engine{Name: "Knot", Gauge: &usual}
	today.Gauge.Step = 20 * shim.Micrometre
	_, known := KnownEngine([]Engine{kept}, today, kept.Source)
	assert.True(t, known, "the same file is no new version")
}

func TestTagKey(t *testing.T) {
	for _, tag := range []string{"AB-123", "ab 123", "Ab123", " a b\u00a01\u20132-3 "} {
		assert.Equal(t, "ab123", TagKey(tag), "%q", tag)
	}
	assert.NotEqual(t, TagKey("AB 123"), TagKey("AB 124"))
}
