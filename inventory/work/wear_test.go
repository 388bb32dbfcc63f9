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
	figure := trend(t, append(yearly(6), came("", 25*um, found(read(in1, shim.ReadingOf(80*um), 2450*um))))...)
	assert.Equal(t, []shim.Valve{in1}, figure.Outside)
	assert.Equal(t, figure.Last(), figure.CheckBy())
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
		assert.Equal(t, c.meter != "-", len(tr.Used) == 6, c.meter)
	}
}

// What was read after the last check at a meter that nobody wrote down is newer
// than the trend's line; the pace of the meter is that of the visits that have one.
func TestReadingsAfterTheLastCheck(t *testing.T) {
	before, after := trend(t, yearly(6)...), trend(t, append(yearly(6), came("", 0, found(read(in1, below(50*um), 2450*um)), fit(in1, 2300*um, 180*um)))...)
	assert.Empty(t, after.Outside)
	assert.Equal(t, before.PerDay(), after.PerDay())
	assert.Equal(t, before.Next(), after.Next())
	readings := after.Series.Valves[0].Readings
	assert.Equal(t, 2480*um, readings[len(readings)-1].Stack)
	assert.Equal(t, []Skipped{{6, noMeter}}, after.Placed)
	o, _ := after.Outlook()
	assert.Equal(t, int64(6), o.Job)
}

// One meter reading too large, or too small, is the odd one where the others agree,
// and the maker's next check counts from the last visit in any case.
func TestOddMeter(t *testing.T) {
	visits := yearly(6)
	visits[2].Job.Meter = "300,000 km"
	tr := trend(t, visits...)
	assert.Equal(t, map[int64]string{3: "its meter is ahead of the visits after"}, skipped(tr))
	assert.Equal(t, []float64{10_000, 20_000, 40_000, 50_000, 60_000}, tr.Series.Meters)
	assert.Equal(t, 72_000., tr.Next())

	visits = yearly(4)
	visits[3].Job.Meter = "4,000 km"
	tr = trend(t, visits...)
	assert.Equal(t, 30_000., tr.Last())
	assert.Equal(t, 16_000., tr.Next(), "the maker's is never later than the last visit's own meter says")
	assert.LessOrEqual(t, tr.CheckBy(), 16_000.)

	assert.Equal(t, []float64{20_000}, trend(t, came("200,000 km", 0), came("20,000 km", 5*um)).Series.Meters, "of two the later one")
}

// A meter without a unit has that of the visit before, not that of one after.
func TestMeterWithoutUnit(t *testing.T) {
	tr := trend(t, came("12,000 mi", 0), came("20,000", 5*um), came("30,000", 10*um), came("65,000 km", 15*um))
	require.Len(t, tr.Series.Meters, 4)
	for i, km := range []float64{19_312, 32_187, 48_280, 65_000} {
		assert.InDelta(t, km, tr.Series.Meters[i], 1)
	}
	tr = trend(t, came("12,000", 0), came("20,000 mi", 5*um))
	assert.Equal(t, shim.Miles, tr.Kind)
	assert.Equal(t, []float64{12_000, 20_000}, tr.Series.Meters)
}

func swapped(old string) func(*inventory.Visit) {
	return func(v *inventory.Visit) { v.Job.MeterNew = old }
}

func nothing(v *inventory.Visit) { v.Found = nil }

// A meter that was replaced is not forgotten where that visit has no meter, no
// readings or was cancelled; what cannot have been its end begins the series anew.
func TestMeterReplaced(t *testing.T) {
	cancelled := func(v *inventory.Visit) { v.Job.State = inventory.StateCancelled }
	for name, c := range map[string]struct {
		visits []inventory.Visit
		meters []float64
	}{
		"as usual":    {[]inventory.Visit{came("2,000 km", 10*um, swapped("30,000 km"))}, []float64{-20_000, -10_000, 2_000, 25_000}},
		"no meter":    {[]inventory.Visit{came("", 10*um, swapped("30,000 km"), nothing)}, []float64{-20_000, -10_000, 25_000}},
		"no readings": {[]inventory.Visit{came("2,000 km", 10*um, swapped("30,000 km"), nothing)}, []float64{-20_000, -10_000, 25_000}},
		"cancelled":   {[]inventory.Visit{came("2,000 km", 10*um, swapped("30,000 km"), cancelled)}, []float64{-20_000, -10_000, 25_000}},
		"cancelled, and told again": {[]inventory.Visit{came("2,000 km", 10*um, swapped("30,000 km"), cancelled), came("2,000 km", 10*um, swapped("30,000 km"))},
			[]float64{-20_000, -10_000, 2_000, 25_000}},
		"less than it read":     {[]inventory.Visit{came("2,000 km", 10*um, swapped("3,000 km"))}, []float64{2_000, 25_000}},
		"another kind":          {[]inventory.Visit{came("2,000 km", 10*um, swapped("500 h"))}, []float64{2_000, 25_000}},
		"unknown, and no meter": {[]inventory.Visit{came("", 10*um, swapped("unknown"))}, []float64{25_000}},
	} {
		tr := trend(t, append(append(yearly(2), c.visits...), came("25,000 km", 15*um))...)
		assert.Equal(t, c.meters, tr.Series.Meters, name)
		assert.Equal(t, 37_000., tr.Next(), name)
	}
}

