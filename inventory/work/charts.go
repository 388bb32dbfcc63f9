package work

import (
	"math"

	"shimwright/shim/wear"
)

// Charts draws the clearance of each valve over the meter, and where wear is
// settled the band that it will run in up to the maker's next check or the
// recommended one, whichever is later.
func (t *Trend) Charts() []wear.Chart {
	if len(t.Series.Meters) == 0 {
		return nil
	}
	if !t.Told() {
		return t.Series.Charts(nil, 0)
	}
	return t.Series.Charts(t.Forecast, t.ahead())
}

// ahead is how far the charts look.
func (t *Trend) ahead() float64 {
	until := max(t.Next(), t.CheckBy())
	if until <= t.Last() && !math.IsInf(t.Forecast.First.P50, 1) {
		until = t.Forecast.First.P50
	}
	if until <= t.Last() {
		until = t.Last() + t.Series.Unit
	}
	return until
}
