package walk

import (
	"cmp"
	"slices"

	"shimwright/shim"
	"shimwright/shim/crank"
	"shimwright/shim/recheck"
)

// A Walk goes through the valves of one check.
type Walk struct {
	Engine *shim.Engine
	// Measurements are those of all valves, in the order of [shim.Engine.Valves].
	Measurements []shim.Measurement
	// Positions are the crank positions; nil where the engine has no firing order.
	Positions []crank.Position

	Options
	steps  []Step
	at     int              // in steps
	left   bool             // whether quit was typed
	spare  string           // typed when all was asked
	asked  *question        // nil where none waits
	told   map[doubted]bool // the suspicions that were named
	begun  []shim.Marks     // the shims that the walk began with
	reread map[int]bool     // the valves whose reading was typed in this walk
	headed Place            // the last heading
}

// Options say what a walk asks for.
type Options struct {
	// Only are the places in [shim.Engine.Valves] of the valves to measure
	// again; none is every valve that lacks something.
	Only map[int]bool
	// Build is a fresh build: gaps over set-up shims, or over none, look like no
	// others, and none is doubted.
	Build bool
	// Shims is whether the installed shims are asked for too.
	Shims bool
	// Last is the last job's check, of all valves in order; nil without one.
	Last []shim.Measurement
	// Attended is whether whoever answers sees the question first. Else all was
	// written before, and a reading that looks wrong is kept.
	Attended bool
	// Temperature is the engine's as it is measured; 0 is not known.
	Temperature shim.Temperature
	// Keep stores the measurements of all valves. A *[Refusal] takes the last
	// entry back; any other error ends the walk.
	Keep func(all []shim.Measurement) error
}

// A Refusal is why a check cannot be kept with an entry.
type Refusal struct{ Faults []Refused }

func (r *Refusal) Error() string { return r.Faults[0].Message }

// A Step asks one thing of one valve.
type Step struct {
	Valve int // its place in [shim.Engine.Valves]
	Place
}

// A Place is where a step is taken: a crank position, counted from 1 and 0
// where it is not known, or the shims of a camshaft.
type Place struct {
	Shims    bool
	Position int
	Camshaft string // empty where the shims are not reached by camshaft
}

// New begins a walk with what is measured already; valves that are not named
// are not measured.
func New(e *shim.Engine, measured []shim.Measurement, o Options) *Walk {
	w := &Walk{Engine: e, Measurements: whole(e, measured), Options: o, told: map[doubted]bool{}, reread: map[int]bool{}}
	for _, m := range w.Measurements {
		w.begun = append(w.begun, m.Marks)
	}
	w.list()
	for _, s := range w.Suspicions() {
		w.told[doubted{s.Valve, s.Reason}] = true
	}
	return w
}

func whole(e *shim.Engine, some []shim.Measurement) []shim.Measurement {
	valves := e.Valves()
	all := make([]shim.Measurement, len(valves))
	for at, v := range valves {
		all[at].Valve = v
	}
	for _, m := range some {
		if at, found := e.Find(m.Valve); found {
			all[at] = m
		}
	}
	return all
}

// list lists the steps: the clearances by crank position, then the shims by
// camshaft.
func (w *Walk) list() {
	positions, err := crank.Plan(w.Engine)
	for i, p := range positions {
		for _, v := range p.Valves {
			at, _ := w.Engine.Find(v)
			w.steps = append(w.steps, Step{at, Place{Position: i + 1}})
		}
	}
	w.Positions = positions
	if err != nil { // no firing order
		for at := range w.Measurements {
			w.steps = append(w.steps, Step{at, Place{}})
		}
	}
	if w.Shims {
		w.steps = append(w.steps, w.sizes()...)
	}
	if len(w.Only) > 0 {
		w.steps = slices.DeleteFunc(w.steps, func(s Step) bool { return !w.Only[s.Valve] })
	}
	w.at = -1
	w.advance()
}

