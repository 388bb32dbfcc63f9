package report

import (
	"math"

	"shimwright/shim"
	"shimwright/shim/doubt"
	"shimwright/shim/recheck"
)

// A Comparison is a plan held against what was measured after fitting.
type Comparison struct{ Jobs []ComparedJob }

// Well tells whether every job is well.
func (c *Comparison) Well() bool {
	for i := range c.Jobs {
		if !c.Jobs[i].Well() {
			return false
		}
	}
	return true
}

// ShowIn prints lengths for people in the unit.
func (c *Comparison) ShowIn(u shim.Unit) {
	for i := range c.Jobs {
		c.Jobs[i].Units = u
	}
}

// A ComparedJob is one job of a comparison.
type ComparedJob struct {
	Job      string
	Engine   *shim.Engine
	Units    shim.Unit       // of what is printed for people
	Again    string          // the command that plans again from the readings; solve where empty
	Valves   []ComparedValve // in the order of [shim.Engine.Valves]
	Report   recheck.Report
	Suspects []recheck.Suspicion
}

// Well tells whether every valve is proven inside its limits: the job is done, with
// a note where some fault is likelier than none.
func (j *ComparedJob) Well() bool {
	for i := range j.Valves {
		if v := &j.Valves[i]; v.Verdict != shim.OK || v.Undecided() {
			return false
		}
	}
	return true
}

// Faulty tells whether some fault is likelier than none.
func (j *ComparedJob) Faulty() bool {
	e := j.Report.Explanations
	return len(e) > 0 && len(e[0].Faults) > 0
}

// Sure tells whether a fault is the strong explanation.
func (j *ComparedJob) Sure() bool {
	return j.Faulty() && sureness(j.Report.Explanations[0].Probability) == "strong"
}

// A ComparedValve is one valve of a comparison.
type ComparedValve struct {
	Valve shim.Valve
	shim.Limits
	Reading shim.Reading // after fitting
	Verdict shim.Verdict // of the reading; tight or loose where a leaf alone tells
	Planned bool         // whether there is a clearance to expect
	// Expected is the clearance to expect with the shim that is in: the plan's,
	// unless the check names another.
	Expected shim.Length
	Size     shim.Length // the shim that is in
	Plan     shim.Length // the shim that the plan fits
	Compared bool        // whether there are both a clearance to expect and a reading since the fit
	Earlier  bool        // whether the reading is from before the plan
	// Difference is measured minus expected; from the leaf where the reading has
	// no number.
	Difference shim.Length
	Bound      shim.Length // what the uncertainty explains of it
	Beyond     bool        // whether it is more than that
	// Off tells whether a fault is the likelier reason for that: where none is,
	// even so, nothing going wrong is the best explanation.
	Off bool
}

// Undecided tells whether the reading lies across a limit, though its middle
// lies inside: it does not prove the valve.
func (v *ComparedValve) Undecided() bool { return v.Limits.Undecided(v.Reading) }

// A Measuring is what is known of how a job was measured, beyond the plan and
// the check.
type Measuring struct {
	Gauge *shim.Gauge // nil where nobody states it
	// Position numbers the crank position at which each valve is measured, from
	// 1, in the order of [shim.Engine.Valves]; nil where it is not known.
	Position []int
	// Earlier marks the valves whose reading is from before the plan, in the same
	// order: it judges the valve, and the plan's expectation was made from it. nil is none.
	Earlier []bool
}

// gauge is the stated gauge, else the usual one.
func (m Measuring) gauge() shim.Gauge {
	if m.Gauge != nil {
		return *m.Gauge
	}
	return doubt.Usual
}

// Compare holds a job against the check after fitting: one measurement of every
// valve, in the order of [shim.Engine.Valves].
func (j *PlannedJob) Compare(check []shim.Measurement, m Measuring) ComparedJob {
	out := ComparedJob{Job: j.Job, Engine: j.Engine, Units: j.Engine.Units, Valves: make([]ComparedValve, len(j.Valves))}
	var refits []recheck.Refit
	for i := range j.Valves {
		v, now := &j.Valves[i], check[i]
		fitted := v.with(now, j.Engine)
		c := &out.Valves[i]
		*c = ComparedValve{
			Valve: v.Valve, Limits: v.Limits, Reading: now.Reading, Verdict: judge(v.Limits, now.Reading),
			Planned: v.Measured, Expected: fitted.Predicted, Size: fitted.Size, Plan: v.Size,
			Compared: v.Measured && now.Reading.Kind != shim.Unread,
		}
		if m.Earlier != nil && m.Earlier[i] {
			c.Earlier, c.Compared = true, false
		}
		if !c.Compared {
			continue
		}
		c.Difference = leaf(now.Reading) - c.Expected
		r := j.refit(&fitted, now.Reading, m)
		if m.Position != nil {
			r.Position = m.Position[i]
		}
		refits = append(refits, r)
	}
	a := assumptions(j.Engine)
	a.Gauge = m.gauge()
	out.Report = recheck.Explain(refits, a)
	out.bound(refits)
	rules := recheck.UsualRules
	rules.Gauge = m.gauge()
	for _, s := range recheck.Suspects(j.Engine, check, nil, rules) {
		if at, found := j.Engine.Find(s.Valve); found && out.Valves[at].suspicious(s) {
			s.Valve = out.Valves[at].Valve
			out.Suspects = append(out.Suspects, s)
		}
	}
	return out
}