// A visit after which wear cannot be followed begins the series with what it left:
// what was found stands for that where nothing was fitted; and the visit after it
// keeps what was found.
func TestReset(t *testing.T) {
	cut := func(v *inventory.Visit) { v.Job.Reset = "seats cut" }
	after := func() []inventory.Visit {
		return []inventory.Visit{came("30,000 km", 5*um), came("40,000 km", 10*um)}
	}
	for name, c := range map[string]struct {
		visit  inventory.Visit
		meters []float64
	}{
		"no meter":                  {came("", 0, cut), []float64{30_000, 40_000}},
		"no readings":               {came("20,000 km", 0, cut, nothing), []float64{30_000, 40_000}},
		"nothing to change":         {came("20,000 km", 0, cut), []float64{20_000, 30_000, 40_000}},
		"one fitted, and read":      {came("20,000 km", 0, cut, fit(ex1, 2325*um, 235*um)), []float64{20_000, 30_000, 40_000}},
		"one fitted, and not after": {came("20,000 km", 0, cut, fit(ex1, 2325*um, 0), func(v *inventory.Visit) { v.Left = nil }), []float64{30_000, 40_000}},
	} {
		tr := trend(t, append([]inventory.Visit{came("10,000 km", 0), c.visit}, after()...)...)
		assert.Equal(t, c.meters, tr.Series.Meters, name)
		assert.Equal(t, "seats cut", tr.Began, name)
		for _, v := range tr.Series.Valves {
			want := len(c.meters)
			if name == "one fitted, and read" && v.Valve == in1 {
				want-- // what was found may be from before the work
			}
			assert.Len(t, v.Readings, want, "%s %v", name, v.Valve)
		}
		assert.Equal(t, len(c.meters) == 3, tr.Forecast != nil && len(tr.Series.Meters) == 3, name)
	}
	fitted := trend(t, came("10,000 km", 0), came("", 0, cut), came("30,000 km", 5*um, fit(ex1, 2275*um, 280*um)), came("40,000 km", 10*um))
	assert.Len(t, fitted.Series.Valves[0].Readings, 2, "what the visit after it found is kept, whatever was fitted there")
	alone := trend(t, came("10,000 km", 0), came("20,000 km", 0, cut))
	assert.Equal(t, 32_000., alone.Next())
}

// Cold and warm visits are never mixed.
func TestStatesApart(t *testing.T) {
	warm := func(v *inventory.Visit) {
		v.Engine.Spec.State = shim.Warm
		for i := range v.Found {
			v.Found[i].Reading = v.Found[i].Reading.Shift(40 * um)
		}
	}
	visits := yearly(4)
	warm(&visits[1])
	tr := trend(t, visits...)
	assert.Equal(t, map[int64]string{2: "measured warm"}, skipped(tr))
	assert.Equal(t, []float64{10_000, 30_000, 40_000}, tr.Series.Meters)

	visits = yearly(5)
	for _, i := range []int{0, 1, 4} {
		warm(&visits[i])
	}
	tr = trend(t, visits...)
	assert.Equal(t, map[int64]string{3: "measured cold", 4: "measured cold"}, skipped(tr))
	assert.Equal(t, shim.Warm, tr.State)

	visits = yearly(4)
	warm(&visits[3])
	tr = trend(t, visits...)
	assert.Equal(t, 30_000., tr.Last())
	assert.Equal(t, 52_000., tr.Next(), "a warm check is one")
}

