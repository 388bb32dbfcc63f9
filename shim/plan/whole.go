package plan

import (
	"shimwright/shim"
	"shimwright/shim/doubt"
)

// A Whole says how likely a job's valves end inside their limits all together.
type Whole struct {
	doubt.Chance
	Valves int // those that it speaks of: measured, and inside by what is expected
	Others int // those that are not
}

// How often the valves of a plan, and of one job, are looked at for that.
const (
	lookedAtPlan = 2_000_000
	lookedAtJob  = 200_000
)

// AllInside is the probability that all of a job's valves that are measured and
// served end inside their limits, with the errors that they have in common: see
// [doubt.Model.All]. A shim that goes from one valve of the job to another is
// one piece. Every shim from elsewhere has an error of its own.
func (p *Plan) AllInside(job int) Whole {
	j := &p.Jobs[job]
	return j.allInside(job, min(lookedAtJob, lookedAtPlan/len(p.Jobs)), func(k int) bool { return j.Valves[k].Served() })
}

// allInside is the probability that all valves of a kind end inside.
func (j *JobPlan) allInside(job, work int, counts func(k int) bool) Whole {
	number := map[shim.Valve]int{} // of the shim in each valve
	for k := range j.Valves {
		number[j.Valves[k].Valve] = k + 1
	}
	var members []doubt.Member
	for k := range j.Valves {
		if !counts(k) {
			continue
		}
		v := &j.Valves[k]
		m := doubt.Member{Limits: v.Limits, Expected: v.Expected, Parts: v.parts(j.Engine), Out: number[v.Valve]}
		if v.From != nil && v.From.Job == job {
			m.In = number[v.From.Valve]
		}
		m.Gap = j.gap(k)
		members = append(members, m)
	}
	w := Whole{Valves: len(members), Others: len(j.Valves) - len(members)}
	if w.Valves > 0 {
		w.Chance = doubt.Model{Gauge: j.Gauge}.All(members, work)
	}
	return w
}

// gap numbers the opener's gap that a closer's clearance was worked out from, at
// both valves; 0 where the opener's reading is in no other clearance.
func (j *JobPlan) gap(k int) int {
	opener := k
	if j.Valves[k].Valve.Closer {
		opener--
	}
	if opener < 0 || opener+1 == len(j.Valves) {
		return 0
	}
	o, c := &j.Valves[opener], &j.Valves[opener+1]
	if c.Valve != o.Valve.Other() || !c.Reading.TakenOff(o.Reading) {
		return 0
	}
	return opener + 1
}
