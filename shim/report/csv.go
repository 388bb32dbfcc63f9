package report

import (
	"encoding/csv"
	"io"
	"slices"
	"strconv"

	"shimwright/shim"
	"shimwright/shim/plan"
	"shimwright/shim/report/reason"
)

// csvHeader names the columns of [CSV], with the names of the JSON contract.
var csvHeader = []string{
	"job", "engine", "valve", "tight_mm", "loose_mm", "aim_mm", "clearance_mm", "installed_mm", "verdict",
	"open", "action", "shim_mm", "from", "predicted_mm", "near", "reason",
}

// CSV writes one row a valve, lengths in mm. A plan that moves a shim from job
// to job has one column more that names the job, and so has a provisional plan. That of
// a fresh build says which shims are set-up shims, and the allowances. Where shims
// do not bear their size, their marks stand last.
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
	build := slices.ContainsFunc(p.Jobs, func(j plan.JobPlan) bool { return j.Build })
	if build {
		header = append(header, "set_up", "allowance_mm", "allowance_doubt_mm")
	}
	marked := slices.ContainsFunc(p.Jobs, func(j plan.JobPlan) bool { return j.Engine.Marked() })
	if marked {
		header = append(header, "installed_mark", "mark")
	}
	if err := out.Write(header); err != nil {
		return err
	}
	optional := func(l shim.Length, known bool) string {
		if !known {
			return ""
		}
		return l.String()
	}
	for i := range p.Jobs {
		j := &p.Jobs[i]
		for k := range j.Valves {
			v := &j.Valves[k]
			from, other := "", ""
			if v.From != nil {
				from, other = v.From.Valve.String(), p.OtherJob(j, *v.From)
			}
			cells := []string{
				shim.SheetText(j.Job), shim.SheetText(j.Engine.Name), v.Valve.String(), v.Limits.Tight.String(), v.Limits.Loose.String(), v.Aim.String(), optional(v.Clearance, v.Measured),
				optional(v.Installed, v.Installed != 0), v.Verdict.String(), strconv.FormatBool(v.Open), v.Action.String(), optional(v.Size, v.Size != 0),
				from, optional(v.Expected, v.Measured), strconv.FormatBool(v.Near), shim.SheetText(reason.Text(v, j.Units.Clearance, j.Units.Size, j.Engine.MarksOf(v.Valve)...)),
			}
			if shared {
				cells = append(cells, shim.SheetText(other))
			}
			if p.Provisional() {
				cells = append(cells, strconv.FormatBool(j.Provisional))
			}
			cells = append(cells, strconv.FormatBool(v.Undecided))
			if build {
				cells = append(cells, strconv.FormatBool(v.SetUp), v.Allowance.By.String(), v.Allowance.Doubt.String())
			}
			if marked {
				cells = append(cells, shim.SheetText(j.Mark(v.Valve, v.Installed)), shim.SheetText(j.Mark(v.Valve, v.Size)))
			}
			if err := out.Write(cells); err != nil {
				return err
			}
		}
	}
	out.Flush()
	return out.Error()
}

// sharesShims reports whether a shim goes from one job to another.
func sharesShims(p *plan.Plan) bool {
	for i := range p.Jobs {
		for k := range p.Jobs[i].Valves {
			if from := p.Jobs[i].Valves[k].From; from != nil && from.Job != i {
				return true
			}
		}
	}
	return false
}
