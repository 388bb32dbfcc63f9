package work

import (
	"fmt"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"shimwright/inventory"
	"shimwright/inventory/sample"
	"shimwright/shim"
)

var (
	in1 = shim.Valve{Side: shim.Intake, Cylinder: 1}
	ex1 = shim.Valve{Side: shim.Exhaust, Cylinder: 1}
)

// um is so many micrometres.
const um = shim.Micrometre

// read is a valve with a reading over a shim.
func read(v shim.Valve, r shim.Reading, size shim.Length) shim.Measurement {
	return shim.Measurement{Valve: v, Reading: r, Marks: shim.Marks{Stamp: size}}
}

// below is a valve into which a leaf does not go.
func below(leaf shim.Length) shim.Reading { return shim.Reading{Kind: shim.Below, High: leaf} }

// came is a visit of the single with limits 0.14 to 0.21 and 0.20 to 0.27, whose
// valves have closed by so much since they were at 0.20 and 0.26.
func came(meter string, worn shim.Length, change ...func(*inventory.Visit)) inventory.Visit {
	v := inventory.Visit{Job: inventory.Job{Meter: meter, State: inventory.StateClosed}, Engine: inventory.Engine{Spec: sample.Turnstone()}}
	v.Engine.Spec.Interval = shim.MeterOf(12_000, shim.Kilometres)
	v.Engine.Spec.Gauge = &shim.Gauge{Step: 10 * um, Leaf: 3 * um}
	v.Found = []shim.Measurement{read(in1, shim.ReadingOf(200*um-worn), 2450*um), read(ex1, shim.ReadingOf(260*um-worn), 2300*um)}
	v.Seats = []inventory.Seat{{Valve: in1, Marks: v.Found[0].Marks}, {Valve: ex1, Marks: v.Found[1].Marks}}
	for _, c := range change {
		c(&v)
	}
	return v
}

// trend is what visits a year apart make likely.
func trend(t *testing.T, visits ...inventory.Visit) *Trend {
	t.Helper()
	for i := range visits {
		visits[i].Job.ID, visits[i].Job.Opened = int64(i+1), time.Date(2015+i, 1, 10, 0, 0, 0, 0, time.UTC)
	}
	tr, err := TrendOf(inventory.MachineFile{Visits: visits})
	require.NoError(t, err)
	if o, some := tr.Outlook(); some { // it is made of every trend
		assert.Equal(t, len(tr.Outside) > 0, o.Outside)
	}
	return tr
}

// skipped are the visits that are no part of a trend, by number.
func skipped(tr *Trend) map[int64]string {
	list := map[int64]string{}
	for _, s := range tr.Skipped {
		list[tr.Visits[s.Visit].Job.ID] = s.Why
	}
	return list
}

// yearly are n visits, 10,000 km and 0.005 of wear apart.
func yearly(n int) (list []inventory.Visit) {
	for i := range n {
		list = append(list, came(fmt.Sprintf("%d,000 km", 10*i+10), shim.Length(i)*5*um))
	}
	return list
}

func fit(v shim.Valve, size, left shim.Length) func(*inventory.Visit) {
	return func(visit *inventory.Visit) {
		for i := range visit.Seats {
			if visit.Seats[i].Valve == v {
				visit.Seats[i].Marks = shim.Marks{Stamp: size}
			}
		}
		visit.Left = append(visit.Left, read(v, shim.ReadingOf(left), size))
	}
}

func found(m shim.Measurement) func(*inventory.Visit) {
	return func(visit *inventory.Visit) {
		for i := range visit.Found {
			if visit.Found[i].Valve == m.Valve {
				visit.Found[i] = m
			}
		}
	}
}

// A valve that the last reading proves outside leaves no chance that all are
// inside, has a figure or not, at a visit of the trend or at one outside it.
func TestOutsideAsLeft(t *testing.T) {
	plain := trend(t, yearly(6)...)
	require.True(t, plain.Told())
	require.Greater(t, plain.Forecast.Inside(plain.Next()), 0.5)
	require.Empty(t, plain.Outside)
	tight := found(read(in1, below(50*um), 2450*um))
	for name, visits := range map[string][]inventory.Visit{
		"no figure":                    append(yearly(5), came("60,000 km", 20*um, tight)),
		"no figure, no meter":          append(yearly(6), came("", 20*um, tight)),
		"a figure, no meter":           append(yearly(6), came("", 20*um, found(read(in1, shim.ReadingOf(80*um), 2450*um)))),
		"no figure, and not read then": append(append(yearly(5), came("60,000 km", 20*um, tight)), came("70,000 km", 24*um, func(v *inventory.Visit) { v.Found = v.Found[1:] })),
		"no figure, shim not told":     append(yearly(5), came("60,000 km", 20*um, found(read(in1, below(50*um), 0)))),
	} {
		tr := trend(t, visits...)
		require.True(t, tr.Told(), name)
		assert.Equal(t, []shim.Valve{in1}, tr.Outside, name)
		assert.Zero(t, tr.Forecast.Inside(tr.Next()), name)
		assert.Equal(t, tr.Last(), tr.CheckBy(), name)
		assert.Equal(t, in1, tr.Forecast.Valves[0].Valve, name)
	}
	few := trend(t, came("10,000 km", 0), came("20,000 km", 4*um, tight))
	assert.False(t, few.Told())
	assert.Equal(t, few.Last(), few.CheckBy(), "with two checks too")
	set := trend(t, append(yearly(5), came("60,000 km", 20*um, tight, fit(in1, 2440*um, 185*um)))...)
	assert.Empty(t, set.Outside)
	assert.Greater(t, set.Forecast.Inside(set.Next()), 0.5)
	again := trend(t, append(append(yearly(5), came("60,000 km", 20*um, tight)), came("", 20*um, func(v *inventory.Visit) { v.Found = nil }, fit(in1, 2440*um, 185*um)))...)
	assert.Empty(t, again.Outside, "another shim is in since")
}

// Shims that were fitted at a visit outside the trend are in now; two visits at one
// meter are one check.
func TestShimsFittedOutsideTheTrend(t *testing.T) {
	for _, c := range []struct {
		meter  string
		checks int
	}{{"50,000 km", 5}, {"", 5}, {"5,000 km", 5}, {"abc", 5}, {"-", 5}} {
		visits := append(yearly(4), came("50,000 km", 65*um), came(c.meter, 65*um, fit(ex1, 2200*um, 295*um), fit(in1, 2400*um, 185*um)))
		if c.meter == "-" {
			visits[5].Job.State = inventory.StateCancelled
		}
		tr := trend(t, visits...)
		require.Len(t, tr.Series.Meters, c.checks, c.meter)
		for _, v := range tr.Series.Valves {
			want := map[shim.Valve]shim.Length{in1: 2400 * um, ex1: 2200 * um}[v.Valve]
			assert.Equal(t, want, v.Discs[len(v.Discs)-1].Fill, "%s %v", c.meter, v.Valve)
		}
		assert.Equal(t, c.meter == "50,000 km", len(tr.Used) == 6, c.meter)
	}
}
