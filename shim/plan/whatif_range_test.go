package plan_test

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"shimwright/shim"
	"shimwright/shim/plan"
)

// What is said of sizes on sale holds for the grid that is named: nothing is
// shifted at the thinnest size there can be, and of two ranges each stands for
// itself.
func TestCatalogueWhatIfsKeepToTheGrid(t *testing.T) {
	ask := func(reading string, ranges ...shim.Range) []plan.WhatIf {
		e := inline(1)
		e.Intake.Limits, e.Exhaust.Limits = shim.Limits{Tight: 100 * um, Loose: 110 * um}, shim.Limits{Tight: 100 * um, Loose: 110 * um}
		e.Catalogue = ranges
		q := plan.Request{Jobs: []plan.JobRequest{{Engine: e, Check: check(t, e, reading, "ex1 0.105 1.60"), Lift: shim.LiftAll}}}
		found, err := plan.WhatIfs(t.Context(), q, made(t, q))
		require.NoError(t, err)
		return found
	}
	coarse := shim.Range{From: 1200 * um, To: 2000 * um, Step: 40 * um}
	for _, w := range ask("in1 0.13 1.475", coarse) { // needs 1.495 to 1.505
		assert.NotEqual(t, plan.WiderRange, w.What, "1.20 less any number of steps of 0.04 is never 1.50: %+v", w)
	}
	helped := false
	for _, w := range ask("in1 0.13 1.435", coarse, shim.Range{From: 2500 * um, To: 3000 * um, Step: 100 * um}) { // needs 1.455 to 1.465
		if w.What == plan.FinerStep {
			helped = true
			assert.Equal(t, 20*um, w.Step, "of the range that helps")
			assert.Equal(t, coarse.From, w.From)
		}
	}
	assert.True(t, helped)
}
