package work

import (
	"context"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"shimwright/inventory"
	"shimwright/inventory/memory"
	"shimwright/inventory/sample"
	"shimwright/shim"
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

// doubts are those of a meter after visits half a year apart, each a meter and,
// after "|", what the one before read.
func doubts(t *testing.T, visits []string, now string) (list []MeterKind, err error) {
	t.Helper()
	ctx := context.Background()
	shop := inventory.New(memory.New(), "R. Example", time.Now)
	spec := sample.Sandpiper()
	spec.Interval = shim.MeterOf(12_000, shim.Kilometres)
	day := time.Date(2020, 1, 10, 0, 0, 0, 0, time.UTC)
	for _, v := range visits {
		meter, old, _ := strings.Cut(v, "|")
		_, err := shop.OpenJob(ctx, inventory.Opening{Spec: spec, Source: "invented", Tag: "AB 12", Meter: meter, MeterNew: old, Date: day})
		require.NoError(t, err)
		day = day.AddDate(0, 6, 0)
	}
	meter, old, _ := strings.Cut(now, "|")
	found, err := DoubtMeter(ctx, shop, inventory.Job{Name: spec.Name, Tag: "ab12", Meter: meter, MeterNew: old}, day)
	for _, d := range found {
		list = append(list, d.Kind)
	}
	return list, err
}

func TestDoubtMeter(t *testing.T) {
	back, jump, unknown, old := []MeterKind{MeterBack}, []MeterKind{MeterJump}, []MeterKind{MeterUnknown}, []MeterKind{OldMeterBack}
	for _, c := range []struct {
		visits []string
		now    string
		want   []MeterKind
	}{
		{[]string{"24,310 km"}, "24,309 km", back},
		{[]string{"24,310 km"}, "24,310 km", nil},
		{[]string{"24.310 km"}, "2431 km", back},
		{[]string{"24 310 km"}, "24'311", nil},
		{[]string{"24\u202f310\u00a0km"}, "24310km", nil},
		{[]string{"1203.5 h"}, "1203,4 h", back},
		{[]string{"1203.5 h"}, "1204 H", nil},
		{[]string{"1,203.5 h"}, "1203.45 h", back},
		{[]string{"24,310 km"}, "15,106 miles", nil}, // 24,310.8 km
		{[]string{"24,310 km"}, "15,105 miles", back},
		{[]string{"24,310 km"}, "7 h", nil}, // nothing to compare
		{[]string{"100"}, "90 km", back},
		{[]string{"12,000 mi", "20,000", "65,000 km"}, "64,000", back},
		{[]string{"unread"}, "3 km", nil},
		{[]string{""}, "3 km", nil},
		{[]string{"99999999999999999999 km"}, "3 km", nil},
		{nil, "3 km", nil},
		{[]string{"24,310 km"}, "", nil},
		// What no meter reads.
		{[]string{"24,310 km"}, "new clock", unknown},
		{[]string{"24,310 km"}, "12 furlongs", unknown},
		{[]string{"24,310 km"}, "-5 km", unknown},
		{nil, "1e9 km", unknown},
		// One that ran on too fast.
		{[]string{"10,000 km", "20,000 km"}, "300,000 km", jump},
		{[]string{"10,000 km", "20,000 km"}, "45,000 km", nil},
		{[]string{"20,000 km"}, "300,000 km", jump},
		{[]string{"800 km"}, "12,000 km", nil},
		{[]string{"10 h", "40 h"}, "700 h", jump},
		// Another meter: only the visits since it was put in count.
		{[]string{"10,000 km", "20,000 km", "500 km|30,000 km"}, "9,500 km", nil},
		{[]string{"10,000 km", "20,000 km", "500 km|30,000 km"}, "400 km", back},
		{[]string{"10,000 km", "25,000 km"}, "2,000 km|30,000 km", nil},
		{[]string{"10,000 km", "25,000 km"}, "2,000 km|unknown", nil},
		{[]string{"10,000 km", "25,000 km"}, "2,000 km|3,000 km", old},
		{[]string{"10,000 km", "500 km|30,000 km"}, "2 km|700", nil},
	} {
		list, err := doubts(t, c.visits, c.now)
		require.NoError(t, err)
		assert.Equal(t, c.want, list, "%q, then %q", c.visits, c.now)
	}
	for _, now := range []string{"2,000 km|abc", "2,000 km|-1 km", "2,000 km|500 h"} {
		_, err := doubts(t, []string{"10,000 km"}, now)
		assert.ErrorIs(t, err, inventory.ErrInvalid, now)
	}
}
