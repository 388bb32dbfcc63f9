package plan

import (
	"cmp"
	"fmt"
	"slices"

	"shimwright/shim"
	"shimwright/shim/doubt"
)

// DefaultMargin is how close to a limit counts as near.
const DefaultMargin = 10 * shim.Micrometre

// A JobRequest is one engine's check and what may be opened of it. Check holds one
// measurement of each of the engine's valves, in the engine's order.
type JobRequest struct {
	Name   string
	Engine *shim.Engine
	Check  []shim.Measurement
	Lift   shim.Lift
	// Provisional says that the shims are those of the last record, or not
	// known (a size of 0): nobody has seen them in this job yet.
	Provisional bool
	// Build is a fresh build: everything is open, what is in the valves are
	// set-up shims of the bench set or none at all, and the sides' allowances count.
	Build bool
	// Own are the valves that have a shim of their own in a build already.
	Own map[shim.Valve]bool
	// CloserFirst are the openers that were read while their closers showed no play, by
	// what is on record; nil where there is no record, and Check tells.
	CloserFirst []shim.Valve
	// Over holds readings that were made over another shim than the one that
	// Check names, as they were read: what Check says was worked out from them.
	Over map[shim.Valve]shim.Measurement
	// Gauge is what this job is measured with where the request names none and it is not
	// what the engine file says.
	Gauge *shim.Gauge
	// Risk, unless nil, is what a shim risks at its valve until the next check, in
	// parts per million: the criterion of that name.
	Risk func(Fit) int64 `json:"-"`
}

// A Fit is a shim at a valve: Own where it is in there now, else Known tells how
// its size is known.
type Fit struct {
	Valve shim.Valve
	Size  shim.Length
	Own   bool
	Known doubt.Source
}

// A Request is what is to be planned: jobs that draw on one box.
type Request struct {
	Jobs []JobRequest
	Box  []shim.BoxRow
	// Offers is the supplier's catalogue. Where it is nil each engine's own is used.
	Offers []shim.Offer
	// OnOrder is what can be had beside the engines' own catalogues, each with its
	// diameter and a limited stock. It does not count where Offers is not nil.
	OnOrder []shim.Offer
	// NoBuy leaves the catalogue out.
	NoBuy  bool
	Policy Policy
	// Margin is how close to a limit counts as near; not negative.
	Margin shim.Length
	// Confidence, above 0 and below 1, takes the place of the margin: a valve is
	// near a limit where it lies inside with less than this probability.
	Confidence float64
	// Gauge is what the shop measures with, whatever jobs and measurements say. Where it
	// is nil that counts, or each engine's own, or [shim.UsualGauge].
	Gauge *shim.Gauge
	// Progress, unless nil, is called now and then with how far long work is: how many
	// valves of how many are placed, of one diameter.
	Progress func(done, of int)
	// Verify checks the proof that the solver gives; Make is an error then where
	// it does not hold.
	Verify bool
	// SharePulled lets a shim pulled from one engine go into another.
	SharePulled bool

	shelf *shelf // of Offers, where it is sorted already
	// unlisted leaves the fitting lists out, where only the criteria are asked for.
	unlisted bool
}

// apart reports whether equal sizes are told apart by how they are known: a
// confidence or a risk depends on it.
func (q *Request) apart() bool {
	return q.Confidence != 0 || slices.ContainsFunc(q.Jobs, func(j JobRequest) bool { return j.Risk != nil })
}

// An Action says what to do at a valve.
type Action uint8

// The actions. Leave is for a valve that is not open, and for one that cannot
// be brought inside its limits: it keeps its own shim.
const (
	Keep Action = iota
	Swap
	Box
	Buy
	Leave
)

// String is "keep", "swap", "box", "buy" or "leave".
func (a Action) String() string {
	return [...]string{"keep", "swap", "box", "buy", "leave"}[a]
}

// MarshalText is the action's word.
func (a Action) MarshalText() ([]byte, error) { return []byte(a.String()), nil }

// UnmarshalText reads the action's word.
func (a *Action) UnmarshalText(text []byte) error {
	for known := Keep; known <= Leave; known++ {
		if known.String() == string(text) {
			*a = known
			return nil
		}
	}
	return fmt.Errorf("unknown action %q", text)
}

// A Place is one valve of one job: Job counts the plan's jobs from 0.
type Place struct {
	Job   int
	Valve shim.Valve
}

