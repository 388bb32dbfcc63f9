package report

import (
	"fmt"
	"slices"

	"shimwright/shim"
	"shimwright/shim/plan"
)

// warm is what is known of the temperature of a valve's reading.
type warm struct {
	Valve       shim.Valve
	Reading     shim.Reading
	Temperature shim.Temperature
	Warmth      shim.TemperatureNote
}

// warmth says what comes of the temperatures that the job was measured at.
func warmth(j *plan.JobPlan) []string {
	list := make([]warm, len(j.Valves))
	for k := range list {
		v := &j.Valves[k]
		list[k] = warm{v.Valve, v.Reading, v.Temperature, v.Warmth}
	}
	return warmthOf(j.Engine, j.Units.Clearance, list)
}

// warmth is the same of the readings after the fit.
func (j *comparison) warmth() []string {
	list := make([]warm, len(j.Valves))
	for k := range list {
		v := &j.Valves[k]
		list[k] = warm{v.Valve, v.Reading, v.Temperature, v.Warmth}
	}
	return warmthOf(j.Engine, j.Units.Clearance, list)
}

// Warmth says the same of readings, as they were taken.
func Warmth(e *shim.Engine, u shim.Unit, readings []shim.Measurement) []string {
	list := make([]warm, len(readings))
	for k, m := range readings {
		m, note := e.AtLimits(m)
		list[k] = warm{m.Valve, m.Reading, m.Temperature, note}
	}
	return warmthOf(e, u, list)
}

func warmthOf(e *shim.Engine, u shim.Unit, list []warm) []string {
	var lines []string
	if e.State == shim.Warm {
		lines = append(lines, "Measured warm, and judged by the limits for a warm engine.")
	}
	type what struct {
		at     shim.Temperature
		note   shim.TemperatureNote
		closer bool // of a table, which goes for openers only
	}
	told := func(v warm) what {
		return what{v.Temperature, v.Warmth, v.Warmth == shim.NotConverted && v.Valve.Closer && e.Before.Reaches(v.Temperature)}
	}
	said := map[what]bool{}
	for _, v := range list {
		key := told(v)
		if v.Warmth == shim.InsideWindow || said[key] {
			continue
		}
		said[key] = true
		at := "CAUTION: " + measuredThen(list, func(v warm) bool { return told(v) == key }) + " at " + v.Temperature.String()
		if b := e.Before; b != nil && b.Temperature != nil {
			at += ", outside " + b.Temperature.String()
		}
		if v.Warmth == shim.NotConverted {
			line := at + ". The engine file has no table that reaches it, so nothing is converted: measure again inside the window."
			if key.closer {
				line = at + ". The maker's table is for openers: a closer is never converted, measure it again inside the window."
			}
			if open := v.Reading.Open; open > 0 {
				line += fmt.Sprintf(" Until then each clearance counts as open by %s %s more.", show(u, open, places(u)), u)
			}
			lines = append(lines, line)
			continue
		}
		by, way := v.Reading.Shifted, "larger"
		if by < 0 {
			by, way = -by, "smaller"
		}
		lines = append(lines, fmt.Sprintf("%s. By the maker's table in the engine file the readings count as %s %s %s, open by %s.", at,
			show(u, by, places(u)), u, way, show(u, v.Reading.Open, places(u))))
	}
	return lines
}

// measuredThen begins a sentence of those that are meant, which need no names where
// they are all that was measured.
func measuredThen(list []warm, meant func(warm) bool) string {
	var them, others []shim.Valve
	for _, v := range list {
		if v.Reading.Kind == shim.Unread {
			continue
		}
		if meant(v) {
			them = append(them, v.Valve)
		} else {
			others = append(others, v.Valve)
		}
	}
	others = slices.DeleteFunc(others, func(v shim.Valve) bool { return slices.Contains(them, v) })
	closers := func(list []shim.Valve, is bool) bool {
		return !slices.ContainsFunc(list, func(v shim.Valve) bool { return v.Closer != is })
	}
	switch {
	case len(others) == 0:
		return "measured"
	case closers(them, true) && closers(others, false):
		return "closers measured"
	case closers(them, false) && closers(others, true):
		return "openers measured"
	}
	slices.SortFunc(them, shim.Valve.Compare)
	return names(slices.Compact(them)) + " measured"
}
