package report

import (
	"encoding/csv"
	"io"
	"strconv"

	"shimwright/shim"
	"shimwright/shim/plan"
)

// csvHeader names the columns of [CSV], with the names of the JSON contract.
var csvHeader = []string{
	"job", "engine", "valve", "tight_mm", "loose_mm", "aim_mm", "clearance_mm", "installed_mm", "verdict",
	"open", "action", "shim_mm", "from", "predicted_mm", "near", "reason",
}

// CSV writes one row a valve, lengths in mm.
func CSV(w io.Writer, p *plan.Plan) error {
	out := csv.NewWriter(w)
	if err := out.Write(csvHeader); err != nil {
		return err
	}
	optional := func(l *shim.Length) string {
		if l == nil {
			return ""
		}
		return l.String()
	}
	for i := range p.Jobs {
		j := &p.Jobs[i]
		for k := range j.Valves {
			v := valve(&j.Valves[k])
			from := ""
			if v.From != nil {
				from = v.From.String()
			}
			err := out.Write([]string{
				j.Job, j.Engine.Name, v.Valve.String(), v.Tight.String(), v.Loose.String(), v.Aim.String(), optional(v.Clearance),
				v.Installed.String(), v.Verdict.String(), strconv.FormatBool(v.Open), v.Action.String(), v.Shim.String(),
				from, optional(v.Predicted), strconv.FormatBool(v.Near), v.Reason,
			})
			if err != nil {
				return err
			}
		}
	}
	out.Flush()
	return out.Error()
}
