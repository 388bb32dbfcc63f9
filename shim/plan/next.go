package plan

import (
	"cmp"
	"context"
	"math"
	"slices"

	"shimwright/shim"
	"shimwright/shim/doubt"
)

// A Next is something to measure before the plan is carried out, and what that
// would gain once it is planned again.
type Next struct {
	Job   int
	Valve shim.Valve
	// Leaves, unless 0, is how far apart the leaves are with which the valve is
	// to be read again. Where it is 0, a micrometer measures the valve's shim.
	Leaves shim.Length
	// Changes is how often the plan becomes another one.
	Changes float64
	// Before is the chance that all measured and served valves of all jobs end
	// inside as planned, After the mean one once it is planned again.
	Before, After float64
	Saved         float64 // purchases, on average
}

// Bounds of what is tried: each outcome of each measurement takes a plan.
const (
	nextValves     = 64     // more than so many, and nothing is tried
	nextSizes      = 2_000  // and so many sizes on sale and in the box
	nextTried      = 4      // of each kind
	nextOutcomes   = 15     // of a micrometer
	nextVisits     = 8_192  // of the chance of each outcome
	nextSay        = 2      // at most
	leastGain      = 0.01   // what is worth a line: so much of the chance,
	leastSaved     = 0.1    // or so many purchases on average
	leastRisk      = 0.002  // of a valve that is looked at
	finestLeaves   = 10_000 // nm: leaves in steps of 0.01 mm, common practice
	finestLeavesIn = 12_700 // nm: of 0.0005 in
)

// MeasureNext lists what is worth measuring before the plan is carried out: a
// shim by micrometer, or a valve once more with finer leaves, at most two, the
// most useful first. Each outcome is planned again. It leaves out jobs that
// nobody has opened yet, and is empty for requests of more than 64 valves, for
// more than 2000 sizes and for a number of purchases. The plan must be the
// request's.
func MeasureNext(ctx context.Context, q Request, p *Plan) ([]Next, error) {
	stock, err := gatherStock(&q)
	if err != nil {
		return nil, err
	}
	q.shelf, q.unlisted, q.Verify, q.Progress = stock.shelf, true, false, nil
	if p.Buy != nil || !p.small(stock) {
		return nil, nil
	}
	var found []Next
	before := 1.0
	for i := range p.Jobs {
		if w := p.AllInside(i); w.Valves > 0 {
			before *= w.Probability
		}
	}
	for _, c := range p.candidates() {
		n, err := p.try(ctx, q, c, before)
		if err != nil {
			return nil, err
		}
		// What it gains one way counts for more than what it costs the other: a
		// reading that shows that a shim must be bought is not to blame for it.
		if (n.After-n.Before >= leastGain || n.Saved >= leastSaved) && n.worth() >= leastGain {
			found = append(found, n)
		}
	}
	slices.SortStableFunc(found, func(a, b Next) int { return cmp.Compare(b.worth(), a.worth()) })
	return found[:min(nextSay, len(found))], nil
}

// worth puts a purchase saved level with a quarter of certainty.
func (n *Next) worth() float64 { return n.After - n.Before + n.Saved/4 }

// small reports whether planning some dozen times more takes no time.
func (p *Plan) small(s *stock) bool {
	valves, sizes := 0, 0
	for i := range p.Jobs {
		valves += len(p.Jobs[i].Valves)
		for _, family := range p.Jobs[i].Engine.Families() {
			sizes += len(s.shelf.catalogue(p.Jobs[i].Engine, family))
		}
	}
	for _, lots := range s.box {
		sizes += len(lots)
	}
	return valves <= nextValves && sizes <= nextSizes
}

// A trying is a measurement to try, with how much seems to hang on it.
type trying struct {
	job, at int
	leaves  shim.Length
	hangs   float64
}

