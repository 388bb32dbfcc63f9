package work

import (
	"context"
	"fmt"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"shimwright/inventory"
	"shimwright/inventory/memory"
	"shimwright/inventory/sample"
	"shimwright/shim"
)

// visited is a shop with machines that each had so many visits a year apart.
func visited(t testing.TB, machines, visits int, spec shim.Engine) *inventory.Shop {
	t.Helper()
	ctx := context.Background()
	now := time.Date(2020, 3, 1, 10, 0, 0, 0, time.UTC)
	shop := inventory.New(memory.New(), "R. Example", func() time.Time { return now })
	for visit := range visits {
		now = time.Date(2020+visit, 3, 1, 10, 0, 0, 0, time.UTC)
		for machine := range machines {
			job, err := shop.OpenJob(ctx, inventory.Opening{Spec: spec, Source: "invented", Tag: fmt.Sprint("M ", machine), Meter: fmt.Sprintf("%d km", 10000*(visit+1))})
			require.NoError(t, err)
			var list []shim.Measurement
			for _, v := range spec.Valves() {
				gap := spec.TrainOf(v).Limits.Loose - shim.Length(visit*10)*shim.Micrometre
				list = append(list, shim.Measurement{Valve: v, Reading: shim.ReadingOf(gap), Marks: shim.Marks{Stamp: 2400 * shim.Micrometre}})
			}
			_, err = shop.Read(ctx, job.ID, list, "")
			require.NoError(t, err)
			require.NoError(t, shop.Close(ctx, job.ID, true))
		}
	}
	return shop
}

// What was worked out for the due list is kept, the empty too, until a visit changes.
func TestForeseenIsKept(t *testing.T) {
	ctx := context.Background()
	spec := sample.Sandpiper()
	spec.Interval, _ = shim.ParseMeter("12000 km")
	shop := visited(t, 3, 2, spec).Reading()
	asked := 0
	long := func(n int) { asked = n }
	_, err := shop.OpenJob(ctx, inventory.Opening{Spec: spec, Source: "invented", Tag: "NEW 1"})
	require.Error(t, err, "for reading only")
	first, err := Foreseen(ctx, shop, long)
	require.NoError(t, err)
	assert.Equal(t, 3, asked)
	require.Len(t, first, 3)
	for _, m := range first {
		require.NotNil(t, m.Outlook)
		assert.Equal(t, 32000.0, m.Outlook.CheckBy)
		assert.False(t, m.Outlook.Due.IsZero())
	}
	asked = 0
	second, err := Foreseen(ctx, shop, long)
	require.NoError(t, err)
	assert.Zero(t, asked, "kept")
	assert.Equal(t, first, second)
}

// Each change of a visit that can move the recommendation drops what was kept.
func TestForeseenIsDropped(t *testing.T) {
	ctx := context.Background()
	spec := sample.Sandpiper()
	spec.Interval, _ = shim.ParseMeter("12000 km")
	for name, change := range map[string]func(*inventory.Shop) error{
		"opened": func(s *inventory.Shop) error {
			_, err := s.OpenJob(ctx, inventory.Opening{Spec: spec, Source: "invented", Tag: "m0", Build: true})
			return err
		},
		"edited": func(s *inventory.Shop) error {
			_, err := s.EditJob(ctx, 2, map[inventory.Field]string{inventory.MeterField: "22000 km"}, nil)
			return err
		},
		"another machine's": func(s *inventory.Shop) error {
			_, err := s.EditJob(ctx, 2, map[inventory.Field]string{inventory.TagField: "Z 9"}, nil)
			return err
		},
	} {
		shop := visited(t, 1, 2, spec)
		before, err := Foreseen(ctx, shop, func(int) {})
		require.NoError(t, err)
		require.NoError(t, change(shop), name)
		asked := 0
		after, err := Foreseen(ctx, shop, func(n int) { asked = n })
		require.NoError(t, err)
		assert.NotZero(t, asked, name)
		if name != "opened" { // nothing was read yet
			assert.NotEqual(t, before[0].Outlook, after[0].Outlook, name)
		}
		asked = 0
		_, err = Foreseen(ctx, shop, func(n int) { asked = n })
		require.NoError(t, err)
		assert.Zero(t, asked, name)
	}
}

// A list of 20,000 machines that are kept is to take less than a second; here are
// 1,000, since the store in memory is slow to fill.
func BenchmarkForeseen(b *testing.B) {
	ctx := context.Background()
	shop := visited(b, 1000, 1, sample.Sandpiper())
	_, err := Foreseen(ctx, shop, func(int) {})
	require.NoError(b, err)
	for b.Loop() {
		_, err := Foreseen(ctx, shop, func(int) { b.Fatal("nothing is kept") })
		require.NoError(b, err)
	}
}

// Work on the valves does not change how fast the meter runs, nor does another
// meter of which nobody knows what the old one read.
func TestPaceOfTheMeter(t *testing.T) {
	ctx := context.Background()
	spec := sample.Sandpiper()
	spec.Interval, _ = shim.ParseMeter("12000 km")
	for name, fields := range map[string]map[inventory.Field]string{
		"as before": {inventory.NoteField: "-"},
		"seats cut": {inventory.ResetField: "seats cut"},
		"swapped":   {inventory.MeterField: "0 km", inventory.MeterNewField: "40000 km"},
		"unknown":   {inventory.MeterField: "7 km", inventory.MeterNewField: "unknown"},
	} {
		shop := visited(t, 1, 4, spec)
		_, err := shop.EditJob(ctx, 4, fields, nil)
		require.NoError(t, err)
		list, err := Foreseen(ctx, shop, func(int) {})
		require.NoError(t, err)
		assert.InDelta(t, 10000/365.25, list[0].Outlook.PerDay, 0.1, name)
		assert.False(t, list[0].Outlook.Due.IsZero(), name)
	}
}

// The recommendation is rounded down: never later than the maker's.
func TestNeverLaterThanTheMaker(t *testing.T) {
	ctx := context.Background()
	for _, c := range []struct {
		interval, meter string
		by              float64
	}{
		{"12000 km", "40290 km", 52290}, {"12000 km", "40290.75 km", 52290}, {"15 h", "68.8 h", 83.8}, {"15 h", "68.87 h", 83.8}, {"12000 km", "30000 mi", 37456},
	} {
		spec := sample.Sandpiper()
		spec.Interval, _ = shim.ParseMeter(c.interval)
		shop := visited(t, 1, 1, spec)
		_, err := shop.EditJob(ctx, 1, map[inventory.Field]string{inventory.MeterField: c.meter}, nil)
		require.NoError(t, err)
		s, err := See(ctx, shop, 1)
		require.NoError(t, err)
		o, _ := s.Trend.Outlook()
		assert.Equal(t, c.by, o.CheckBy, "%+v", c)
		assert.Equal(t, c.by, s.Trend.Next(), "%+v", c)
	}
}
