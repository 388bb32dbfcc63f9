package work

import (
	"slices"
	"strings"

	"shimwright/inventory"
	"shimwright/shim"
	"shimwright/shim/recheck"
)

// A StepKind is what comes next in a job.
type StepKind int

// Kinds of step.
const (
	NoStep         StepKind = iota // the job is at its end
	ReadAll                        // measure every valve before the fit
	ReadRest                       // Count valves are not read yet; or plan the others
	MakePlan                       // every valve is read
	PlanAgain                      // Count pieces that the plan counts on went from the box
	OrderPieces                    // Count pieces, and fit what is here
	AwaitPieces                    // Count pieces are on order; fit what is here
	FitAll                         // all of the plan
	FitRest                        // what is left of the plan
	ReadValves                     // Reasons; measure these again, no shim being to change
	FitAnother                     // Shut: no clearance with the shims that are in, the engine must not be turned
	RecheckAll                     // turn the engine over by hand, then measure every valve again
	RecheckValves                  // Reasons; measure these again
	PutRight                       // Faults, all of them shims in the wrong place or of another size
	LookAt                         // Faults[0], the likeliest, its Kinds and Reasons; then measure again
	RecheckOrPlan                  // Reasons; measure again, or plan again
	CloseJob                       // every valve is inside its limits
	CloseUnchanged                 // as CloseJob, and no shim was to change
)

// A Step is what comes next in a job, in no command's words.
type Step struct {
	Kind     StepKind
	Job      int64
	Count    int
	Reasons  []string // why valves are not proven, in words
	Faults   []recheck.Fault
	Remedies []recheck.Remedy // of Faults
	Trials   []Trial          // with any kind of step before a fit; these first
	Kinds    []recheck.Fault  // that Faults[0] may be, itself first: no reading tells them apart
	Shut     []shim.Valve
}

// Next finds what comes next in a job.
func Next(f inventory.File) Step {
	s := Step{Job: f.Job.ID}
	proven := len(f.Unproven) == 0
	switch f.Job.State {
	case inventory.StateOpen:
		s.Kind = ReadAll
	case inventory.StateMeasured:
		s.Count = unread(f)
		switch again := tried(f); {
		case proven:
			s.Kind = CloseJob
		case len(again) > 0:
			s.Kind, s.Reasons = ReadValves, again
		case s.Count > 0:
			s.Kind = ReadRest
		default:
			s.Kind = MakePlan
		}
	case inventory.StatePlanned, inventory.StateFitting:
		s.fit(f)
	case inventory.StateFitted:
		s.Kind = RecheckAll
		if f.Plan != nil && len(f.Plan.Placements) == 0 { // a trial shim alone: nobody knows what it leaves
			if s.Reasons = tried(f); len(s.Reasons) > 0 {
				s.Kind = RecheckValves
			}
		}
		if s.Shut = shut(f); len(s.Shut) > 0 {
			s.Kind = FitAnother
		}
	case inventory.StateRechecked:
		if s.rechecked(f); proven && s.Kind != PutRight {
			s = Step{Kind: CloseJob, Job: s.Job}
		}
	}
	return s
}

// shut lists the valves that have no clearance with the shims that are in them, where
// their limits want one.
func shut(f inventory.File) (list []shim.Valve) {
	for _, x := range f.Expected {
		if x.Clearance <= 0 && x.Clearance < f.Engine.Spec.TrainOf(x.Valve).Limits.Tight {
			list = append(list, x.Valve)
		}
	}
	return list
}

