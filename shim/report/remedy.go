package report

import (
	"fmt"
	"slices"
	"strings"

	"shimwright/shim"
	"shimwright/shim/crank"
	"shimwright/shim/recheck"
)

// remedies says what to do about the faults of the first explanation, one of them at
// least a fault of shims. again is the command that plans again.
func (j *comparison) remedies(t tally, again string) []string {
	var list, home []string
	var moved []recheck.Fault
	replan, stay := false, false
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
			moved = append(moved, f)
			for i, v := range f.Valves {
				home = append(home, sizeAt(j.Units.Size, j.Engine, v, f.Own(i))+" into "+v.String())
			}
		default:
			list = append(list, j.leave(f, r, again))
			replan, stay = replan || r.Open, true
		}
	}
	switch {
	case len(home) > 0:
		each := "Put each shim where it belongs: "
		if stay {
			each = "Put each of the others where it belongs: "
		}
		list = append(list, each+strings.Join(home, ", ")+". Mic each on the way.")
		return append(append(list, j.reach(moved)...),
			"Then turn the engine over several times by hand, measure these valves and recheck again.")
	case !replan && t.outside+t.unread+t.undecided > 0:
		return append(list, "Measure the valves without a number or outside their limits, and recheck again.")
	}
	return list
}

// reach says where shims on top can change places: no valve may be without one while the
// crank is turned.
func (j *comparison) reach(moved []recheck.Fault) []string {
	if j.Engine.Access != shim.ByValve {
		return nil
	}
	var text string
	var apart []string
	openings, err := crank.NewOpenings(j.Engine)
	for _, f := range moved {
		if err == nil {
			if at, together := openings.Position(f.Valves); together {
				text += fmt.Sprintf("%s can be opened together with the crank at %s, %s. ", names(f.Valves), Degrees(at.Degrees), at.Mark)
				continue
			}
		}
		apart = append(apart, names(f.Valves))
	}
	if len(apart) > 0 {
		if err == nil {
			text += fmt.Sprintf("No crank position opens all of %s: let another shim that leaves a clearance sit in one of them meanwhile. ", strings.Join(apart, ", nor of "))
		} else {
			text += "Let another shim that leaves a clearance sit in a valve while its own is out. "
		}
	}
	return []string{text + "Never turn the crank while a valve has no shim fitted."}
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

// suspected says what to do where a fault is likely, but not sure or not one of shims.
func (j *comparison) suspected(again string) []string {
	var valves []shim.Valve
	if j.Faulty() {
		faults := j.Report.Explanations[0].Faults
		if slices.ContainsFunc(faults, func(f recheck.Fault) bool { return f.Kind == recheck.GaugeOffset }) {
			return []string{"Check the gauge before you take anything apart. Then measure every valve again, and recheck."}
		}
		for _, f := range faults {
			valves = append(valves, f.Valves...)
		}
	}
	for i := range j.Valves {
		if v := &j.Valves[i]; v.Off || v.Verdict == shim.Tight || v.Verdict == shim.Loose {
			valves = append(valves, v.Valve)
		}
	}
	slices.SortFunc(valves, shim.Valve.Compare)
	valves = slices.Compact(valves)
	const most = 8
	measure := names(valves)
	if len(valves) > most {
		measure = "the valves that are off or outside their limits"
	}
	found := j.doubtful(again)
	right := "Put right what is wrong, turn"
	switch {
	case len(found) > 0 && len(valves) > 1:
		right = "Put right whatever else is wrong, turn"
	case len(found) > 0:
		right = "Then turn"
	}
	return append(append([]string{"Measure " + measure + " again before you take anything apart."}, found...),
		right+" the engine over several times by hand, measure every valve and recheck again.")
}

// doubtful says what the limits ask for where the likeliest explanation, which is not
// sure, is found to be true.
func (j *comparison) doubtful(again string) []string {
	if !j.Faulty() {
		return nil
	}
	var list []string
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
	text := fmt.Sprintf("If %s reads the same, read the mark of its shim and mic it: if it is not %s, record what it is, another piece or another size, then plan again (%s)", valve, recorded, again)
	switch {
	case len(kinds) < 2:
	case f.Shift > 0 && valve.Closer:
		text += "; if it is, measure the gap with other leaves"
	case f.Shift > 0:
		text += "; if it is, look for dirt on the seat"
	default:
		text += "; if it is, it was not seated"
	}
	text += ". If shim and seat are right, mic the shim that came out: if that was misread, nothing is wrong in the engine, and the plan is to be made again from this reading."
	if len(j.Remedy(f).Outside) > 0 {
		text += fmt.Sprintf(" One that is %s would leave %s outside its limits, too.", recorded, valve)
	}
	return text
}
