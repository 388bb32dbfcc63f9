package recheck

import (
	"math"
	"slices"

	"shimwright/shim"
	"shimwright/shim/doubt"
	"shimwright/shim/plan"
)

// A Comparison is a plan held against what was measured after fitting.
type Comparison struct{ Jobs []ComparedJob }

// Well reports whether every job is well.
func (c *Comparison) Well() bool {
	for i := range c.Jobs {
		if !c.Jobs[i].Well() {
			return false
		}
	}
	return true
}

// Engines lists the engines of the jobs.
func (c *Comparison) Engines() []*shim.Engine {
	list := make([]*shim.Engine, len(c.Jobs))
	for i := range c.Jobs {
		list[i] = c.Jobs[i].Engine
	}
	return list
}

// ShowIn prints lengths for people in the units.
func (c *Comparison) ShowIn(in shim.Showing) {
	for i := range c.Jobs {
		c.Jobs[i].Units = c.Jobs[i].Units.Shown(in)
	}
}

// A ComparedJob is one job of a comparison.
type ComparedJob struct {
	Job      string
	Engine   *shim.Engine
	Units    shim.UnitPair   // of what is printed for people
	Again    string          // the command that plans again from the readings; solve where empty
	Valves   []ComparedValve // in the order of [shim.Engine.Valves]
	Report   Report
	Suspects []Suspicion
}

// Well reports whether every valve is proven inside its limits: the job is done, with
// a note where some fault is likelier than none.
func (j *ComparedJob) Well() bool {
	for i := range j.Valves {
		if v := &j.Valves[i]; v.Verdict != shim.OK || v.Undecided() || v.SetUp || v.CloserFirst {
			return false
		}
	}
	return true
}

// Faulty reports whether some fault is likelier than none.
func (j *ComparedJob) Faulty() bool {
	e := j.Report.Explanations
	return len(e) > 0 && len(e[0].Faults) > 0
}

// Sure reports whether a fault is the strong explanation.
func (j *ComparedJob) Sure() bool {
	return j.Faulty() && j.Sureness(j.Report.Explanations[0].Probability) == "strong"
}

// A ComparedValve is one valve of a comparison.
type ComparedValve struct {
	Valve shim.Valve
	// Limits are those of the reading: the maker's less the allowance of a fresh
	// build, which has not settled yet and is not in Expected either.
	shim.Limits
	Allowance shim.Length

	Reading shim.Reading // after fitting, as the limits judge it
	// Temperature is the engine's as it was measured, 0 where not known, and
	// Warmth what came of it.
	Temperature shim.Temperature
	Warmth      shim.TemperatureNote
	Verdict     shim.Verdict // of the reading; tight or loose where a leaf alone tells
	Planned     bool         // whether there is a clearance to expect
	// Expected is the clearance to expect with the shim that is in: the plan's,
	// unless the check names another.
	Expected shim.Length
	Size     shim.Length // the shim that is in
	Plan     shim.Length // the shim that the plan fits
	Compared bool        // whether there are both a clearance to expect and a reading since the fit
	Earlier  bool        // whether the reading is from before the plan
	// SetUp tells that the valve has no shim of its own, in a fresh build: what was
	// read there is over a set-up shim of the bench set or none, and proves nothing.
	SetUp bool
	// CloserFirst tells of an opener that its closer shows no play: the reading is
	// provisional, see [shim.Limits.NoPlay].
	CloserFirst bool
	// Difference is measured minus expected; from the leaf where the reading has
	// no number.
	Difference shim.Length
	Bound      shim.Length // what the uncertainty explains of it
	Beyond     bool        // whether it is more than that
	// Off reports whether a fault is the likelier reason for that: where none is,
	// even so, nothing going wrong is the best explanation.
	Off bool
}

// Undecided reports whether the reading lies across a limit, though its middle
// lies inside: it does not prove the valve.
func (v *ComparedValve) Undecided() bool { return v.Limits.Undecided(v.Reading) }

// A Measuring is what is known of how a job was measured, beyond the plan and
// the check.
type Measuring struct {
	// Gauge is what was measured with where the measurements do not say; nil where
	// nobody states it: then the plan's counts.
	Gauge  *shim.Gauge
	before bool // whether the plan is of a time when a used mark counted as a new one
	// Position numbers the crank position at which each valve is measured, from
	// 1, in the order of [shim.Engine.Valves]; nil where it is not known.
	Position []int
	// Earlier marks the valves whose reading is from before the plan, in the same
	// order: it judges the valve, and the plan's expectation was made from it. nil is none.
	Earlier []bool
	// CloserFirst are the openers that were read while their closers showed no play, by
	// what is on record; nil where there is no record, and the check tells.
	CloserFirst []shim.Valve
	// CameOut tells which shims came out in fact, where they are not those that the plan
	// found in place: its readings were made over these.
	CameOut []shim.Measurement
}

// A closed is a valve of the plan as it was closed up.
type closed struct {
	plan.ValvePlan
	source       shim.Valve // whose shim it got, of this job; else zero
	now          shim.Gauge // what it was read with after fitting, where that is not the job's gauge
	changed, out bool       // whether another shim went in, and whether its own was out of the engine
}