// What moved is said against the last visit in the same state, and not across work
// that wear cannot be followed across.
func TestMovedInOneState(t *testing.T) {
	warm := func(v *inventory.Visit) { v.Engine.Spec.State = shim.Warm }
	cut := func(v *inventory.Visit) { v.Job.Reset = "seats cut" }
	for name, c := range map[string]struct {
		before []inventory.Visit
		moved  shim.Length
		known  bool
	}{
		"the same state":           {[]inventory.Visit{came("10,000 km", 0), came("20,000 km", 10*um)}, -20 * um, true},
		"the other one between":    {[]inventory.Visit{came("10,000 km", 0), came("20,000 km", 10*um, warm)}, -30 * um, true},
		"only the other one":       {[]inventory.Visit{came("10,000 km", 0, warm)}, 0, false},
		"work between":             {[]inventory.Visit{came("10,000 km", 0), came("20,000 km", 10*um, warm, cut)}, 0, false},
		"work in the same state":   {[]inventory.Visit{came("10,000 km", 0), came("20,000 km", 10*um, cut)}, -20 * um, true},
		"a fresh build in between": {[]inventory.Visit{came("10,000 km", 0), came("20,000 km", 10*um, warm, func(v *inventory.Visit) { v.Job.Build = true })}, 0, false},
	} {
		s := &Sight{File: inventory.MachineFile{Visits: append(c.before, came("30,000 km", 30*um))}}
		s.rows()
		require.NotEmpty(t, s.Rows, name)
		assert.Equal(t, c.known, s.Rows[0].HasMoved, name)
		assert.Equal(t, c.moved, s.Rows[0].Moved, name)
	}
}

// shimless takes the shims off a visit's readings: nobody looked.
func shimless(v *inventory.Visit) {
	for i := range v.Found {
		v.Found[i].Marks = shim.Marks{}
	}
	v.Seats = nil
}

// Where all was inside and nothing changed, nobody sees a shim: those from before
// are in still.
func TestClearancesOnly(t *testing.T) {
	want := trend(t, yearly(6)...)
	visits := yearly(6)
	for _, i := range []int{2, 5} {
		shimless(&visits[i])
	}
	tr := trend(t, visits...)
	assert.Empty(t, skipped(tr))
	assert.Equal(t, want.Series, tr.Series)
	assert.Equal(t, 72_000., tr.Next())

	visits[5].Found[0].Reading = shim.ReadingOf(140 * um) // on its limit
	near := trend(t, visits...)
	require.True(t, near.Told())
	assert.Less(t, near.CheckBy(), tr.CheckBy())

	fitted := trend(t, append(yearly(3), came("40,000 km", 15*um, shimless, func(v *inventory.Visit) {
		v.Seats = []inventory.Seat{{Valve: ex1, Marks: shim.Marks{Stamp: 2275 * um}}}
		v.Left = []shim.Measurement{read(ex1, shim.ReadingOf(270*um), 0)}
	}))...)
	readings := fitted.Series.Valves[1].Readings
	require.Len(t, readings, 5)
	assert.Equal(t, (260-15+2300)*um, readings[3].Stack, "found over the one before")
	assert.Equal(t, (270+2275)*um, readings[4].Stack, "left over the one fitted")

	cut := trend(t, came("10,000 km", 0), came("20,000 km", 0, shimless, func(v *inventory.Visit) { v.Job.Reset = "new head" }), came("30,000 km", 0, shimless))
	assert.Empty(t, cut.Used, "behind a new head the shims may be others")
	assert.Equal(t, 42_000., cut.Next())

	never := trend(t, came("10,000 km", 0, shimless), came("20,000 km", 5*um, shimless))
	assert.Equal(t, map[int64]string{1: noShims, 2: noShims}, skipped(never))
	assert.Equal(t, 32_000., never.Next())
	o, some := never.Outlook()
	require.True(t, some)
	assert.Equal(t, int64(2), o.Job)
	assert.Equal(t, 20_000., o.Meter)
	assert.Equal(t, 32_000., o.CheckBy)
	assert.False(t, o.Due.IsZero())
}

// A valve that was not read since puts the maker's interval off by nothing.
func TestIntervalOfEachValve(t *testing.T) {
	only := func(k int) func(*inventory.Visit) {
		return func(v *inventory.Visit) { v.Found = v.Found[k : k+1] }
	}
	assert.Equal(t, 42_000., trend(t, append(yearly(3), came("38,000 km", 15*um, only(1)))...).Next())
	assert.Equal(t, 50_000., trend(t, append(yearly(3), came("38,000 km", 15*um, only(1)), came("40,000 km", 15*um, only(0)))...).Next(), "all of them by two visits")
	late := trend(t, append(yearly(3), came("48,000 km", 15*um, only(1)))...)
	assert.Equal(t, 42_000., late.Next())
	assert.LessOrEqual(t, late.CheckBy(), 42_000.)
	assert.Equal(t, 22_000., trend(t, came("10,000 km", 0, only(0)), came("20,000 km", 0, only(0))).Next(), "one was never read")
}
