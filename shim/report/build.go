package report

import (
	"fmt"
	"slices"
	"strings"

	"shimwright/shim"
	"shimwright/shim/plan"
)

// buildLine begins the summary of a fresh build.
func buildLine(j *plan.JobPlan) string {
	setUp, none, own := 0, 0, 0
	for k := range j.Valves {
		switch v := &j.Valves[k]; {
		case !v.SetUp:
			own++
		case v.Installed == 0:
			none++
		default:
			setUp++
		}
	}
	line := fmt.Sprintf("Fresh build: %s a shim", shim.Count(setUp+none, "valve gets", "valves get"))
	switch {
	case none == 0 && setUp > 0:
		line += "; the set-up shims go back to the bench set"
	case setUp == 0 && none > 0:
		line += ", measured without one"
	case none > 0:
		line += fmt.Sprintf("; %d measured over set-up shims of the bench set, %d without a shim", setUp, none)
	}
	if own > 0 {
		line += fmt.Sprintf("; %d have theirs", own)
	}
	return line + "."
}

// setUpRow says what is in a valve of a fresh build, where a reading tells nothing
// of its limits.
func setUpRow(row []string, v *plan.ValvePlan) {
	row[colStatus], row[colExpected], row[colToLimit] = "set-up", "", ""
	if v.Installed == 0 {
		row[colStatus], row[colShim] = "no shim", ""
	}
}

// buildNotes say which allowances the expected clearances hold, and how far shims
// have to stand proud of their spring cups.
func buildNotes(j *plan.JobPlan) []string {
	if !j.Build {
		return nil
	}
	u := j.Units.Clearance
	var notes, list, proud []string
	seen := map[string]bool{}
	for k := range j.Valves {
		v := &j.Valves[k]
		name := trainName(v.Valve)
		if v.Allowance == (shim.Allowance{}) || seen[name] {
			continue
		}
		seen[name] = true
		text := name + " " + signed(u, v.Allowance.By, places(u)+1)
		if v.Allowance.Doubt != 0 {
			text += " ±" + show(u, v.Allowance.Doubt, places(u))
		}
		list = append(list, text)
	}
	for _, side := range shim.Sides {
		if t := j.Engine.Train(side); t.Valves > 0 && t.ShimProudMin != 0 {
			proud = append(proud, size(j.Units.Size, t.ShimProudMin)+" ("+side.String()+")")
		}
	}
	if len(list) > 0 {
		notes = append(notes, "expected: with the allowance of the engine file, "+strings.Join(list, ", ")+".")
	}
	if len(proud) > 0 {
		notes = append(notes, "Each new shim must stand proud of its spring cup, by at least "+strings.Join(proud, ", ")+": measure from its face to the rim of the cup.")
	}
	if slices.ContainsFunc(j.Valves, func(v plan.ValvePlan) bool {
		return v.Reason != nil && v.Reason.Machine != nil && !v.Reason.Machine.Seat
	}) {
		notes = append(notes, "Stem tips: ground square and by the manual, then measured again over a set-up shim. Never grind a shim.")
	}
	if slices.ContainsFunc(j.Valves, func(v plan.ValvePlan) bool { return v.SetUp && v.Installed != 0 }) {
		notes = append(notes, "Set-up shims go back to the bench set: they are not for the box, nor for another valve.")
	}
	return notes
}

// unsettled says what a recheck of a fresh build is compared with.
func (j *comparison) unsettled() string {
	var list []string
	seen := map[string]bool{}
	for i := range j.Valves {
		v := &j.Valves[i]
		if name := trainName(v.Valve); v.Allowance != 0 && !seen[name] {
			seen[name] = true
			list = append(list, name+" "+signed(j.Units.Clearance, v.Allowance, places(j.Units.Clearance)+1))
		}
	}
	if len(list) == 0 {
		return ""
	}
	return "Fresh build: limits and expected are for now, before the allowance has settled (" + strings.Join(list, ", ") + "). Measure again when the manual says so."
}

// trainName names the side of a valve, or its closers.
func trainName(v shim.Valve) string {
	if v.Closer {
		return v.Side.String() + " closer"
	}
	return v.Side.String()
}
