package work

import (
	"math"
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
	Placed   []Skipped         // visits after the last check whose meter does not say where they stand: part of that check
	State    shim.State        // that its visits were measured in
	Outside  []shim.Valve      // those whose last reading proves them outside, with the shim that is in now
	Kind     shim.MeterKind
	Series   wear.Series
	Forecast *wear.Forecast // nil with fewer than three checks
	Model    *wear.Model
	Interval float64 // the maker's, in Kind; 0 where the engine file has none

	began  int   // where in Visits the series begins
	opens  bool  // whether that visit has work that wear cannot be followed across: what it left counts
	checks []int // of each of Used
	last   int   // in Visits: the last one of the series with a meter of its own

	known   []shimmed              // the readings of each of Visits
	stood   bool                   // whether any visit with a meter has readings, in the trend or not
	first   float64                // the meter at the first of them
	at      float64                // at the last one
	metered int                    // the last one, in Visits
	readAt  map[shim.Valve]float64 // at the last one that read the valve
}

// A Skipped visit is no part of the trend, with the reason.
type Skipped struct {
	Visit int
	Why   string
}

// Told reports whether wear is known well enough to speak of the next check.
func (t *Trend) Told() bool { return t.Forecast != nil && t.Forecast.Settled() }

// Last is the meter at the last check of the series; where there is none, at the
// last visit with readings.
func (t *Trend) Last() float64 {
	if n := len(t.Series.Meters); n > 0 {
		return t.Series.Meters[n-1]
	}
	return t.at
}

// Next is when the maker's interval is up, 0 where there is none: for each valve it
// counts from the last visit that read it, whether the trend takes it or not, for
// one that was never read from the first visit with readings.
func (t *Trend) Next() float64 {
	if t.Interval == 0 || !t.stood {
		return 0
	}
	from := math.Inf(1)
	for _, valve := range t.Visits[len(t.Visits)-1].Engine.Spec.Valves() {
		at, read := t.readAt[valve]
		if !read {
			at = t.first
		}
		from = min(from, at)
	}
	return down(from+t.Interval, t.Kind)
}

// down is a meter reading rounded down to what one is written with: whole
// kilometres or miles, tenths of hours.
func down(x float64, kind shim.MeterKind) float64 {
	step := 1.0
	if kind == shim.Hours {
		step = 10
	}
	return math.Floor(x*step+1e-6) / step
}

// CheckBy is the recommendation, never later than the maker's: the reading before
// which one valve in ten machines like this one leaves its limits, the last check
// where a valve is outside as it was left. It is 0 where neither is known.
func (t *Trend) CheckBy() float64 {
	by := t.Next()
	if len(t.Outside) > 0 && t.stood && (by == 0 || t.Last() < by) {
		return t.Last()
	}
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
	t.judge()
	if len(t.Used) == 0 {
		return t, nil
	}
	t.fill()
	if len(t.Series.Meters) < 3 { // too few to tell
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
	if !t.stood {
		return o, false
	}
	last := t.Visits[t.metered]
	if len(t.Used) > 0 {
		last = t.Visits[t.last]
	}
	o = inventory.Outlook{
		Job: last.Job.ID, Made: last.Job.Opened, Unit: string(t.Kind), Meter: t.Last(), PerDay: t.PerDay(),
		Told: t.Told(), Outside: len(t.Outside) > 0, CheckBy: down(t.CheckBy(), t.Kind), Maker: t.Next(),
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
