package plan

import (
	"fmt"

	"shimwright/shim"
)

// A bench is what the plan of all jobs leaves at hand for trials. Each piece is
// offered once.
type bench struct {
	box  map[shim.Length][]Lot // by diameter and size, less what is drawn
	lent map[Place]bool        // shims of valves that are offered
}

// lay puts on the bench what the plan leaves in the box.
func (p *Plan) lay(s *stock) *bench {
	drawn := map[Lot]int{}
	for _, lot := range p.Drawn {
		drawn[Lot{Diameter: lot.Diameter, Size: lot.Size}] = lot.Count
	}
	b := &bench{box: map[shim.Length][]Lot{}, lent: map[Place]bool{}}
	for _, diameter := range s.diameters {
		for _, lot := range s.box[diameter] {
			size := Lot{Diameter: diameter, Size: lot.Size}
			taken := min(lot.Count, drawn[size])
			drawn[size] -= taken
			if lot.Count -= taken; lot.Count > 0 {
				b.box[diameter] = append(b.box[diameter], lot)
			}
		}
	}
	return b
}

// trial says what to do at a valve whose reading has no number: how to measure
// again, or which shim at hand will show a gap.
//
// A leaf that does not go says only "zero or less", and one that falls through
// only "more" (common practice: change the shim and measure again). So the
// trial shim is the one that comes closest to the aim if the clearance is as
// small as the reading allows, and never below it.
func (p *Plan) trial(job int, v *Valve, b *bench) string {
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
	e, u := p.Jobs[job].Engine, p.Jobs[job].Units
	set := shim.Setting{Limits: v.Limits, Aim: v.Aim, Ratio: e.Train(v.Valve.Side).Ratio, Clearance: least, Size: v.Installed}
	for _, tier := range [][]candidate{p.spare(job, b), p.borrowable(job, v, b)} {
		if best := closest(set, tier); best != nil {
			best.offer(b)
			return fmt.Sprintf("%s; fit %s %s as a trial, measure and plan again", says, u.FormatAtLeast(best.size, 2), best.where)
		}
	}
	return fmt.Sprintf("%s; nothing left at hand will show a gap that can be measured, about %s would", says, u.FormatAtLeast(set.Ideal(), 2))
}

// A candidate is a shim at hand and where it is: a lot of the box, or a valve.
type candidate struct {
	size  shim.Length
	where string
	lot   *Lot
	valve Place
}

// offer takes the piece from the bench.
func (c *candidate) offer(b *bench) {
	if c.lot != nil {
		c.lot.Count--
		return
	}
	b.lent[c.valve] = true
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
func (p *Plan) spare(job int, b *bench) []candidate {
	var list []candidate
	for k := range p.Jobs[job].Valves {
		v := &p.Jobs[job].Valves[k]
		if at := (Place{job, v.Valve}); v.Changed() && v.To == nil && !b.lent[at] {
			list = append(list, candidate{size: v.Installed, where: "pulled from " + v.Valve.String(), valve: at})
		}
	}
	lots := b.box[p.Jobs[job].Engine.Diameter]
	for i := range lots {
		if lot := &lots[i]; lot.Count > 0 {
			list = append(list, candidate{size: lot.Size, where: "from the box", lot: lot})
		}
	}
	return list
}

// borrowable lists the shims of the job's other open valves.
func (p *Plan) borrowable(job int, v *Valve, b *bench) []candidate {
	var list []candidate
	valves := p.Jobs[job].Valves
	for k := range valves {
		other := &valves[k]
		if at := (Place{job, other.Valve}); other.Open && other != v && other.Installed != 0 && !b.lent[at] {
			list = append(list, candidate{size: other.Installed, where: "borrowed from " + other.Valve.String(), valve: at})
		}
	}
	return list
}
