package main

import (
	"fmt"
	"reflect"
	"slices"
	"strings"

	"shimwright/inventory"
	"shimwright/inventory/work"
	"shimwright/shim"
)

// editionText is empty for the newest version.
func editionText(v work.Edition) string {
	if !v.Older() {
		return ""
	}
	return fmt.Sprintf("version %d of %d", v.Number, v.Of)
}

// takesOlder asks before it takes an engine file that is an older version of a
// model than the shop has.
func (a *app) takesOlder(engines []inventory.Engine, spec *shim.Engine, source, name string, yes bool) error {
	place, named := work.EditionOf(engines, spec, source, name)
	if !place.Older() || named {
		return nil
	}
	newest := work.Newest(engines, spec.Name, spec.State)
	return a.confirm([]doubtful{{
		fmt.Sprintf("%s is %s of %s; the newest has %s", name, editionText(place), spec.Name, differs(spec, &newest.Spec)),
		fmt.Sprintf("for the newest version give the model: --engine %q", newest.Spec.Name),
	}}, yes)
}

// newVersion says what a version that is new to the shop changes, and which open
// jobs use an older one.
func newVersion(engines []inventory.Engine, jobs []inventory.Job, spec *shim.Engine, source string) []string {
	old, behind := work.Replaced(engines, jobs, spec, source)
	if old == nil {
		return nil
	}
	lines := []string{fmt.Sprintf("This is a new version of %s: %s.", spec.Name, differs(&old.Spec, spec))}
	for _, j := range behind {
		own := slices.IndexFunc(engines, func(e inventory.Engine) bool { return e.ID == j.Engine })
		if own >= 0 && !inventory.SameParts(&engines[own].Spec, spec) {
			lines = append(lines, fmt.Sprintf("Job %d keeps its older version: the new one has other valves or shims.", j.ID))
			continue
		}
		lines = append(lines, fmt.Sprintf("Job %d uses an older version. To use the new one: shimwright job edit %d --engine %q", j.ID, j.ID, spec.Name))
	}
	return lines
}

// differs lists the differences between two versions of an engine.
func differs(old, now *shim.Engine) string {
	var parts []string
	u := now.Units
	add := func(name, was, is string) {
		if was != is {
			parts = append(parts, fmt.Sprintf("%s %s, was %s", name, is, was))
		}
	}
	for _, side := range []shim.Side{shim.Intake, shim.Exhaust} {
		x, y := old.Train(side), now.Train(side)
		add(side.String()+" limits", limitsText(x.Limits, u.Clearance), limitsText(y.Limits, u.Clearance))
		add(side.String()+" aim", fmt.Sprint(x.AimAt), fmt.Sprint(y.AimAt))
		add(side.String()+" ratio", fmt.Sprint(x.Ratio), fmt.Sprint(y.Ratio))
	}
	for _, other := range []struct {
		name    string
		was, is any
	}{
		{"units", old.Units, now.Units},
		{"cylinders", old.Cylinders, now.Cylinders},
		{"firing order", old.FiringOrder, now.FiringOrder},
		{"firing intervals", old.FiringIntervals, now.FiringIntervals},
		{"access", old.Access, now.Access},
		{"depress offset", old.DepressOffset, now.DepressOffset},
		{"camshafts", old.SharedCams, now.SharedCams},
		{"banks", old.Banks, now.Banks},
		{"valve timing", []*shim.Timing{old.Intake.Timing, old.Exhaust.Timing}, []*shim.Timing{now.Intake.Timing, now.Exhaust.Timing}},
		{"valves", []int{old.Intake.Valves, old.Exhaust.Valves}, []int{now.Intake.Valves, now.Exhaust.Valves}},
		{"shim diameter", old.Diameter, now.Diameter},
		{"shim family", old.Kind, now.Kind},
		{"closers", []*shim.Closer{old.Intake.Closer, old.Exhaust.Closer}, []*shim.Closer{now.Intake.Closer, now.Exhaust.Closer}},
		{"catalogue", old.Catalogue, now.Catalogue},
		{"gauge", old.Gauge, now.Gauge},
		{"limits in the other state", []*shim.Limits{old.Intake.OtherLimits, old.Exhaust.OtherLimits}, []*shim.Limits{now.Intake.OtherLimits, now.Exhaust.OtherLimits}},
		{"how two readings count", old.Readings, now.Readings},
		{"the work before measuring", old.Before, now.Before},
		{"the state that the file is written for", old.Own(), now.Own()},
	} {
		if !reflect.DeepEqual(other.was, other.is) {
			parts = append(parts, other.name+" changed")
		}
	}
	for _, v := range now.Valves() {
		if changed := marksChanged(old.MarksOf(v), now.MarksOf(v), u.Size); changed != "" && !slices.Contains(parts, changed) {
			parts = append(parts, changed)
		}
	}
	if parts == nil {
		return "the same values, written differently"
	}
	return strings.Join(parts, "; ")
}

// fewMarks is how many changed marks are named.
const fewMarks = 4

// marksChanged names the marks of a family that two versions read differently.
func marksChanged(old, now shim.MarkList, u shim.Unit) string {
	sizes := func(l shim.MarkList, text string) (list []shim.Length) {
		for _, m := range l {
			if m.Text == text {
				list = append(list, m.Size)
			}
		}
		return list
	}
	shown := func(list []shim.Length) string {
		if len(list) == 0 {
			return "none"
		}
		return shim.Meaning{Among: list}.Sizes(u)
	}
	var texts, parts []string
	for _, m := range slices.Concat(old, now) {
		if !slices.Contains(texts, m.Text) {
			texts = append(texts, m.Text)
			if was, is := sizes(old, m.Text), sizes(now, m.Text); !slices.Equal(was, is) {
				parts = append(parts, fmt.Sprintf("%s %s, was %s", m.Text, shown(is), shown(was)))
			}
		}
	}
	if more := len(parts) - fewMarks; more > 0 {
		parts = append(parts[:fewMarks], fmt.Sprintf("and %d more", more))
	}
	if parts == nil {
		return ""
	}
	return "marks changed: " + strings.Join(parts, ", ")
}
