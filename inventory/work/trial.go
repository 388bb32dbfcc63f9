package work

import (
	"slices"

	"shimwright/inventory"
	"shimwright/shim"
	"shimwright/shim/plan"
)

// A Trial is a trial shim that a plan names for a valve without a number.
type Trial struct {
	Valve shim.Valve
	Size  shim.Length
	Where plan.Where // empty for one to buy
	Lends shim.Valve // with [plan.Borrowed]: it gets the valve's own shim meanwhile
}

// Trials lists the trial shims of a plan.
func Trials(j *plan.JobPlan) (list []Trial) {
	for i := range j.Valves {
		v := &j.Valves[i]
		switch r := v.Reason; {
		case r == nil:
		case r.Kind == plan.Trial:
			list = append(list, Trial{v.Valve, r.Size, r.Where, r.Valve})
		case r.Kind == plan.TrialBought:
			list = append(list, Trial{Valve: v.Valve, Size: r.Size})
		}
	}
	return list
}

// trials lists those of the plan that stands which are not fitted yet.
func trials(f inventory.File) []Trial {
	if f.Plan == nil {
		return nil
	}
	p, err := PlanOf(f, f.Plan)
	if err != nil {
		return nil // the plan is older than what is read here
	}
	return slices.DeleteFunc(Trials(&p.Jobs[0]), func(t Trial) bool {
		return slices.ContainsFunc(f.Standing, func(m inventory.Movement) bool { return m.Valve == t.Valve && m.Seq > f.Plan.Seq })
	})
}

// tried lists why valves without a number are not proven whose shim was changed since
// the plan or, without one, the last check: they are measured before anything else.
func tried(f inventory.File) (reasons []string) {
	var since int64
	for _, c := range f.Checks {
		since = max(since, c.Seq)
	}
	if f.Plan != nil {
		since = max(since, f.Plan.Seq)
	}
	for _, s := range f.Seats {
		if s.Empty {
			return nil
		}
		if slices.ContainsFunc(f.Expected, func(x inventory.Expected) bool { return x.Valve == s.Valve }) {
			continue // its last reading tells what this shim leaves
		}
		for _, m := range f.Standing {
			if m.Valve == s.Valve && m.Seq > since && m.Kind == inventory.KindFitted {
				reasons = append(reasons, s.Valve.String()+" is not measured since its shim was changed")
				break
			}
		}
	}
	return reasons
}
