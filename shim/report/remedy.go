package report

import (
	"fmt"
	"strings"

	"shimwright/shim/recheck"
)

// remedies says what to do about the faults of the first explanation, one of them at
// least a fault of shims. again is the command that plans again.
func (j *comparison) remedies(t tally, again string) []string {
	var list, home []string
	replan := false
	for i, f := range j.Report.Explanations[0].Faults {
		r := j.Remedy(f)
		switch {
		case f.Kind == recheck.WrongSize && !r.Open:
			list = append(list, fmt.Sprintf("The shim in %s may stay: the valve is inside its limits with it. Record its size when it is out next.", f.Valves[0]))
		case f.Kind == recheck.WrongSize:
			list = append(list, "Measure "+f.Valves[0].String()+" again before you take anything apart. "+j.resize(f, j.Report.Lines()[0].Faults[i], again))
			replan = true
		case f.Kind != recheck.Exchanged:
			if len(f.Valves) > 0 {
				list = append(list, "Measure "+names(f.Valves)+" again before you take anything apart there.")
			}
		case r.Move:
			for i, v := range f.Valves {
				home = append(home, sizeAt(j.Units.Size, j.Engine, v, f.Own(i))+" into "+v.String())
			}
		default:
			list = append(list, j.leave(f, r, again))
			replan = replan || r.Open
		}
	}
	switch {
	case len(home) > 0:
		each := "Put each shim where it belongs: "
		if len(list) > 0 {
			each = "Put each of the others where it belongs: "
		}
		return append(list, each+strings.Join(home, ", ")+". Measure it with a micrometer on the way.",
			"Then turn the engine over several times by hand, measure these valves and recheck again.")
	case !replan && t.outside+t.unread+t.undecided > 0:
		return append(list, "Measure the valves without a number or outside their limits, and recheck again.")
	}
	return list
}

// leave says that exchanged shims stay where they are, and why.
func (j *comparison) leave(f recheck.Fault, r recheck.Remedy, again string) string {
	shims := "the shims of " + names(f.Valves)
	switch {
	case len(r.Outside) == 0:
		return "Leave " + shims + " where they are: put back, they would do no better. Mend the record (in a shop with job correct), not the engine."
	case !r.Open:
		return "T" + shims[1:] + " lie better where they are: leave them. It is the record that is wrong: mend that (in a shop with job correct, or box undo of a wrong correction), not the engine."
	}
	return fmt.Sprintf("Leave %s where they are: put back, they would leave %s outside the limits. Mic each; if they are exchanged, record them as they are, then plan again (%s).", shims, names(r.Outside), again)
}

// doubtful says what the limits ask for where the likeliest explanation, which is not
// sure, is found to be true.
func (j *comparison) doubtful(again string) []string {
	var list []string
	if !j.Faulty() {
		return nil
	}
	for _, kinds := range j.Report.Lines()[0].Faults {
		for _, f := range kinds {
			switch r := j.Remedy(f); {
			case f.Kind == recheck.Exchanged && !r.Move && len(r.Outside) > 0:
				list = append(list, fmt.Sprintf("If the shims of %s are exchanged, leave them so and mend the record: put back, they would leave %s outside the limits.", names(f.Valves), names(r.Outside)))
			case f.Kind == recheck.WrongSize && r.Open:
				list = append(list, j.resize(f, kinds, again))
			}
		}
	}
	return list
}

// resize says what to do about a shim that is not its recorded size, in a valve that is
// not proven; the fault may be of any of the kinds.
func (j *comparison) resize(f recheck.Fault, kinds []recheck.Fault, again string) string {
	valve := f.Valves[0]
	at, _ := j.Engine.Find(valve)
	recorded := size(j.Units.Size, j.Valves[at].Size)
	text := fmt.Sprintf("If %s reads the same, mic its shim: if that is not %s, record what it is, then plan again (%s)", valve, recorded, again)
	switch {
	case len(kinds) < 2:
	case f.Shift > 0:
		text += "; if it is, look for dirt on the seat"
	default:
		text += "; if it is, it was not seated"
	}
	text += "."
	if len(j.Remedy(f).Outside) > 0 {
		text += fmt.Sprintf(" One that is %s would leave %s outside its limits, too.", recorded, valve)
	}
	return text
}
