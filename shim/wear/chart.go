package wear

import (
	"cmp"
	"math"
	"math/rand/v2"
	"slices"

	"shimwright/shim"
)

// A Chart is one valve's clearance over the meter, each reading as it would be
// with the shim that is in now, so that it runs on over changed shims.
type Chart struct {
	Valve  shim.Valve
	Limits shim.Limits
	Points []ChartPoint // in the order of the meter
	Band   []ChartBand  // from the last check on; empty where wear is not settled, or the valve is outside by other readings
}

// A ChartPoint is one reading: its stack less what the shim in now takes up.
type ChartPoint struct {
	Meter     float64
	Clearance shim.Length
	Other     bool // read over another shim
}

// A ChartBand is where the clearance is in 9 of 10 machines that agree with the
// readings.
type ChartBand struct {
	Meter     float64
	Low, High shim.Length
}

// bandSteps is how many stretches a chart's band has.
const bandSteps = 12

// Charts draws each valve that was read, in the order of the series. The bands
// go from the last check to a meter reading; without a forecast there are none.
func (s Series) Charts(f *Forecast, until float64) []Chart {
	var list []Chart
	for _, v := range s.Valves {
		if len(v.Readings) == 0 {
			continue
		}
		now := len(v.Discs) - 1
		c := Chart{Valve: v.Valve, Limits: v.Limits}
		for _, r := range v.Readings {
			c.Points = append(c.Points, ChartPoint{s.Meters[r.Check], r.Stack - v.Discs[now].Fill, r.Shim != now})
		}
		slices.SortStableFunc(c.Points, func(a, b ChartPoint) int { return cmp.Compare(a.Meter, b.Meter) })
		last := s.Meters[len(s.Meters)-1]
		if f != nil && v.Beyond == 0 && until > last && !math.IsInf(until, 1) {
			for i := range bandSteps + 1 {
				at := last + (until-last)*float64(i)/bandSteps
				if low, high, known := f.Band(v.Valve, at); known {
					c.Band = append(c.Band, ChartBand{at, low, high})
				}
			}
		}
		list = append(list, c)
	}
	return list
}

// Band is where a valve's clearance is at a meter reading, with the shim that is
// in now, in 9 of 10 machines that agree with the readings: 1 in 20 is below it, 1
// in 20 above. Before the last check it is as at that check. It is false for a
// valve that was not read, and for a meter that is not a number.
func (f Forecast) Band(valve shim.Valve, meter float64) (low, high shim.Length, known bool) {
	k := slices.IndexFunc(f.model.valves, func(v Valve) bool { return v.Valve == valve })
	if k < 0 || len(f.draws) == 0 || math.IsInf(meter, 0) || math.IsNaN(meter) {
		return 0, 0, false
	}
	t := max(0, f.model.after(meter))
	r := rand.New(rand.NewPCG(5, uint64(k)))
	at := make([]float64, len(f.draws))
	for i, valves := range f.draws {
		l := valves[k]
		at[i] = l.clearance - l.rate*t + l.scatter*math.Sqrt(t)*r.NormFloat64()
	}
	slices.Sort(at)
	n := len(at)
	return length(at[n/20]), length(at[n-1-n/20]), true
}
