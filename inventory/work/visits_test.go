package work

import (
	"context"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"shimwright/inventory"
	"shimwright/inventory/memory"
	"shimwright/inventory/sample"
)

// tagged is a shop with a job for each tag, those that begin with "-" cancelled.
func tagged(t *testing.T, tags ...string) *inventory.Shop {
	t.Helper()
	ctx := context.Background()
	shop := inventory.New(memory.New(), "R. Example", time.Now)
	for _, tag := range tags {
		over := tag[0] == '-'
		if over {
			tag = tag[1:]
		}
		j, err := shop.OpenJob(ctx, inventory.Opening{Spec: sample.Sandpiper(), Source: "invented", Tag: tag})
		require.NoError(t, err)
		if over {
			_, err = shop.Cancel(ctx, j.ID, "")
			require.NoError(t, err)
		}
	}
	return shop
}

func TestTagged(t *testing.T) {
	for _, c := range []struct {
		name     string
		tags     []string
		asked    string
		finished bool
		want     []int64
	}{
		{"a part", []string{"AB 123", "CD 4"}, "123", false, []int64{1}},
		{"as somebody writes it", []string{"AB 123", "CD 4"}, "ab123", false, []int64{1}},
		{"the very tag before a longer one", []string{"AB 12", "AB 123"}, "ab 12", false, []int64{1}},
		{"several", []string{"AB 12", "AB 123"}, "ab", false, []int64{2, 1}},
		{"at its end", []string{"-AB 12"}, "ab", false, nil},
		{"at its end, which may be", []string{"-AB 12", "-AB 12"}, "ab", true, []int64{2}},
		{"at their end, of two machines", []string{"-AB 12", "-AB 123"}, "ab", true, nil},
		{"one at work goes first", []string{"AB 12", "-AB 12"}, "ab", true, []int64{1}},
		{"none", []string{"AB 12"}, "x", true, nil},
	} {
		jobs, err := Tagged(context.Background(), tagged(t, c.tags...), c.asked, c.finished)
		require.NoError(t, err)
		var ids []int64
		for _, j := range jobs {
			ids = append(ids, j.ID)
		}
		assert.Equal(t, c.want, ids, c.name)
	}
}

func TestMeterAhead(t *testing.T) {
	ctx := context.Background()
	shop := inventory.New(memory.New(), "R. Example", time.Now)
	_, err := shop.OpenJob(ctx, inventory.Opening{Spec: sample.Sandpiper(), Source: "invented", Tag: "AB 12", Meter: "24000 km"})
	require.NoError(t, err)
	for _, c := range []struct {
		tag, meter string
		ahead      bool
	}{{"AB 12", "23999 km", true}, {"ab12", "2 km", true}, {"AB 12", "24000 km", false}, {"AB 12", "", false}, {"CD 4", "2 km", false}, {"", "2 km", false}} {
		v, err := MeterAhead(ctx, shop, inventory.Job{Name: sample.Sandpiper().Name, Tag: c.tag, Meter: c.meter})
		require.NoError(t, err)
		assert.Equal(t, c.ahead, v != nil, "%+v", c)
	}
}
