package plan

import (
	"slices"

	"shimwright/shim"
	"shimwright/shim/doubt"
)

// A bench is what the plan of all jobs leaves at hand for trials. Each piece is
// offered once.
type bench struct {
	box  map[shim.Family][]Pieces // by size, less what is drawn
	lent map[Place]bool           // shims of valves that are offered
	buys map[Pieces]int           // trial shims to buy, by family and size
}

// lay puts on the bench what the plan leaves in the box.
func (p *Plan) lay(s *stock) *bench {
	drawn := map[Pieces]int{}
	for _, lot := range p.Drawn {
		drawn[Pieces{Disc: lot.Disc}] = lot.Count
	}
	b := &bench{box: map[shim.Family][]Pieces{}, lent: map[Place]bool{}, buys: map[Pieces]int{}}
	for _, family := range s.families {
		for _, lot := range s.box[family] {
			size := Pieces{Disc: lot.Disc}
			taken := min(lot.Count, drawn[size])
			drawn[size] -= taken
			if lot.Count -= taken; lot.Count > 0 {
				b.box[family] = append(b.box[family], lot)
			}
		}
	}
	return b
}

// What is taken of a gap that no leaf measures, and of a gauge (assumptions of
// our own; that the shim is changed until a gap can be read is common practice).
const (
	heldOpen   = 100 * shim.Micrometre // where no leaf goes the valve may be held open by as much
	beyond     = 250 * shim.Micrometre // where every leaf falls through the gap may be wider by as much
	widest     = shim.Millimetre       // no trial may leave more: the cam follower could come off
	readableTo = 2                     // times the loose limit, where the thickest leaf is not known
)

// gaps is what a reading without a number leaves open: the gap lies anywhere in
// it with the same probability. Readable are those that the gauge will show: a
// leaf that did not go is the thinnest one, a leaf that fell through the thickest.
func gaps(v *ValvePlan) (gap, readable shim.Limits) {
	if v.Reading.Kind == shim.Below {
		high := v.Reading.Gap().High
		return shim.Limits{Tight: -heldOpen, Loose: high}, shim.Limits{Tight: high, Loose: readableTo * v.Limits.Loose}
	}
	return shim.Limits{Tight: v.Reading.Low, Loose: v.Reading.Low + beyond}, shim.Limits{Tight: v.Limits.Tight / 2, Loose: v.Reading.Low}
}

// trial says what to do at a valve whose reading has no number: how to measure
// again, or which shim will show a gap.
//
// A leaf that does not go says only "less", and one that falls through only
// "more" (common practice: change the shim and measure again). So the trial shim
// is the one that most likely gives a gap that can be read, wherever it comes
// from. See gaps for what is assumed.
func (p *Plan) trial(q *Request, s *stock, job int, v *ValvePlan, b *bench) *Reason {
	switch {
	case v.CloserFirst:
		return &Reason{Kind: CloserFirst}
	case v.Reading.Kind != shim.Below && v.Reading.Kind != shim.Above:
		return &Reason{Kind: NotMeasured}
	case v.SetUp:
		return &Reason{Kind: OtherSetUp}
	case !v.Limits.Outside(v.Reading):
		return &Reason{Kind: OtherLeaves}
	case !v.Open:
		return &Reason{Kind: NotOpened}
	case v.Installed == 0:
		return &Reason{Kind: UnknownShim}
	}
	e := p.Jobs[job].Engine
	family := e.FamilyOf(v.Valve)
	gap, readable := gaps(v)
	set := shim.Setting{Limits: v.Limits, Aim: v.Aim, Ratio: e.TrainOf(v.Valve).Ratio, Size: v.Installed}
	set.Clearance = (gap.Tight + gap.Loose) / 2
	list := slices.Concat(p.spare(job, family, b), p.borrowable(job, v, b))
	at := len(list)
	if !q.NoBuy {
		list = append(list, p.onSale(s, e, family, b)...)
	}
	best := likeliest(set, gap, readable, list)
	switch {
	case best < 0:
		return &Reason{Kind: NoTrial, Size: set.Ideal()}
	case best >= at:
		v.Trial = list[best].size
		b.buys[Pieces{Disc: family.Of(v.Trial)}]++
		return &Reason{Kind: TrialBought, Size: v.Trial}
	}
	c := &list[best]
	c.offer(b)
	return &Reason{Kind: Trial, Size: c.size, Where: c.where(), Valve: c.valve.Valve}
}

// A candidate is a shim at hand: of a lot of the box, or a valve's.
type candidate struct {
	size  shim.Length
	tier  tier
	lot   *Pieces
	valve Place
}

// A tier is where a trial shim comes from, the handiest first.
type tier uint8

const (
	pulledShim tier = iota
	boxShim
	borrowedShim
	boughtShim
)

