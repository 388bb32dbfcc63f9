package storetest

import (
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"shimwright/inventory"
	"shimwright/shim"
)

var gaugeTests = map[string]func(*testing.T, inventory.Store){
	"put":                  putGauge,
	"a check keeps it":     checkKeepsGauge,
	"each valve has its":   valvesHaveTheirs,
	"carried to a reading": carriedGauge,
}

var fineSet = shim.Gauge{Step: 10 * shim.Micrometre, Leaf: 3 * shim.Micrometre, Stamp: 5 * shim.Micrometre, Mic: 2 * shim.Micrometre}

func date(text string) time.Time {
	at, err := time.Parse(time.DateOnly, text)
	if err != nil {
		panic(err)
	}
	return at
}

// putGauge: sets are added, changed and refused, and a refused one changes nothing.
func putGauge(t *testing.T, s inventory.Store) {
	b := newBench(t, s)
	first, err := b.PutGauge(ctx, inventory.Gauge{Name: " Set 2 ", Number: "FG-0417", Spec: fineSet, Calibrated: date("2026-01-10"), Due: date("2027-01-10"), Note: awkward})
	require.NoError(t, err)
	assert.Equal(t, int64(1), first.ID)
	assert.Equal(t, "Set 2", first.Name)
	second, err := b.PutGauge(ctx, inventory.Gauge{Name: "old"})
	require.NoError(t, err)
	want := []inventory.Gauge{first, second}
	for name, wrong := range map[string]inventory.Gauge{
		"no name":        {Name: " - "},
		"a name twice":   {Name: "SET-2"},
		"another's name": {ID: 2, Name: "set 2"},
		"due before":     {Name: "x", Calibrated: date("2026-01-10"), Due: date("2026-01-09")},
		"not plausible":  {Name: "x", Spec: shim.Gauge{Step: shim.Millimetre}},
		"no text":        {Name: "x", Note: "\xff"},
		"one not there":  {ID: 7, Name: "x"},
	} {
		_, err := b.PutGauge(ctx, wrong)
		assert.Error(t, err, name)
	}
	list, err := b.Gauges(ctx)
	require.NoError(t, err)
	assert.Equal(t, want, list)
	want[0].Due, want[0].Retired = time.Time{}, true
	_, err = b.PutGauge(ctx, want[0])
	require.NoError(t, err)
	list, err = b.Gauges(ctx)
	require.NoError(t, err)
	assert.Equal(t, want, list)
	b.sound()
}

// checkKeepsGauge: what is changed of a set later leaves the checks that were made
// with it as they are, and the doubt that goes by them.
func checkKeepsGauge(t *testing.T, s inventory.Store) {
	b := newBench(t, s)
	set, err := b.PutGauge(ctx, inventory.Gauge{Name: "a", Number: "1", Spec: fineSet, Due: date("2025-01-10")})
	require.NoError(t, err)
	job := b.measured(map[string][2]string{"in1a": {"0.1", "2.425"}})
	list := []shim.Measurement{{Valve: v("in1a"), Reading: shim.ReadingOf(mm("0.1"))}}
	check, err := b.ReadWith(ctx, job, list, "", set.ID)
	require.NoError(t, err)
	assert.Equal(t, set, check.Gauge)
	_, err = b.ReadWith(ctx, job, list, "", 7)
	require.ErrorIs(t, err, inventory.ErrUnknown)

	later := set
	later.Number, later.Due, later.Spec.Step = "2", date("2099-01-01"), 50*shim.Micrometre
	_, err = b.PutGauge(ctx, later)
	require.NoError(t, err)
	f, err := b.Job(ctx, job)
	require.NoError(t, err)
	assert.Equal(t, []inventory.Gauge{set}, f.Gauges)
	assert.Equal(t, set, f.Checks[len(f.Checks)-1].Gauge)
	assert.True(t, f.Checks[len(f.Checks)-1].Gauge.OutOfDate(check.Time))
	basis, err := b.Basis(ctx, job)
	require.NoError(t, err)
	assert.Equal(t, fineSet, *basis.Gauge)
	b.sound()

	_, err = b.ReadWith(ctx, job, list, "", set.ID)
	require.NoError(t, err)
	f, err = b.Job(ctx, job)
	require.NoError(t, err)
	assert.Equal(t, []inventory.Gauge{set, later}, f.Gauges, "as it was, and as it is")
	b.sound()
}

// valvesHaveTheirs: a reading goes by the set of the check that it is from.
func valvesHaveTheirs(t *testing.T, s inventory.Store) {
	b := newBench(t, s)
	set, err := b.PutGauge(ctx, inventory.Gauge{Name: "a", Spec: fineSet})
	require.NoError(t, err)
	job := b.measured(nil)
	_, err = b.ReadWith(ctx, job, []shim.Measurement{{Valve: v("ex1a"), Reading: shim.ReadingOf(mm("0.24"))}}, "", set.ID)
	require.NoError(t, err)
	f, err := b.Job(ctx, job)
	require.NoError(t, err)
	for _, m := range f.Found {
		want := shim.Gauge{}
		if m.Valve == v("ex1a") {
			want = fineSet
		}
		assert.Equal(t, want, m.With, m.Valve)
	}
}

// carriedGauge: a reading that a correction enters again was made with the set that
// it was made with.
func carriedGauge(t *testing.T, s inventory.Store) {
	b := newBench(t, s)
	set, err := b.PutGauge(ctx, inventory.Gauge{Name: "a", Spec: fineSet})
	require.NoError(t, err)
	b.receive(piece("2.35", "A1", true))
	job := b.measured(map[string][2]string{"in1a": {"0.1", "2.425"}})
	require.NoError(t, b.plan(job, drawn("in1a", "2.35")))
	b.fit(job, inventory.Fit{})
	_, err = b.ReadWith(ctx, job, []shim.Measurement{{Valve: v("in1a"), Reading: shim.ReadingOf(mm("0.175"))}}, "", set.ID)
	require.NoError(t, err)
	_, err = b.CorrectFit(ctx, job, inventory.Correction{Lay: []inventory.Lay{{Valve: v("in1a"), Marks: shim.Marks{Mic: mm("2.34")}}}})
	require.NoError(t, err)
	f, err := b.Job(ctx, job)
	require.NoError(t, err)
	require.NotEmpty(t, f.Since)
	assert.Equal(t, fineSet, f.Since[0].With)
	assert.Len(t, f.Gauges, 1)
	b.sound()
}