// candidates are the measurements on which most seems to hang: of valves that
// are not sure to end inside, and of purchases that a reading near a limit made.
func (p *Plan) candidates() []trying {
	var mics, reads []trying
	for i := range p.Jobs {
		j := &p.Jobs[i]
		if j.Provisional {
			continue
		}
		hangs := make([]float64, len(j.Valves))
		for k := range j.Valves {
			hangs[k] = j.hangs(&j.Valves[k])
		}
		for k := range j.Valves {
			v := &j.Valves[k]
			leaves := shim.Length(finestLeaves)
			if j.Engine.Units.Clearance == shim.IN {
				leaves = finestLeavesIn
			}
			if v.Measured && j.span(v) > leaves && hangs[k] > leastRisk {
				reads = append(reads, trying{i, k, leaves, hangs[k]})
			}
			if !v.Changed() || v.InstalledMiked || v.Installed == 0 || j.Gauge.Mic >= j.Gauge.UsedStamp() {
				continue
			}
			both := hangs[k]
			if v.To != nil && v.To.Job == i {
				to, _ := j.Engine.Find(v.To.Valve)
				both += hangs[to]
			}
			if both > leastRisk {
				mics = append(mics, trying{i, k, 0, both})
			}
		}
	}
	most := func(list []trying) []trying {
		slices.SortStableFunc(list, func(a, b trying) int { return cmp.Compare(b.hangs, a.hangs) })
		return list[:min(nextTried, len(list))]
	}
	return append(most(mics), most(reads)...)
}

// span is how wide a reading leaves the clearance.
func (j *JobPlan) span(v *ValvePlan) shim.Length {
	g := j.Gauge.Leaves(v.With)
	r := v.Reading.Against(g)
	if r.Unloaded != (shim.Unloaded{}) {
		r = r.Loaded() // the gap that is read again
	}
	if s := r.Span(); s.Low < s.High {
		return s.High - s.Low
	}
	return g.Step
}

// hangs is how much seems to hang on measuring at a valve: its risk, and half a
// purchase where it might have been inside with its own shim.
func (j *JobPlan) hangs(v *ValvePlan) float64 {
	if !v.Measured {
		return 0
	}
	m := doubt.Model{Gauge: j.Gauge}
	parts := v.parts(j.Engine)
	risk := 0.0
	if v.Served() {
		risk = 1 - m.Inside(v.Limits, v.Expected, parts)
	}
	if v.Action == Buy || !v.Served() {
		parts.Kept = true
		if inside := m.Inside(v.Limits, v.Clearance+v.Allowance.By, parts); inside > leastRisk && !v.SetUp {
			risk += 0.5
		}
	}
	return risk
}

// A result is what a measurement may give, and how likely that is.
type result struct {
	measured shim.Measurement
	weight   float64
}

// results lists what a measurement may give. A micrometer's
// reading differs from the mark by the errors of both: places of equal chance
// stand for them. A gap lies by chance between finer leaves.
func (j *JobPlan) results(c trying, m shim.Measurement) []result {
	var list []result
	if c.leaves == 0 {
		off := doubt.Errors(float64(j.Gauge.UsedStamp()), float64(j.Gauge.Mic))
		for i := range nextOutcomes {
			r := result{m, 1.0 / nextOutcomes}
			x := off.Quantile((float64(i) + 0.5) / nextOutcomes)
			r.measured.Mic = m.Stamp + shim.Length(math.Round(x/1e3))*shim.Micrometre
			list = append(list, r)
		}
		return list
	}
	read := m.Reading
	if m.Reading.Unloaded != (shim.Unloaded{}) {
		read = m.Reading.Loaded()
	}
	estimate, _ := read.Estimate()
	gap := doubt.Model{Gauge: j.Gauge.Leaves(j.Valves[c.at].With)}.Gap(read)
	reach := shim.Length(gap.Reach()) + c.leaves
	for low := (estimate - reach) / c.leaves * c.leaves; low < estimate+reach; low += c.leaves {
		if low < 0 {
			continue
		}
		r := result{m, gap.Cumulative(float64(low+c.leaves-estimate)) - gap.Cumulative(float64(low-estimate))}
		r.measured.Reading = shim.Reading{Kind: shim.Bracket, Low: low, High: low + c.leaves}
		if m.Reading.Unloaded != (shim.Unloaded{}) {
			r.measured.Reading, _ = shim.LoadedLess(r.measured.Reading, m.Reading.Opener(), j.Gauge)
		}
		if r.weight > 1e-3 {
			list = append(list, r)
		}
	}
	return list
}