// A ValvePlan is what the plan says of one valve.
type ValvePlan struct {
	Valve     shim.Valve
	Limits    shim.Limits
	Aim       shim.Length
	Reading   shim.Reading
	Measured  bool        // whether the reading has a number
	Clearance shim.Length // the reading's estimate, where Measured
	Installed shim.Length // the size of the shim in place; 0 where not known, or with SetUp none
	// Temperature is the engine's as it was measured, 0 where not known, and
	// Warmth what came of it.
	Temperature shim.Temperature
	Warmth      shim.TemperatureNote
	// SetUp says that the shim in place is a set-up shim of the bench set, or
	// that there is none: it goes back there, and is no part of the exchange.
	SetUp bool
	// Allowance is added to the clearance, in a fresh build.
	Allowance shim.Allowance
	// Over is the measurement that the reading was worked out from, where it was
	// made over another shim than the one in place; else nil.
	Over *shim.Measurement
	// InstalledMiked reports whether a micrometer measured the shim in place, and
	// Miked whether it did so with the one to fit.
	InstalledMiked, Miked bool
	// Used reports whether the shim to fit has been in an engine and is known by
	// its mark only.
	Used       bool
	Verdict    shim.Verdict
	Undecided  bool // whether the reading lies across a limit, though its middle lies inside
	Open       bool
	Action     Action
	Size       shim.Length // of the shim to fit, or the one that stays; 0 with SetUp for none
	From       *Place      // with Swap: whose shim it was
	shim.Quote             // with Buy
	Expected   shim.Length // the clearance to expect, where Measured
	Risk       int64       // of the shim to fit or that stays, in parts per million, where the request tells
	// With are the leaves that Reading was read with where they are not the job's; else zero.
	With shim.Gauge
	// Uncertainty is the expanded one, 95 %, of Expected in a plan that was read
	// back and does not tell the gauge; else 0: see [JobPlan.Forecast].
	Uncertainty shim.Length
	Near        bool // inside, yet near a limit by the margin or the confidence
	MayBind     bool // a closer whose expected clearance is below its own uncertainty
	// CloserFirst says of an opener that its closer shows no play (see
	// [shim.Limits.NoPlay]): the reading is provisional and counts as one without a
	// number. The closer is put right first, then both are measured again.
	CloserFirst bool
	Reason      *Reason     // why the valve stays outside its limits or is undecided; nil for none
	Trial       shim.Length // the trial shim to buy for it; 0 for none
	To          *Place      // where its own shim goes, where it is changed; nil for the box
}

// Served reports whether the valve ends inside its limits.
func (v *ValvePlan) Served() bool {
	return v.Measured && v.Limits.Contain(v.Expected) && (!v.SetUp || v.Changed())
}

// Expect is the clearance to expect with a shim of that size, where Measured.
func (v *ValvePlan) Expect(e *shim.Engine, size shim.Length) shim.Length {
	s := v.setting(e)
	return s.Expect(size)
}

// Settling are the limits for the reading, without the allowance.
func (v *ValvePlan) Settling() shim.Limits {
	return shim.Limits{Tight: v.Limits.Tight - v.Allowance.By, Loose: v.Limits.Loose - v.Allowance.By}
}

// setting is the valve as the arithmetic sees it, with the shim in place.
func (v *ValvePlan) setting(e *shim.Engine) shim.Setting {
	return shim.Setting{Limits: v.Limits, Aim: v.Aim, Ratio: e.TrainOf(v.Valve).Ratio, Clearance: v.Clearance + v.Allowance.By, Size: v.Installed}
}

// MustChange reports whether the valve needs another shim although none can be
// named: nobody has seen its own yet.
func (v *ValvePlan) MustChange() bool {
	return v.Open && v.Measured && v.Installed == 0 && !v.SetUp && !v.Served()
}

// Changed reports whether the valve's shim is changed.
func (v *ValvePlan) Changed() bool { return v.Action == Swap || v.Action == Box || v.Action == Buy }

// JobPlan is the plan for one job.
type JobPlan struct {
	Job    string
	Engine *shim.Engine
	Units  shim.UnitPair // of what is said to people: the engine's until [Plan.ShowIn]
	// Provisional is the job's: the shims are not seen yet.
	Provisional bool
	Build       bool        // a fresh build
	Gauge       shim.Gauge  // what the shop measures with
	GaugeStated bool        // whether somebody said so
	Lifted      []string    // the camshafts lifted, or with access by valve the valves opened
	Valves      []ValvePlan // in the engine's order
	Moves       []Move      // in working order
	Wants       []Want      // rings of swaps that are not in Moves: a temporary shim is missing
	Criteria    Criteria
	Until       *Until // where the plan looks ahead; else nil
}

// An Until is what a plan that looks ahead to a meter reading gains.
type Until struct {
	Meter string // with its unit
	// Inside is how likely all valves stay inside their limits until then, and
	// Without how likely with the plan that does not look ahead.
	Inside, Without float64
	Bought          int // more than without
}