// Compare holds a job of the plan against the check after fitting: one measurement of
// every valve, in the order of [shim.Engine.Valves]. All its shims have to be known.
func Compare(p *plan.Plan, job int, check []shim.Measurement, m Measuring) ComparedJob {
	j := &p.Jobs[job]
	before := shim.UsualGauge
	before.Used = 0
	m.before = j.Gauge == before
	if m.Gauge == nil && j.GaugeStated {
		m.Gauge = &j.Gauge
	}
	warmth := make([]shim.TemperatureNote, len(check))
	for i, now := range check {
		_, warmth[i] = j.Engine.AtLimits(now)
	}
	check = atLimits(j.Engine, check)
	out := ComparedJob{Job: j.Job, Engine: j.Engine, Units: j.Engine.Units, Valves: make([]ComparedValve, len(j.Valves))}
	valves := m.close(p, job)
	var refits []Refit
	for i := range valves {
		v, now := &valves[i], check[i]
		fitted := v.with(now, j.Engine)
		c := &out.Valves[i]
		*c = ComparedValve{
			Valve: v.ValvePlan.Valve, SetUp: v.SetUp && !v.Changed(), Limits: v.Limits, Reading: now.Reading, Verdict: judge(v.Limits, now.Reading),
			Allowance: j.Valves[i].Allowance.By, Planned: v.Measured, Expected: fitted.Expected, Size: fitted.Size, Plan: v.Size,
			Compared: v.Measured && now.Reading.Kind != shim.Unread, Temperature: now.Temperature, Warmth: warmth[i],
		}
		if m.CloserFirst == nil && c.Valve.Closer && out.Valves[i-1].Reading.Kind != shim.Unread && c.Limits.NoPlay(c.Reading) {
			out.Valves[i-1].CloserFirst = true
		}
		if slices.Contains(m.CloserFirst, c.Valve) {
			c.CloserFirst = true
		}
		if m.Earlier != nil && m.Earlier[i] {
			c.Earlier, c.Compared = true, false
		}
		if !c.Compared {
			continue
		}
		at, _ := now.Reading.Bound()
		c.Difference = at - c.Expected
		r := m.refit(j.Engine, valves, &fitted, now.Reading)
		if m.Position != nil {
			r.Position = m.Position[i]
		}
		refits = append(refits, r)
	}
	a := assumptions(j.Engine)
	a.Gauge = m.gauge()
	out.Report = Explain(refits, a)
	out.bound(refits)
	rules := UsualRules
	rules.Gauge = m.gauge()
	for _, s := range Suspects(j.Engine, check, nil, rules) {
		if at, found := j.Engine.Find(s.Valve); found && out.Valves[at].suspicious(s) {
			s.Valve = out.Valves[at].Valve
			out.Suspects = append(out.Suspects, s)
		}
	}
	return out
}

// gauge is the stated gauge, else the usual one.
func (m Measuring) gauge() shim.Gauge {
	if m.Gauge != nil {
		return *m.Gauge
	}
	if m.before {
		g := shim.UsualGauge
		g.Used = 0
		return g
	}
	return doubt.Usual
}

// close is the job as it was closed up.
func (m Measuring) close(p *plan.Plan, job int) []closed {
	j := &p.Jobs[job]
	valves := make([]closed, len(j.Valves))
	for i := range valves {
		v := &valves[i]
		v.ValvePlan, v.changed = j.Valves[i], j.Valves[i].Changed()
		v.unsettle()
		// Shims that are reached one by one come out one by one; under a
		// camshaft, all of them may.
		v.out = v.Open && (v.changed || j.Engine.Access == shim.ByCamshaft)
		if v.From != nil && v.From.Job == job {
			v.source = v.From.Valve
		}
	}
	for _, was := range m.CameOut {
		at, found := j.Engine.Find(was.Valve)
		if !found {
			continue
		}
		v := &valves[at]
		v.Installed, v.InstalledMiked = was.Size(), was.Mic != 0
		v.changed = v.changed || v.Installed != v.Size
		v.out = v.out || v.changed
		if v.Measured {
			v.Expected = v.Expect(j.Engine, v.Size)
		}
	}
	return valves
}

// unsettle takes the allowance of a fresh build out: what is measured right after
// fitting has not settled yet, so it is held against the clearance to expect and the
// limits less the allowance.
func (v *closed) unsettle() {
	v.Limits = v.Settling()
	v.Expected -= v.Allowance.By
	v.Allowance = shim.Allowance{}
	if v.SetUp && !v.changed {
		v.Measured = false // no plan for it
	}
}

// with is the valve with the shim that the check names: what was written down
// after fitting is closer to the truth than the plan.
func (v closed) with(now shim.Measurement, e *shim.Engine) closed {
	v.now = now.With
	size := now.Size()
	if size == 0 {
		return v
	}
	miked := now.Mic != 0
	same := size == v.Size || (miked || v.Miked) && (size-v.Size).Abs() <= UsualRules.MarkOff
	switch {
	case same && (!v.changed || !miked):
		// One shim, known in two ways. One that stays cancels; a mark says
		// nothing against the micrometer that the plan went by.
		v.Miked = v.Miked || miked
		return v
	case !same:
		v.source, v.out, v.changed = shim.Valve{}, true, size != v.Installed
		v.Action, v.Used = plan.Box, true // or bought, nobody knows
	}
	v.Size, v.Miked = size, miked
	if v.Measured {
		v.Expected = v.Expect(e, size)
	}
	return v
}

