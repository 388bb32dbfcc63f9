package work

import "shimwright/inventory"

// PerDay is how fast the meter runs, by all visits that read it: the work done to
// the valves does not change that, and where nobody knows what an old meter read
// the stretches before and after count, each on its own. It is 0 where they come
// to less than a week.
func (t *Trend) PerDay() float64 {
	kinds := t.kinds()
	var way, days float64
	var list []passing
	stretch := func() {
		if run := rising(list); len(run) > 1 {
			first, last := run[0], run[len(run)-1]
			way += last.at - first.at
			days += t.Visits[last.visit].Job.Opened.Sub(t.Visits[first.visit].Job.Opened).Hours() / 24
		}
		list = nil
	}
	var ran float64 // what earlier meters had counted
	var swap inventory.Job
	for i, v := range t.Visits {
		j := v.Job
		if j.MeterNew != "" && !sameSwap(swap, j) {
			old, known := t.counts(j.MeterNew, kinds[max(0, i-1)])
			if n := len(list); !known || n > 0 && ran+old < list[n-1].at {
				stretch()
				old, ran = 0, 0
			}
			ran, swap = ran+old, j
		}
		if at, known := t.counts(j.Meter, kinds[i]); known && j.State != inventory.StateCancelled {
			list = append(list, passing{visit: i, at: ran + at})
		}
	}
	if stretch(); days < 7 {
		return 0
	}
	return way / days
}
