package work

import (
	"cmp"
	"math"
	"slices"
	"time"

	"shimwright/inventory"
	"shimwright/shim"
	"shimwright/shim/doubt"
	"shimwright/shim/wear"
)

// A Trend is what a machine's visits say of its wear.
type Trend struct {
	Visits   []inventory.Visit // all of them
	Used     []int             // those of Visits that the series is made of
	Began    string            // what the series begins with where something broke it: "seats cut"; else empty
	Skipped  []Skipped         // visits that are no part of it
	Kind     shim.MeterKind
	Series   wear.Series
	Forecast *wear.Forecast // nil with fewer than two checks
	Model    *wear.Model
	Interval float64 // the maker's, in Kind; 0 where the engine file has none
}

// A Skipped visit is no part of the trend, with the reason.
type Skipped struct {
	Visit int
	Why   string
}

// Told reports whether wear is known well enough to speak of the next check.
func (t *Trend) Told() bool { return t.Forecast != nil && t.Forecast.Settled() }

// Last is the meter at the last check of the series.
func (t *Trend) Last() float64 { return t.Series.Meters[len(t.Series.Meters)-1] }

// Next is when the maker's interval is up, 0 where there is none.
func (t *Trend) Next() float64 {
	if t.Interval == 0 || len(t.Series.Meters) == 0 {
		return 0
	}
	return t.Last() + t.Interval
}

// CheckBy is the recommendation, never later than the maker's: the reading before
// which one valve in ten machines like this one leaves its limits. It is 0 where
// neither is known.
func (t *Trend) CheckBy() float64 {
	by := t.Next()
	if t.Told() && (by == 0 || t.Forecast.First.P10 < by) {
		by = t.Forecast.First.P10
	}
	if math.IsInf(by, 1) {
		return 0
	}
	return by
}

// TrendOf makes a series of a machine's visits and weighs it.
func TrendOf(file inventory.MachineFile) (*Trend, error) {
	t := &Trend{Visits: file.Visits}
	t.begin()
	if len(t.Used) == 0 {
		return t, nil
	}
	t.fill()
	if len(t.Series.Meters) < 2 {
		return t, nil
	}
	model, err := wear.Fit(t.Series)
	if err != nil {
		return nil, err
	}
	f := model.Forecast()
	t.Model, t.Forecast = model, &f
	return t, nil
}

// begin finds the visits of the series: those since it was last broken, with a
// meter that rises.
func (t *Trend) begin() {
	for _, v := range slices.Backward(t.Visits) {
		if m, known := shim.ParseMeter(v.Job.Meter); known && m.Kind != "" {
			t.Kind = m.Kind
			break
		}
	}
	var before float64 // that earlier meters had counted when the one in use began
	for i, v := range t.Visits {
		skip := func(why string) { t.Skipped = append(t.Skipped, Skipped{i, why}) }
		if v.Job.State == inventory.StateCancelled {
			skip("cancelled")
			continue
		}
		reset := cmp.Or(v.Job.Reset, map[bool]string{true: "fresh build"}[v.Job.Build])
		if reset != "" {
			t.Used, t.Series.Meters, t.Skipped, t.Began = nil, nil, nil, reset
			for earlier := range i {
				t.Skipped = append(t.Skipped, Skipped{earlier, "before: " + reset})
			}
			before = 0
		}
		m, known := shim.ParseMeter(v.Job.Meter)
		if m.Kind == "" {
			m.Kind = t.Kind // nobody writes it each time
		}
		at, same := m.In(t.Kind)
		switch {
		case v.Job.Meter == "":
			skip("no meter reading")
			continue
		case !known || !same:
			skip("meter not understood")
			continue
		}
		switch old, known := shim.ParseMeter(v.Job.MeterNew); {
		case v.Job.MeterNew == "" || reset != "":
		case known:
			if old.Kind == "" {
				old.Kind = t.Kind
			}
			ran, _ := old.In(t.Kind)
			before += ran
		default:
			// How far it ran on the old meter nobody knows.
			t.Used, t.Series.Meters, t.Began, before = nil, nil, "another meter", 0
			t.Skipped = t.Skipped[:0]
			for earlier := range i {
				t.Skipped = append(t.Skipped, Skipped{earlier, "before: another meter"})
			}
		}
		at += before
		if n := len(t.Series.Meters); n > 0 && at < t.Series.Meters[n-1] {
			skip("its meter is behind the visit before")
			continue
		}
		readings := v.Found
		if reset != "" {
			readings = v.Left // what was found was before the work
		}
		if !slices.ContainsFunc(append(slices.Clone(readings), v.Left...), func(m shim.Measurement) bool {
			_, known := v.Engine.Spec.Setting(m)
			return known
		}) {
			skip("no readings")
			continue
		}
		if n := len(t.Series.Meters); n > 0 && at == t.Series.Meters[n-1] {
			skip("the meter stands as at the visit before")
			continue
		}
		t.Used, t.Series.Meters = append(t.Used, i), append(t.Series.Meters, at)
	}
	for k := range t.Series.Meters { // as the meter that is in now counts
		t.Series.Meters[k] -= before
	}
}

