package report

import (
	"encoding/json"
	"io"

	"shimwright/shim"
	"shimwright/shim/plan"
)

// planJSON and the types below it are the JSON contract of docs/json.md.
type planJSON struct {
	Policy   plan.Policy   `json:"policy"`
	Criteria plan.Criteria `json:"criteria"`
	Jobs     []jobJSON     `json:"jobs"`
	Shopping []boughtJSON  `json:"shopping"`
	Drawn    []lotJSON     `json:"drawn"`
	LeftOver []lotJSON     `json:"left_over"`
	Cautions []string      `json:"cautions"`
}

type jobJSON struct {
	Job    string      `json:"job"`
	Engine string      `json:"engine"`
	Lifted []string    `json:"lifted"`
	Valves []valveJSON `json:"valves"`
}

type valveJSON struct {
	Valve     shim.Valve   `json:"valve"`
	Tight     shim.Length  `json:"tight_mm"`
	Loose     shim.Length  `json:"loose_mm"`
	Aim       shim.Length  `json:"aim_mm"`
	Clearance *shim.Length `json:"clearance_mm"`
	Installed shim.Length  `json:"installed_mm"`
	Verdict   shim.Verdict `json:"verdict"`
	Open      bool         `json:"open"`
	Action    plan.Action  `json:"action"`
	Shim      shim.Length  `json:"shim_mm"`
	From      *shim.Valve  `json:"from"`
	Predicted *shim.Length `json:"predicted_mm"`
	Near      bool         `json:"near"`
	Reason    string       `json:"reason"`
}

type lotJSON struct {
	Diameter shim.Length `json:"diameter_mm"`
	Size     shim.Length `json:"size_mm"`
	Count    int         `json:"count"`
}

type boughtJSON struct {
	lotJSON
	Price *shim.Price `json:"price"`
}

// JSON writes the plan as one JSON object, indented.
func JSON(w io.Writer, p *plan.Plan) error {
	out := planJSON{
		Policy:   p.Policy,
		Criteria: p.Criteria,
		Jobs:     make([]jobJSON, len(p.Jobs)),
		Shopping: make([]boughtJSON, len(p.Shopping)),
		Drawn:    lots(p.Drawn),
		LeftOver: lots(p.LeftOver),
		Cautions: shim.Cautions,
	}
	for i := range p.Jobs {
		out.Jobs[i] = job(&p.Jobs[i])
	}
	for i, lot := range p.Shopping {
		out.Shopping[i] = boughtJSON{lotJSON: lots(p.Shopping[i : i+1])[0]}
		if lot.Priced {
			out.Shopping[i].Price = &p.Shopping[i].Price
		}
	}
	encoder := json.NewEncoder(w)
	encoder.SetIndent("", "  ")
	encoder.SetEscapeHTML(false)
	return encoder.Encode(out)
}

func job(j *plan.JobPlan) jobJSON {
	out := jobJSON{Job: j.Job, Engine: j.Engine.Name, Lifted: append([]string{}, j.Lifted...), Valves: make([]valveJSON, len(j.Valves))}
	for k := range j.Valves {
		v := &j.Valves[k]
		row := &out.Valves[k]
		*row = valveJSON{
			Valve: v.Valve, Tight: v.Limits.Tight, Loose: v.Limits.Loose, Aim: v.Aim,
			Installed: v.Installed, Verdict: v.Verdict, Open: v.Open, Action: v.Action,
			Shim: v.Size, Near: v.Near, Reason: v.Reason,
		}
		if v.Measured {
			row.Clearance, row.Predicted = &v.Clearance, &v.Expected
		}
		if v.From != nil {
			row.From = &v.From.Valve
		}
	}
	return out
}

func lots(list []plan.Lot) []lotJSON {
	out := make([]lotJSON, len(list))
	for i, lot := range list {
		out[i] = lotJSON{Diameter: lot.Diameter, Size: lot.Size, Count: lot.Count}
	}
	return out
}
