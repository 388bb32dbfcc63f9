package inventory_test

import (
	"context"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"shimwright/inventory"
	"shimwright/inventory/memory"
	"shimwright/inventory/sample"
	"shimwright/shim"
)

// Levels of a family stand until newer ones of that family are kept.
func TestLevels(t *testing.T) {
	ctx := context.Background()
	shop := inventory.New(memory.New(), "R. Example", time.Now)
	small, large := shim.Family{Diameter: 7500 * shim.Micrometre}, shim.Family{Diameter: 8900 * shim.Micrometre}
	level := func(f shim.Family, um shim.Length, n int) inventory.Level {
		return inventory.Level{Disc: f.Of(um * shim.Micrometre), Count: n}
	}
	none, err := shop.Levels(ctx)
	require.NoError(t, err)
	assert.Empty(t, none)
	_, err = shop.KeepLevels(ctx, inventory.Levels{Period: 10, Families: []shim.Family{small}, Levels: []inventory.Level{level(large, 2000, 1)}})
	require.ErrorIs(t, err, inventory.ErrInvalid)
	_, err = shop.KeepLevels(ctx, inventory.Levels{Period: 10, Families: []shim.Family{small}, Levels: []inventory.Level{level(small, 2000, 0)}})
	require.ErrorIs(t, err, inventory.ErrInvalid)
	_, err = shop.KeepLevels(ctx, inventory.Levels{Families: []shim.Family{small}})
	require.ErrorIs(t, err, inventory.ErrInvalid)

	first, err := shop.KeepLevels(ctx, inventory.Levels{Seed: 1, Period: 10, Families: []shim.Family{small, large}, Levels: []inventory.Level{level(large, 2100, 3), level(small, 2000, 2), level(large, 2000, 1)}})
	require.NoError(t, err)
	assert.Equal(t, "R. Example", first.Who)
	_, err = shop.KeepLevels(ctx, inventory.Levels{Seed: 2, Period: 20, Families: []shim.Family{large}, Levels: []inventory.Level{level(large, 2200, 4)}})
	require.NoError(t, err)
	list, err := shop.Levels(ctx)
	require.NoError(t, err)
	require.Len(t, list, 2)
	assert.Equal(t, []inventory.Level{level(large, 2200, 4)}, list[0].Levels)
	assert.EqualValues(t, 2, list[0].Seed)
	assert.Equal(t, []inventory.Level{level(small, 2000, 2)}, list[1].Levels, "those of the other family have newer ones")
	assert.Equal(t, []shim.Family{small}, list[1].Families)

	_, err = shop.KeepLevels(ctx, inventory.Levels{Period: 1, Families: []shim.Family{small, large}})
	require.NoError(t, err)
	list, err = shop.Levels(ctx)
	require.NoError(t, err)
	assert.Empty(t, list, "levels of nothing drop all")
	found, err := shop.Check(ctx)
	require.NoError(t, err)
	assert.Empty(t, found)
}

// Recorded jobs are those with readings, newest first; what a cancelled one found does
// not count, and every valve has its place.
func TestRecorded(t *testing.T) {
	ctx := context.Background()
	shop := inventory.New(memory.New(), "R. Example", time.Now)
	require.NoError(t, sample.History(ctx, shop, 1, 5))
	_, err := shop.OpenJob(ctx, inventory.Opening{Spec: sample.Turnstone(), Source: "invented", Tag: "not read"})
	require.NoError(t, err)
	_, err = shop.Cancel(ctx, 2, "")
	require.NoError(t, err)
	list, err := shop.Recorded(ctx, 0)
	require.NoError(t, err)
	var ids []int64
	for _, r := range list {
		ids = append(ids, r.Job.ID)
		valves := r.Engine.Valves()
		require.Len(t, r.Found, len(valves))
		f, err := shop.Job(ctx, r.Job.ID)
		require.NoError(t, err)
		assert.Equal(t, f.Found, r.Found)
	}
	assert.Equal(t, []int64{5, 4, 3, 1}, ids)
	list, err = shop.Recorded(ctx, 2)
	require.NoError(t, err)
	require.Len(t, list, 2)
	assert.EqualValues(t, 4, list[1].Job.ID)
}