// with is the valve with the shim that the check names: what was written down
// after fitting is closer to the truth than the plan.
func (v PlannedValve) with(now shim.Measurement, e *shim.Engine) PlannedValve {
	size := now.Size()
	if size == 0 {
		return v
	}
	miked := now.Mic != 0
	same := size == v.Size || (miked || v.Miked) && (size-v.Size).Abs() <= recheck.UsualRules.MarkOff
	switch {
	case same && (!v.Changed || !miked):
		// One shim, known in two ways. One that stays cancels; a mark says
		// nothing against the micrometer that the plan went by.
		v.Miked = v.Miked || miked
		return v
	case !same:
		v.From, v.Out, v.Changed = shim.Valve{}, true, size != v.Installed
	}
	v.Size, v.Miked = size, miked
	if v.Measured {
		s := v.setting(e)
		v.Predicted = s.Expect(size)
	}
	return v
}

// refit is the valve for [recheck.Explain].
func (j *PlannedJob) refit(v *PlannedValve, now shim.Reading, m Measuring) recheck.Refit {
	if now.Kind == shim.Single && now.Low <= 0 {
		// No gap at all: the valve may be held open, by how much nobody knows.
		now = shim.Reading{Kind: shim.Below}
	}
	r := recheck.Refit{
		Valve: v.Valve, Expected: v.Predicted, Reading: now, Ratio: j.Engine.Train(v.Valve.Side).Ratio,
		Before: v.Installed, Size: v.Size, Miked: v.Miked, Out: v.Out,
	}
	if !v.Changed {
		r.From = v.Valve
	} else if at, found := j.Engine.Find(v.From); found && j.Valves[at].Changed && j.Valves[at].Installed == v.Size {
		// The plan's JSON names the valve only: where the sizes differ it is
		// one of another job.
		r.From = j.Valves[at].Valve
	}
	r.First, r.WasMiked = v.Reading, v.InstalledMiked
	r.Error = m.spread(v, r.Ratio, now)
	if !v.Changed {
		other := *v
		other.Changed, other.Uncertainty = true, 0
		r.Other = m.spread(&other, r.Ratio, now)
	} else {
		own := *v
		own.Changed, own.Uncertainty = false, 0
		r.Own = m.spread(&own, r.Ratio, now)
	}
	return r
}

// spread is the distribution of measured minus expected, all being well.
func (m Measuring) spread(v *PlannedValve, ratio shim.Ratio, now shim.Reading) doubt.Spread {
	model := doubt.Model{Gauge: m.gauge()}
	parts := doubt.Parts{Reading: v.Reading, Ratio: ratio, Kept: !v.Changed}
	if v.Miked {
		parts.Fitted = doubt.Miked
	}
	if v.InstalledMiked {
		parts.Installed = doubt.Miked
	}
	if v.Over != 0 {
		// Read over an earlier shim: its doubt counts, and the one in between cancels.
		if parts.Kept {
			parts.Fitted = parts.Installed
		}
		parts.Kept, parts.Installed = false, doubt.Stamped
		if v.OverMiked {
			parts.Installed = doubt.Miked
		}
	}
	own := model.Spread(parts)
	if m.Gauge != nil || v.Uncertainty == 0 || v.Uncertainty == own.Expanded() || v.Uncertainty == 2*own.Standard() {
		return model.Difference(parts, now)
	}
	// The plan was made with a gauge that is not at hand: its own uncertainty
	// counts, taken for the same share of the standard one.
	second := model.Spread(doubt.Parts{Reading: now, Ratio: ratio, Kept: true})
	if !second.Known() {
		return model.Difference(parts, now)
	}
	share := float64(v.Uncertainty) / float64(own.Expanded())
	return doubt.Gaussian(math.Hypot(share*float64(own.Standard()), float64(second.Standard())))
}

// assumptions are the usual ones with the sizes that the engine's catalogue has.
func assumptions(e *shim.Engine) recheck.Assumptions {
	a := recheck.Usual
	for _, o := range e.Offers() {
		a.Sizes = append(a.Sizes, o.Size)
	}
	return a
}

// judge is the reading's verdict; a leaf that does not go, or falls through, is
// enough where it proves the clearance outside.
func judge(l shim.Limits, r shim.Reading) shim.Verdict {
	if !l.Outside(r) {
		return l.Judge(r)
	}
	switch r.Kind {
	case shim.Below:
		return shim.Tight
	case shim.Above:
		return shim.Loose
	}
	return l.Judge(r)
}

// leaf is the reading's estimate, or the leaf that it is about.
func leaf(r shim.Reading) shim.Length {
	switch r.Kind {
	case shim.Below:
		return r.High
	case shim.Above:
		return r.Low
	}
	estimate, _ := r.Estimate()
	return estimate
}

// alarm is the share of jobs without a fault that may have a valve called off,
// as package recheck has it; a test holds the two together.
const alarm = 0.005

// bound fills in what the uncertainty explains and which valves are off.
func (j *ComparedJob) bound(refits []recheck.Refit) {
	level := alarm / float64(len(refits))
	next := 0
	for i := range j.Valves {
		if c := &j.Valves[i]; c.Compared {
			c.Bound = refits[next].Error.Within(1 - level)
			d := recheck.Deviation{Difference: c.Difference, Bound: c.Bound}
			c.Beyond = d.Proves(refits[next].Reading.Kind)
			next++
		}
	}
	for _, off := range j.Report.Off {
		at, _ := j.Engine.Find(off.Valve)
		j.Valves[at].Bound, j.Valves[at].Off = off.Bound, true
	}
}

// suspicious tells whether a suspicion adds to what the comparison says: a
// clearance or a shim that is as planned is nobody's slip.
func (v *ComparedValve) suspicious(s recheck.Suspicion) bool {
	switch s.Reason {
	case recheck.FarClearance:
		return !v.Planned
	case recheck.FarSize, recheck.NoSuchSize:
		return v.Size != v.Plan
	}
	return true
}