// fit finds what comes next where a plan stands.
func (s *Step) fit(f inventory.File) {
	missing, coming := 0, 0
	for _, p := range f.Purchases {
		missing += p.Missing()
		coming += p.Coming()
	}
	nothing := len(f.Left) == 0
	var again []string
	if f.Job.State == inventory.StatePlanned {
		again, s.Trials = tried(f), trials(f)
	}
	switch {
	case len(again) > 0:
		s.Kind, s.Reasons, s.Trials = ReadValves, again, nil
	case f.Job.Short > 0:
		s.Kind, s.Count = PlanAgain, f.Job.Short
	case nothing && len(f.Unproven) == 0:
		s.Kind = CloseUnchanged
	case nothing && f.Fitted != nil:
		s.Kind, s.Reasons = RecheckValves, f.Unproven
	case nothing:
		s.Kind, s.Reasons = ReadValves, f.Unproven
	case missing > 0:
		s.Kind, s.Count = OrderPieces, missing
	case coming > 0:
		s.Kind, s.Count = AwaitPieces, coming
	case f.Job.State == inventory.StateFitting:
		s.Kind = FitRest
	default:
		s.Kind = FitAll
	}
}

// rechecked finds what comes next once a job is measured after its fit, and not
// every valve is proven.
func (s *Step) rechecked(f inventory.File) {
	s.Reasons = f.Unproven
	s.explained(Diagnose(f))
	switch {
	case len(f.Unproven) == 0 && !s.misbooked():
		s.Kind = CloseJob // a note with the job is enough
	case s.Kind != NoStep:
	case strings.Contains(strings.Join(f.Unproven, ""), "not measured"), len(Undecided(f.Unproven)) == len(f.Unproven):
		s.Kind = RecheckValves
	default:
		s.Kind = RecheckOrPlan
	}
}

// Explained is the step that the likeliest fault asks for, in any state of the job and
// even where every valve is proven: [PutRight] or [LookAt], else [NoStep]. Gauge is nil
// where nobody states it.
func Explained(f inventory.File, gauge *shim.Gauge) Step {
	s := Step{Job: f.Job.ID}
	s.explained(explain(f, gauge))
	return s
}

// explained finds the step that the likeliest fault asks for.
func (s *Step) explained(j *recheck.ComparedJob) {
	if j == nil || !j.Faulty() {
		return
	}
	s.Faults, s.Kinds = j.Report.Explanations[0].Faults, j.Report.Lines()[0].Faults[0]
	for _, fault := range s.Faults {
		s.Remedies = append(s.Remedies, j.Remedy(fault))
	}
	switch shims := ofShims(s.Faults); {
	case !shims || !j.Sure():
		s.Kind = LookAt
	case s.asks():
		s.Kind = PutRight
	}
}

// Undecided are the reasons of the valves whose reading lies across a limit: a
// leaf decides, and no plan.
func Undecided(reasons []string) []string {
	return slices.DeleteFunc(slices.Clone(reasons), func(why string) bool { return !strings.Contains(why, "is undecided") })
}

// misbooked reports whether the record has shims where they would leave a valve outside.
func (s *Step) misbooked() bool {
	for i, fault := range s.Faults {
		if fault.Kind == recheck.Exchanged && len(s.Remedies[i].Outside) > 0 {
			return true
		}
	}
	return false
}

// asks reports whether a fault is to be booked before anything else: a valve that is
// inside its limits may keep a shim of another size.
func (s *Step) asks() bool {
	for i, fault := range s.Faults {
		if fault.Kind == recheck.Exchanged || s.Remedies[i].Open {
			return true
		}
	}
	return false
}

// ofShims reports whether nothing but shims is wrong, so that they are put right.
func ofShims(faults []recheck.Fault) bool {
	return len(faults) > 0 && !slices.ContainsFunc(faults, func(f recheck.Fault) bool { return !f.OfShims() })
}

// unread counts the valves that no check has.
func unread(f inventory.File) int {
	read := map[shim.Valve]bool{}
	for _, c := range f.Checks {
		for _, m := range c.Readings {
			read[m.Valve] = read[m.Valve] || m.Reading.Kind != shim.Unread
		}
	}
	n := 0
	for _, v := range f.Engine.Spec.Valves() {
		if !read[v] {
			n++
		}
	}
	return n
}