// try plans again for each outcome of a measurement.
func (p *Plan) try(ctx context.Context, q Request, c trying, before float64) (Next, error) {
	n := Next{Job: c.job, Valve: p.Jobs[c.job].Valves[c.at].Valve, Leaves: c.leaves}
	check := q.Jobs[c.job].Check
	all, after := 0.0, 0.0
	for _, r := range p.Jobs[c.job].results(c, check[c.at]) {
		q.Jobs = slices.Clone(q.Jobs)
		q.Jobs[c.job].Check = slices.Clone(check)
		q.Jobs[c.job].Check[c.at] = r.measured
		measured := []shim.Measurement{r.measured}
		// What a closer's loaded gap comes to depends on the opener.
		if next := c.at + 1; next < len(check) && check[next].Reading.TakenOff(check[c.at].Reading) && check[next].Valve == r.measured.Valve.Other() {
			m := check[next]
			m.Reading, _ = shim.LoadedLess(m.Reading.Loaded(), r.measured.Reading, p.Jobs[c.job].Gauge)
			q.Jobs[c.job].Check[next] = m
			measured = append(measured, m)
		}
		again, err := Make(ctx, q)
		if err != nil {
			return n, err
		}
		if !again.same(p.measured(c, measured)) {
			n.Changes += r.weight
		}
		// The chance that the new plan itself is given: the new reading has errors
		// of its own, so that measuring again may gain nothing.
		after += r.weight * again.chance(p)
		n.Saved += r.weight * float64(p.Criteria.Bought-again.Criteria.Bought)
		all += r.weight
	}
	n.Changes, n.Saved = n.Changes/all, n.Saved/all
	n.Before, n.After = before, min(1, max(0, after/all))
	return n, nil
}

// measured is the plan as it stands, in the light of a measurement, and of what it makes
// of the next valve.
func (p *Plan) measured(c trying, list []shim.Measurement) *Plan {
	out := &Plan{Jobs: slices.Clone(p.Jobs)}
	for i := range out.Jobs {
		j := &out.Jobs[i]
		j.Valves = slices.Clone(j.Valves)
		for k := range j.Valves {
			v := &j.Valves[k]
			if at := k - c.at; i == c.job && at >= 0 && at < len(list) {
				m := list[at]
				v.Reading, v.Installed, v.InstalledMiked = m.Reading, m.Size(), m.Mic != 0
				v.Clearance, v.Measured = m.Reading.Estimate()
				if !v.Changed() && !v.SetUp {
					v.Size, v.Miked = v.Installed, v.InstalledMiked
				}
			}
			for _, m := range list {
				if v.From != nil && *v.From == (Place{c.job, m.Valve}) {
					v.Size, v.Miked = m.Size(), m.Mic != 0
				}
			}
			if !v.SetUp || v.Changed() {
				v.Expected = v.setting(j.Engine).Expect(v.Size)
			}
		}
	}
	return out
}

// same reports whether two plans fit shims of the same sizes from the same places.
func (p *Plan) same(other *Plan) bool {
	for i := range p.Jobs {
		for k := range p.Jobs[i].Valves {
			a, b := &p.Jobs[i].Valves[k], &other.Jobs[i].Valves[k]
			if a.Action != b.Action && (a.Changed() || b.Changed()) || a.Size != b.Size {
				return false
			}
		}
	}
	return true
}

// chance is that of all valves that the first plan serves to end inside, over
// all jobs.
func (p *Plan) chance(first *Plan) float64 {
	chance := 1.0
	for i := range p.Jobs {
		of := first.Jobs[i].Valves
		w := p.Jobs[i].allInside(i, nextVisits, func(k int) bool { return of[k].Served() })
		if w.Valves > 0 {
			chance *= w.Probability
		}
	}
	return chance
}