// refit is one of the valves for [Explain].
func (m Measuring) refit(e *shim.Engine, valves []closed, v *closed, now shim.Reading) Refit {
	if estimate, _ := now.Estimate(); now.Kind == shim.Single && estimate <= 0 {
		// No gap at all: the valve may be held open, by how much nobody knows.
		now = shim.Reading{Kind: shim.Below}
	}
	// The tighter of two readings judges a valve; as evidence of a fault both count.
	now.Second.Tighter = false
	if v.Reading.Second.Tighter {
		both := *v
		both.Reading.Second.Tighter = false
		counted, _ := v.Reading.Estimate()
		estimate, _ := both.Reading.Estimate()
		both.Expected += estimate - counted
		both.Uncertainty = 0 // the plan's is that of one reading
		v = &both
	}
	r := Refit{
		Valve: v.ValvePlan.Valve, Expected: v.Expected, Reading: now, Ratio: e.TrainOf(v.ValvePlan.Valve).Ratio,
		Before: v.Installed, Size: v.Size, Miked: v.Miked, Used: v.Used, Out: v.out,
	}
	if !v.changed {
		r.From = r.Valve
	} else if at, found := e.Find(v.source); found && valves[at].changed && valves[at].Installed == v.Size {
		r.From = valves[at].ValvePlan.Valve // unless another shim came out there
	}
	r.Bought = v.changed && v.Action == plan.Buy
	r.With, r.FirstWith = v.now, v.With
	r.First, r.WasMiked = v.Reading, v.InstalledMiked
	r.Error = m.spread(v, r.Ratio, now)
	if !v.changed {
		other := *v
		other.changed, other.Used, other.Uncertainty = true, true, 0
		r.Other = m.spread(&other, r.Ratio, now)
	} else {
		own := *v
		own.changed, own.Uncertainty = false, 0
		r.Own = m.spread(&own, r.Ratio, now)
	}
	return r
}

// spread is the distribution of measured minus expected, all being well.
func (m Measuring) spread(v *closed, ratio shim.Ratio, now shim.Reading) doubt.Spread {
	model := doubt.Model{Gauge: m.gauge().Leaves(v.now)}
	parts := doubt.Parts{Reading: v.Reading, With: m.gauge().Leaves(v.With), Ratio: ratio, Kept: !v.changed,
		Fitted: doubt.SourceOf(v.Miked, v.Used), Installed: doubt.SourceOf(v.InstalledMiked, true)}
	if v.Installed == 0 {
		parts.Installed = doubt.None // a fresh build, measured without a shim
	}
	if v.Over != nil {
		// Read over an earlier shim: its doubt counts, and the one in between cancels.
		if parts.Kept {
			parts.Fitted = parts.Installed
		}
		if parts.Kept, parts.Installed = false, doubt.InPlace(v.Over.Mic); v.Over.Size() == 0 {
			parts.Installed = doubt.None
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
func assumptions(e *shim.Engine) Assumptions {
	a := Usual
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

// bound fills in what the uncertainty explains and which valves are off.
func (j *ComparedJob) bound(refits []Refit) {
	level := alarm / float64(len(refits))
	next := 0
	for i := range j.Valves {
		if c := &j.Valves[i]; c.Compared {
			c.Bound = refits[next].Error.Within(1 - level)
			d := Deviation{Difference: c.Difference, Bound: c.Bound}
			c.Beyond = d.Proves(refits[next].Reading.Kind)
			next++
		}
	}
	for _, off := range j.Report.Off {
		at, _ := j.Engine.Find(off.Valve)
		j.Valves[at].Bound, j.Valves[at].Off = off.Bound, true
	}
}

// suspicious reports whether a suspicion adds to what the comparison says: a
// clearance or a shim that is as planned is nobody's slip.
func (v *ComparedValve) suspicious(s Suspicion) bool {
	switch s.Reason {
	case FarClearance:
		return !v.Planned
	case FarSize, NoSuchSize:
		return v.Size != v.Plan
	}
	return true
}

// Contradicted reports whether a valve's two readings contradict each other.
func (j *ComparedJob) Contradicted() bool {
	return slices.ContainsFunc(j.Suspects, func(s Suspicion) bool { return s.Reason == ReadingsApart })
}

// Sureness is [Sureness] of an explanation of this job: none is strong that leans on
// two readings which contradict each other.
func (j *ComparedJob) Sureness(p float64) string {
	if word := Sureness(p); word != "strong" || !j.Contradicted() {
		return word
	}
	return "likely"
}

// Sureness is a probability in one word.
func Sureness(p float64) string {
	switch {
	case p >= 0.9:
		return "strong"
	case p >= 0.6:
		return "likely"
	case p >= 0.25:
		return "possible"
	}
	return "weak"
}
