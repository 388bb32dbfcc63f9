package planner

import (
	"encoding/json"

	"shimwright/inventory"
	"shimwright/shim"
	"shimwright/shim/plan"
)

// Proposal is the plan as the shop keeps it. The plan must be that of
// [Ready.Job] alone, and the document is its JSON.
func (r *Ready) Proposal(p *plan.Plan, document json.RawMessage) inventory.Proposal {
	out := inventory.Proposal{Job: r.basis.Job.ID, Revision: r.basis.Revision, Document: document}
	empty := map[shim.Valve]bool{}
	for _, s := range r.StandIns {
		empty[s.Valve] = true
	}
	for i := range p.Jobs[0].Valves {
		v := &p.Jobs[0].Valves[i]
		l := inventory.Placement{Valve: v.Valve, Size: v.Size, Source: inventory.Drawn}
		switch v.Action {
		case plan.Buy:
			l.Source = inventory.Bought
			l.Price, l.Priced = r.price(v)
		case plan.Swap:
			// What stands in for the shim of an empty valve lies in the box.
			if !empty[v.From.Valve] {
				l.Source, l.From = inventory.Moved, v.From.Valve
			}
		case plan.Box:
		default:
			if !empty[v.Valve] || !v.Served() {
				continue
			}
		}
		out.Placements = append(out.Placements, l)
	}
	return out
}

// price is that of a bought piece; one that is on order keeps the price it was
// ordered at.
func (r *Ready) price(v *plan.Valve) (shim.Price, bool) {
	if v.Priced && v.Price == 0 {
		for _, p := range r.basis.Orders {
			if p.Size == v.Size && p.Coming() > 0 {
				return p.Price, p.Priced
			}
		}
	}
	return v.Price, v.Priced
}
