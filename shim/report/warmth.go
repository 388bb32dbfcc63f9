package report

import (
	"fmt"

	"shimwright/shim"
	"shimwright/shim/plan"
)

// warmth says what comes of the temperatures that the job was measured at.
func warmth(j *plan.JobPlan) []string {
	var lines []string
	if j.Engine.State == shim.Warm {
		lines = append(lines, "Measured warm, and judged by the limits for a warm engine.")
	}
	said := map[shim.Temperature]bool{}
	for k := range j.Valves {
		v := &j.Valves[k]
		if v.Warmth == shim.InsideWindow || said[v.Temperature] {
			continue
		}
		said[v.Temperature] = true
		at := "CAUTION: measured at " + v.Temperature.String()
		if b := j.Engine.Before; b != nil && b.Temperature != nil {
			at += ", outside " + b.Temperature.String()
		}
		if v.Warmth == shim.NotConverted {
			lines = append(lines, at+". The engine file has no table that reaches it, so nothing is converted: measure again inside the window.")
			continue
		}
		by, way := v.Reading.Shifted, "larger"
		if by < 0 {
			by, way = -by, "smaller"
		}
		lines = append(lines, fmt.Sprintf("%s. By the maker's table in the engine file the readings count as %s %s %s, open by %s.", at,
			show(j.Units, by, places(j.Units)), j.Units, way, show(j.Units, v.Reading.Open, places(j.Units))))
	}
	return lines
}