// where is the tier in a reason's words.
func (c *candidate) where() Where {
	return map[tier]Where{pulledShim: PulledFrom, boxShim: FromBox, borrowedShim: Borrowed}[c.tier]
}

// offer takes the piece from the bench.
func (c *candidate) offer(b *bench) {
	if c.lot != nil {
		c.lot.Count--
		return
	}
	b.lent[c.valve] = true
}

// likeliest is the candidate that most likely gives a gap that can be read, or
// -1 where none may. Of equally likely ones it is the first by where it comes
// from, then the one whose middle gap comes closest to the aim, then the thinner.
// None may leave too wide a gap, nor hold a valve open that was loose.
func likeliest(set shim.Setting, gap, readable shim.Limits, list []candidate) int {
	best := -1
	var most, off shim.Length
	for i := range list {
		c := &list[i]
		moves := set.Expect(c.size) - set.Clearance
		after := shim.Limits{Tight: gap.Tight + moves, Loose: gap.Loose + moves}
		if after.Loose > widest || gap.Tight > 0 && after.Tight <= 0 {
			continue
		}
		shown := min(after.Loose, readable.Loose) - max(after.Tight, readable.Tight)
		if shown <= 0 || shown < most {
			continue
		}
		away := (set.Expect(c.size) - set.Aim).Abs()
		if best >= 0 && shown == most {
			b := &list[best]
			if c.tier != b.tier || away > off || away == off && c.size >= b.size {
				continue // the list is in order of tier
			}
		}
		best, most, off = i, shown, away
	}
	return best
}

// spare lists what the plan leaves unused of a family: pulled shims of the job,
// then the box.
func (p *Plan) spare(job int, family shim.Family, b *bench) []candidate {
	var list []candidate
	for k := range p.Jobs[job].Valves {
		v := &p.Jobs[job].Valves[k]
		if at := (Place{job, v.Valve}); v.Changed() && v.To == nil && !v.SetUp && !b.lent[at] && p.Jobs[job].Engine.FamilyOf(v.Valve) == family {
			list = append(list, candidate{size: v.Installed, tier: pulledShim, valve: at})
		}
	}
	lots := b.box[family]
	for i := range lots {
		if lot := &lots[i]; lot.Count > 0 {
			list = append(list, candidate{size: lot.Size, tier: boxShim, lot: lot})
		}
	}
	return list
}

// borrowable lists the shims of the job's other open valves that keep theirs,
// where such a valve still has a gap with this one's shim meanwhile: no valve
// stands empty or is held open while the trial is measured.
func (p *Plan) borrowable(job int, v *ValvePlan, b *bench) []candidate {
	var list []candidate
	valves := p.Jobs[job].Valves
	for k := range valves {
		other := &valves[k]
		if at := (Place{job, other.Valve}); other.Open && other != v && other.Installed != 0 && !other.SetUp && !other.Changed() && !b.lent[at] && p.Jobs[job].lends(other, v) {
			list = append(list, candidate{size: other.Installed, tier: borrowedShim, valve: at})
		}
	}
	return list
}

// Trials lists the trial shims that must be bought. They are no part of the
// shopping list, as no valve keeps one: they count for no criterion.
func (p *Plan) Trials() []Pieces {
	var list []Pieces
	for i := range p.Jobs {
		for k := range p.Jobs[i].Valves {
			if size := p.Jobs[i].Valves[k].Trial; size != 0 {
				list = append(list, Pieces{Disc: p.Jobs[i].Engine.FamilyOf(p.Jobs[i].Valves[k].Valve).Of(size), Count: 1})
			}
		}
	}
	return gather(list)
}

// onSale lists what the supplier still has of a family when the shopping list and the trial
// shims so far are bought.
func (p *Plan) onSale(s *stock, e *shim.Engine, family shim.Family, b *bench) []candidate {
	var list []candidate
	for _, offer := range s.catalogue(e, family) {
		left := offer.Stock - b.buys[Pieces{Disc: offer.Disc}]
		for _, lot := range p.Shopping {
			if lot.Disc == offer.Disc {
				left -= lot.Count
			}
		}
		if !offer.Limited || left > 0 {
			list = append(list, candidate{size: offer.Size, tier: boughtShim})
		}
	}
	return list
}

// lends reports whether a valve would still have a gap, and a readable one, with
// the other valve's shim: more than its own uncertainty.
func (j *JobPlan) lends(v, to *ValvePlan) bool {
	if !v.Measured || v.Over != nil || j.Engine.FamilyOf(v.Valve) != j.Engine.FamilyOf(to.Valve) {
		return false
	}
	gap := v.setting(j.Engine).Expect(to.Installed)
	f, ok := doubt.Model{Gauge: j.Gauge}.Forecast(v.Limits, gap, v.partsWith(j.Engine, false, doubt.SourceOf(to.InstalledMiked, true)))
	return ok && gap > f.Expanded && gap <= shim.Millimetre
}