// Pieces are a number of equal shims.
type Pieces struct {
	shim.Disc
	Count      int
	shim.Quote              // a piece, in a shopping list
	known      doubt.Source // in the box: how their size is known, of several ways the least sure
}

// A Plan is the optimum of its policy over all open valves of its jobs.
type Plan struct {
	Policy     Policy
	Margin     shim.Length
	Confidence float64 // in place of the margin, where it is not 0
	Buy        *int    // the bound of the purchases, in place of the policy
	Criteria   Criteria
	Jobs       []JobPlan
	Shopping   []Pieces // what to buy
	Drawn      []Pieces // what the box gives
	LeftOver   []Pieces // what the pulled shims leave
	// Next is what is worth measuring first, where somebody asked: see
	// [MeasureNext].
	Next []Next
}

// Provisional reports whether some job's shims are not seen yet.
func (p *Plan) Provisional() bool {
	return slices.ContainsFunc(p.Jobs, func(j JobPlan) bool { return j.Provisional })
}

// Engines lists the engines of the jobs.
func (p *Plan) Engines() []*shim.Engine {
	list := make([]*shim.Engine, len(p.Jobs))
	for i := range p.Jobs {
		list[i] = p.Jobs[i].Engine
	}
	return list
}

// Outside counts the valves, open or not, that end outside their limits or are
// not measured.
func (p *Plan) Outside() int {
	n := 0
	for i := range p.Jobs {
		for k := range p.Jobs[i].Valves {
			if !p.Jobs[i].Valves[k].Served() {
				n++
			}
		}
	}
	return n
}

// Served reports whether every valve, open or not, ends inside its limits.
func (p *Plan) Served() bool { return p.Outside() == 0 }

// Undecided counts the job's valves that keep their shim on a reading that lies
// across a limit.
func (j *JobPlan) Undecided() int {
	n := 0
	for k := range j.Valves {
		if v := &j.Valves[k]; v.Undecided && !v.Changed() {
			n++
		}
	}
	return n
}

// Settled reports whether every valve ends inside its limits and none is left
// undecided.
func (p *Plan) Settled() bool {
	return p.Served() && !slices.ContainsFunc(p.Jobs, func(j JobPlan) bool { return j.Undecided() > 0 || len(j.Wants) > 0 })
}

// gather merges lots of the same family, size and price and puts them in order.
func gather(lots []Pieces) []Pieces {
	slices.SortFunc(lots, func(a, b Pieces) int {
		return cmp.Or(a.Disc.Compare(b.Disc), cmp.Compare(a.Price, b.Price), falseFirst(a.Priced, b.Priced), cmp.Compare(a.known, b.known))
	})
	merged := lots[:0]
	for _, lot := range lots {
		if n := len(merged); n > 0 {
			last := &merged[n-1]
			if last.Disc == lot.Disc && last.Price == lot.Price && last.Priced == lot.Priced && last.known == lot.known {
				last.Count += lot.Count
				continue
			}
		}
		merged = append(merged, lot)
	}
	return merged
}

// Mark is what is written on such a shim where it is not its size, empty where the
// jobs' engines differ.
func (p *Plan) Mark(d shim.Disc) string {
	mark := ""
	for i := range p.Jobs {
		switch one := p.Jobs[i].Engine.Mark(d); {
		case one == "":
		case mark != "" && one != mark:
			return ""
		default:
			mark = one
		}
	}
	return mark
}

// Mark is what is written on a shim of the valve's, empty where a micrometer gave the
// size: it may be another one's by its mark.
func (j *JobPlan) Mark(v shim.Valve, size shim.Length) string {
	if at, found := j.Engine.Find(v); found && at < len(j.Valves) {
		if p := &j.Valves[at]; size == p.Installed && p.InstalledMiked || size == p.Size && p.Miked {
			return ""
		}
	}
	return j.Engine.MarksOf(v).Of(size)
}

// ShowIn prints lengths for people in the units.
func (p *Plan) ShowIn(in shim.Showing) {
	for i := range p.Jobs {
		p.Jobs[i].Units = p.Jobs[i].Units.Shown(in)
	}
}

// Units are those to print what belongs to no single job in, lots among it: the
// jobs' own where they agree, else mm.
func (p *Plan) Units() shim.UnitPair {
	if len(p.Jobs) == 0 {
		return shim.UnitPair{}
	}
	u := p.Jobs[0].Units
	for i := range p.Jobs {
		u = shim.UnitPair{Clearance: min(u.Clearance, p.Jobs[i].Units.Clearance), Size: min(u.Size, p.Jobs[i].Units.Size)}
	}
	return u
}
