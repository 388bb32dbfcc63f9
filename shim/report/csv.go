package report

import (
	"encoding/csv"
	"io"
	"slices"
	"strconv"

	"shimwright/shim"
	"shimwright/shim/plan"
)

// csvHeader names the columns of [CSV], with the names of the JSON contract.
var csvHeader = []string{
	"job", "engine", "valve", "tight_mm", "loose_mm", "aim_mm", "clearance_mm", "installed_mm", "verdict",
	"open", "action", "shim_mm", "from", "predicted_mm", "near", "reason",
}

// CSV writes one row a valve, lengths in mm. A provisional plan has one column
// more that says so.
func CSV(w io.Writer, p *plan.Plan) error {
	out := csv.NewWriter(w)
	header := csvHeader
	if p.Provisional() {
		header = append(slices.Clone(header), "provisional")
	}
	if err := out.Write(header); err != nil {
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
			cells := []string{
				j.Job, j.Engine.Name, v.Valve.String(), v.Tight.String(), v.Loose.String(), v.Aim.String(), optional(v.Clearance),
				optional(v.Installed), v.Verdict.String(), strconv.FormatBool(v.Open), v.Action.String(), optional(v.Shim),
				from, optional(v.Predicted), strconv.FormatBool(v.Near), v.Reason,
			}
			if p.Provisional() {
				cells = append(cells, strconv.FormatBool(j.Provisional))
			}
			if err := out.Write(cells); err != nil {
				return err
			}
		}
	}
	out.Flush()
	return out.Error()
}
