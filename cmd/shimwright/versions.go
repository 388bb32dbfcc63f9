package main

import (
	"fmt"
	"reflect"
	"strings"

	"shimwright/inventory"
	"shimwright/shim"
)

// An edition is the place of an engine among the versions of its model.
type edition struct{ number, of int }

func (v edition) older() bool { return v.number < v.of }

// text is empty for the newest version.
func (v edition) text() string {
	if !v.older() {
		return ""
	}
	return fmt.Sprintf("version %d of %d", v.number, v.of)
}

// versions places every engine by its number.
func versions(engines []inventory.Engine) map[int64]edition {
	places := map[int64]edition{}
	for _, e := range engines {
		list := inventory.Versions(engines, e.Spec.Name)
		for i, v := range list {
			if v.ID == e.ID {
				places[e.ID] = edition{i + 1, len(list)}
			}
		}
	}
	return places
}

// takesOlder asks where an engine file is an older version of its model than
// the shop has.
func (b *bench) takesOlder(engines []inventory.Engine, spec *shim.Engine, source, name string, yes bool) error {
	known, had := inventory.KnownEngine(engines, *spec, source)
	place := versions(engines)[known.ID]
	if !had || !place.older() || name == fmt.Sprint(known.ID) {
		return nil
	}
	list := inventory.Versions(engines, spec.Name)
	newest := list[len(list)-1]
	return b.confirm([]doubtful{{
		fmt.Sprintf("%s is %s of %s; the newest has %s", name, place.text(), spec.Name, differs(spec, &newest.Spec)),
		fmt.Sprintf("for the newest name the model: --engine %q", newest.Spec.Name),
	}}, yes)
}

// newVersion says what a version that the shop has not had yet changes, and
// which jobs at work go by an older one.
func newVersion(engines []inventory.Engine, jobs []inventory.Job, spec *shim.Engine, source string) []string {
	list := inventory.Versions(engines, spec.Name)
	if _, had := inventory.KnownEngine(engines, *spec, source); had || len(list) == 0 {
		return nil
	}
	lines := []string{fmt.Sprintf("This is a new version of %s: %s.", spec.Name, differs(&list[len(list)-1].Spec, spec))}
	for _, j := range jobs {
		if inventory.SameModel(j.Name, spec.Name) && !j.State.Final() {
			lines = append(lines, fmt.Sprintf("Job %d goes by an older one. To let it go by the new one: shimwright job edit %d --engine %q", j.ID, j.ID, spec.Name))
		}
	}
	return lines
}

// differs names what another version of an engine has different.
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
		add(side.String()+" limits", limitsText(x.Limits, u), limitsText(y.Limits, u))
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
		{"camshafts", old.SharedCams, now.SharedCams},
		{"banks", old.Banks, now.Banks},
		{"valve timing", []*shim.Timing{old.Intake.Timing, old.Exhaust.Timing}, []*shim.Timing{now.Intake.Timing, now.Exhaust.Timing}},
		{"valves", []int{old.Intake.Valves, old.Exhaust.Valves}, []int{now.Intake.Valves, now.Exhaust.Valves}},
		{"shim diameter", old.Diameter, now.Diameter},
		{"catalogue", old.Catalogue, now.Catalogue},
		{"gauge", old.Gauge, now.Gauge},
	} {
		if !reflect.DeepEqual(other.was, other.is) {
			parts = append(parts, "another entry for "+other.name)
		}
	}
	if parts == nil {
		return "the same figures in another text"
	}
	return strings.Join(parts, "; ")
}