// sizes are the steps that ask for shims.
func (w *Walk) sizes() []Step {
	var steps []Step
	cams := w.Engine.CamshaftList()
	for at, m := range w.Measurements {
		s := Step{at, Place{Shims: true}}
		for _, cam := range cams {
			if w.Engine.Access == shim.ByCamshaft && w.Engine.Covers(cam, m.Valve) {
				s.Camshaft = cam.Name
			}
		}
		steps = append(steps, s)
	}
	rank := func(s Step) int {
		return slices.IndexFunc(cams, func(c shim.Camshaft) bool { return c.Name == s.Camshaft })
	}
	slices.SortStableFunc(steps, func(a, b Step) int { return cmp.Compare(rank(a), rank(b)) })
	return steps
}

// filled reports whether the step has nothing to ask any more.
func (w *Walk) filled(s Step) bool {
	m := w.Measurements[s.Valve]
	if s.Shims {
		return m.Size() != 0
	}
	return m.Reading.Kind != shim.Unread
}

// advance goes to the next step that has something to ask.
func (w *Walk) advance() {
	w.asked = nil
	for w.at++; w.at < len(w.steps) && len(w.Only) == 0 && w.filled(w.steps[w.at]); w.at++ {
	}
}

// Done reports whether nothing is asked any more.
func (w *Walk) Done() bool { return w.left || w.at >= len(w.steps) }

// Left reports whether the walk was ended before its last step.
func (w *Walk) Left() bool { return w.left }

// Spare is a line that was typed when all was asked, empty without one.
func (w *Walk) Spare() string { return w.spare }

// An Asking is what a walk asks for.
type Asking struct {
	Step
	Now      shim.Measurement // what is kept of the valve so far
	Limits   shim.Limits      // of the valve
	Close    bool             // whether the valve is so close to its lobe that the figure is doubtful
	Question bool             // whether an answer is asked for instead of a figure
}

// Asks is what the walk asks for. It must not be done.
func (w *Walk) Asks() Asking {
	s := w.steps[w.at]
	a := Asking{Step: s, Now: w.Measurements[s.Valve], Limits: w.limits(s), Question: w.asked != nil}
	if s.Position > 0 {
		a.Close = slices.Contains(w.Positions[s.Position-1].Doubtful, a.Now.Valve)
	}
	return a
}

// Heading is the place of the step at hand, and whether it is another than it
// was at the last call. The walk must not be done.
func (w *Walk) Heading() (p Place, changed bool) {
	p = w.steps[w.at].Place
	changed = p != w.headed
	w.headed = p
	return p, changed
}

// limits are those of the step's valve.
func (w *Walk) limits(s Step) shim.Limits {
	return w.Engine.TrainOf(w.Measurements[s.Valve].Valve).Limits
}

// Missing lists the valves without a clearance, and those without a shim.
func (w *Walk) Missing() (clearances, shims []shim.Valve) {
	for _, m := range w.Measurements {
		if m.Reading.Kind == shim.Unread {
			clearances = append(clearances, m.Valve)
		}
		// A build may have none, if the gap leaves room for one.
		if m.Size() == 0 && (!w.Build || w.Engine.TrainOf(m.Valve).ImplausibleSetUp(m.Reading, 0, w.Engine.Units.Clearance) != nil) {
			shims = append(shims, m.Valve)
		}
	}
	return clearances, shims
}

// Suspicions lists what looks wrong so far.
func (w *Walk) Suspicions() []recheck.Suspicion {
	var known, recalled []shim.Measurement
	for i, m := range w.Measurements {
		if m.Reading.Kind == shim.Unread && m.Size() == 0 {
			continue
		}
		known = append(known, m)
		if m.Size() == 0 && w.Last != nil {
			// Until the shims are seen they are those of the last check.
			m.Marks = w.Last[i].Marks
		}
		recalled = append(recalled, m)
	}
	rules := recheck.UsualRules
	rules.Build = w.Build
	found := recheck.Suspects(w.Engine, known, nil, rules)
	if w.Last != nil && !w.Build {
		moved := recheck.Suspects(w.Engine, recalled, w.Last, rules)
		found = append(found, slices.DeleteFunc(moved, func(s recheck.Suspicion) bool { return s.Reason != recheck.Moved && s.Reason != recheck.SumMoved })...)
	}
	return found
}
