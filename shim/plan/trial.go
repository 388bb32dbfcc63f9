package plan

import (
	"fmt"

	"shimwright/shim"
)

// trial says what to do at a valve whose reading has no number: how to measure
// again, or which shim at hand will show a gap.
//
// A leaf that does not go says only "zero or less", and one that falls through
// only "more" (common practice: change the shim and measure again). So the
// trial shim is the one that comes closest to the aim if the clearance is as
// small as the reading allows, and never below it.
func (p *Plan) trial(job int, v *Valve, s *stock) string {
	var says string
	var least shim.Length
	switch v.Reading.Kind {
	case shim.Below:
		says = "the thinnest leaf does not go"
		if !v.Limits.Outside(v.Reading) {
			return says + "; measure again with thinner leaves"
		}
	case shim.Above:
		says, least = "the thickest leaf falls through", v.Reading.Low
		if !v.Limits.Outside(v.Reading) {
			return says + "; measure again with thicker leaves"
		}
	default:
		return "not measured"
	}
	if !v.Open {
		return says + "; not opened in this job"
	}
	if v.Installed == 0 {
		return says + "; its shim is not known yet"
	}
	e := p.Jobs[job].Engine
	set := shim.Setting{Limits: v.Limits, Aim: v.Aim, Ratio: e.Train(v.Valve.Side).Ratio, Clearance: least, Size: v.Installed}
	for _, tier := range [][]candidate{p.spare(job, s), p.borrowable(job, v)} {
		if best := closest(set, tier); best != nil {
			return fmt.Sprintf("%s; fit %s %s as a trial, measure and plan again", says, e.Units.FormatAtLeast(best.size, 2), best.where)
		}
	}
	return fmt.Sprintf("%s; nothing at hand will show a gap that can be measured, about %s would", says, e.Units.FormatAtLeast(set.Ideal(), 2))
}

// A candidate is a shim at hand and where it is.
type candidate struct {
	size  shim.Length
	where string
}

// closest is the candidate that leaves the least clearance from the aim up;
// where the gap is too wide to measure, one that narrows it.
func closest(set shim.Setting, tier []candidate) (best *candidate) {
	for i := range tier {
		c := &tier[i]
		expected := set.Expect(c.size)
		if set.Clearance > set.Loose && expected >= set.Clearance {
			continue
		}
		if expected >= set.Aim && (best == nil || expected < set.Expect(best.size)) {
			best = c
		}
	}
	return best
}

// spare lists what the plan leaves unused: pulled shims of the job, then the box.
func (p *Plan) spare(job int, s *stock) []candidate {
	var list []candidate
	for _, m := range p.Jobs[job].Moves {
		if m.To == nil {
			list = append(list, candidate{m.Out, "pulled from " + m.Valve.String()})
		}
	}
	diameter := p.Jobs[job].Engine.Diameter
	drawn := map[shim.Length]int{}
	for _, lot := range p.Drawn {
		if lot.Diameter == diameter {
			drawn[lot.Size] = lot.Count
		}
	}
	for _, lot := range s.box[diameter] {
		if lot.Count > drawn[lot.Size] {
			list = append(list, candidate{lot.Size, "from the box"})
		}
	}
	return list
}

// borrowable lists the shims of the job's other open valves.
func (p *Plan) borrowable(job int, v *Valve) []candidate {
	var list []candidate
	valves := p.Jobs[job].Valves
	for k := range valves {
		if other := &valves[k]; other.Open && other != v && other.Installed != 0 {
			list = append(list, candidate{other.Installed, "borrowed from " + other.Valve.String()})
		}
	}
	return list
}
