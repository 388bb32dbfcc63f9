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

// CSV writes one row a valve, lengths in mm. A plan that moves a shim from job
// to job has one column more that names the job, and so has a provisional plan.
func CSV(w io.Writer, p *plan.Plan) error {
	out := csv.NewWriter(w)
	header := slices.Clone(csvHeader)
	shared := sharesShims(p)
	if shared {
		header = append(header, "from_job")
	}
	if p.Provisional() {
		header = append(header, "provisional")
	}
	header = append(header, "undecided")
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
				shim.SheetText(j.Job), shim.SheetText(j.Engine.Name), v.Valve.String(), v.Tight.String(), v.Loose.String(), v.Aim.String(), optional(v.Clearance),
				optional(v.Installed), v.Verdict.String(), strconv.FormatBool(v.Open), v.Action.String(), optional(v.Shim),
				from, optional(v.Predicted), strconv.FormatBool(v.Near), shim.SheetText(v.Reason),
			}
			if shared {
				cells = append(cells, shim.SheetText(otherJob(p, j, &j.Valves[k])))
			}
			if p.Provisional() {
				cells = append(cells, strconv.FormatBool(j.Provisional))
			}
			cells = append(cells, strconv.FormatBool(v.Undecided))
			if err := out.Write(cells); err != nil {
				return err
			}
		}
	}
	out.Flush()
	return out.Error()
}

// otherJob names the job whose valve a shim was in, where that is another job
// than the one it goes to: by its engine where jobs have no names.
func otherJob(p *plan.Plan, j *plan.JobPlan, v *plan.Valve) string {
	if v.From == nil {
		return ""
	}
	return otherThan(p, j, *v.From)
}

// sharesShims tells whether a shim goes from one job to another.
func sharesShims(p *plan.Plan) bool {
	for i := range p.Jobs {
		for k := range p.Jobs[i].Valves {
			if otherJob(p, &p.Jobs[i], &p.Jobs[i].Valves[k]) != "" {
				return true
			}
		}
	}
	return false
}