// fill makes the series of the visits' readings.
func (t *Trend) fill() {
	last := t.Visits[t.Used[len(t.Used)-1]]
	engine := &last.Engine.Spec
	if in, same := engine.Interval.In(t.Kind); same {
		t.Interval = in
	}
	t.Series.Unit = t.unit()
	for _, valve := range engine.Valves() {
		train := engine.TrainOf(valve)
		v := wear.Valve{Valve: valve, Limits: train.Limits, Prior: wear.Road}
		if t.Kind == shim.Hours {
			v.Prior = wear.PerInterval(train.Limits)
		}
		if valve.Closer {
			v.Prior = v.Prior.Opening()
		}
		var shims []shim.Marks
		for check, i := range t.Used {
			visit := &t.Visits[i]
			gauge := gaugeOf(visit)
			lists := [][]shim.Measurement{visit.Found, visit.Left}
			if check == 0 && t.Began != "" && t.Began != "another meter" {
				lists = lists[1:]
			}
			for _, list := range lists {
				at := slices.IndexFunc(list, func(m shim.Measurement) bool { return m.Valve == valve })
				if at < 0 {
					continue
				}
				m := list[at]
				setting, known := engine.Setting(m)
				if !known {
					continue
				}
				if len(shims) == 0 || shims[len(shims)-1] != m.Marks {
					shims = append(shims, m.Marks)
					v.Discs = append(v.Discs, disc(train, m.Marks, gauge))
				}
				r := reading(setting, m, gauge.Leaves(leaves(visit, m)))
				r.Check, r.Shim = check, len(v.Discs)-1
				if n := len(v.Readings); n > 0 && v.Readings[n-1].Check == check && v.Readings[n-1].Shim == r.Shim {
					v.Readings[n-1] = r // read again over the same shim: the same gap, the same leaves
					continue
				}
				v.Readings = append(v.Readings, r)
			}
		}
		// What is in it now may have been fitted since.
		if at := slices.IndexFunc(last.Seats, func(s inventory.Seat) bool { return s.Valve == valve }); at >= 0 && len(v.Discs) > 0 {
			if s := last.Seats[at]; s.Size() != 0 && s.Marks != shims[len(shims)-1] {
				v.Discs = append(v.Discs, disc(train, s.Marks, gaugeOf(&last)))
			}
		}
		t.Series.Valves = append(t.Series.Valves, v)
	}
}

// unit is what the priors count by.
func (t *Trend) unit() float64 {
	switch t.Kind {
	case shim.Kilometres:
		return wear.Kilometres
	case shim.Miles:
		in, _ := shim.Meter{Hundredths: 100 * wear.Kilometres, Kind: shim.Kilometres}.In(shim.Miles)
		return in
	}
	if t.Interval != 0 {
		return t.Interval
	}
	// Nobody says how often it is to be checked: as often as it was.
	if n := len(t.Series.Meters); n > 1 {
		return (t.Series.Meters[n-1] - t.Series.Meters[0]) / float64(n-1)
	}
	return 1
}

// gaugeOf is what a visit was measured with: a set that says what it can tell, or
// what the engine file says.
func gaugeOf(v *inventory.Visit) shim.Gauge {
	for _, set := range v.Gauges {
		if set.Spec != (shim.Gauge{}) {
			return set.Spec
		}
	}
	return v.Engine.Spec.Measures()
}

// leaves are those that a reading was made with, the zero gauge where only the visit
// tells: of another shop's nothing more is known.
func leaves(v *inventory.Visit, m shim.Measurement) shim.Gauge {
	if m.With == (shim.Gauge{}) && v.Imported == nil {
		return v.Engine.Spec.Measures()
	}
	return m.With
}

// disc is a shim as the series takes it: ratio times size, with its doubt.
func disc(train shim.Train, marks shim.Marks, g shim.Gauge) wear.Disc {
	return wear.Disc{Fill: train.Ratio.Of(marks.Size()), Doubt: standard(train, doubt.InPlace(marks.Mic).Limit(g))}
}

// standard is the standard deviation that an error limit of a size leaves in the
// clearance: of a rectangular distribution (GUM 4.3.7).
func standard(train shim.Train, limit shim.Length) shim.Length {
	return train.Ratio.Of(shim.Length(math.Round(float64(limit) / math.Sqrt(3))))
}

// reading is a reading of the stack.
func reading(s shim.Setting, m shim.Measurement, g shim.Gauge) wear.Reading {
	spread := doubt.Model{Gauge: g}.Spread(doubt.Parts{Reading: m.Reading, Ratio: s.Ratio, Kept: true})
	return wear.Reading{Stack: s.Stack(), Doubt: max(spread.Standard(), shim.Micrometre)}
}

// Outlook is what is kept of the trend beside the machine.
func (t *Trend) Outlook() (o inventory.Outlook, some bool) {
	if len(t.Used) == 0 {
		return o, false
	}
	last := t.Visits[t.Used[len(t.Used)-1]]
	o = inventory.Outlook{
		Job: last.Job.ID, Made: last.Job.Opened, Unit: string(t.Kind), Meter: t.Last(), PerDay: t.PerDay(),
		Told: t.Told(), CheckBy: math.Round(t.CheckBy()),
	}
	if o.Told {
		finite := func(x float64) float64 {
			if math.IsInf(x, 1) {
				return 0
			}
			return math.Round(x)
		}
		first := t.Forecast.First
		o.Early, o.First, o.Late = finite(first.P5), finite(first.P50), finite(first.P95)
	}
	if o.PerDay > 0 && o.CheckBy > 0 {
		days := (o.CheckBy - o.Meter) / o.PerDay
		if days < 200*365 {
			o.Due = o.Made.Add(time.Duration(days * 24 * float64(time.Hour))).UTC().Truncate(24 * time.Hour)
		}
	}
	return o, true
}

// PerDay is how fast the meter ran from the first visit of the series to the
// last, 0 where they are less than a week apart.
func (t *Trend) PerDay() float64 {
	n := len(t.Used)
	if n < 2 {
		return 0
	}
	days := t.Visits[t.Used[n-1]].Job.Opened.Sub(t.Visits[t.Used[0]].Job.Opened).Hours() / 24
	if days < 7 {
		return 0
	}
	return (t.Series.Meters[n-1] - t.Series.Meters[0]) / days
}
