package work

import (
	"context"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"shimwright/inventory"
	"shimwright/inventory/sample"
	"shimwright/shim"
)

// A job that has an engine file of another family than the one that was fitted
// before it is not planned; the record is sound as long as nothing is booked.
func TestAChangedFamilyIsNotPlanned(t *testing.T) {
	ctx := context.Background()
	shop, first := measured(t, []string{"2.325"}, map[string]string{"ex1a": "0.17"})
	planned(t, shop, first, true)
	f, err := shop.Job(ctx, first)
	require.NoError(t, err)
	_, err = Fit(ctx, shop, f, inventory.Fit{})
	require.NoError(t, err)
	spec := sample.Sandpiper()
	spec.Kind = "halfring"
	second, err := shop.OpenJob(ctx, inventory.Opening{Spec: spec, Source: "another", Tag: "S1"})
	require.NoError(t, err)
	_, err = shop.EditJob(ctx, first, map[inventory.Field]string{inventory.TagField: "S1"}, nil)
	require.NoError(t, err, "whose tag it was is known late")
	found, err := shop.Check(ctx)
	require.NoError(t, err)
	assert.Empty(t, found, "an engine file alone is no fault of the record")

	var list []shim.Measurement
	for _, v := range spec.Valves() {
		list = append(list, shim.Measurement{Valve: v, Reading: shim.ReadingOf(mm(t, "0.2")), Marks: shim.Marks{Stamp: mm(t, "2.4")}})
	}
	_, err = shop.Read(ctx, second.ID, list, "")
	require.NoError(t, err)
	basis, err := shop.Basis(ctx, second.ID)
	require.NoError(t, err)
	_, err = shop.PlanTogether(ctx, []inventory.Proposal{{Job: second.ID, Revision: basis.Revision}})
	assert.ErrorContains(t, err, "job 1 fitted one of diameter 8.9 there")
}
