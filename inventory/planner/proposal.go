package planner

import (
	"encoding/json"
	"slices"

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
			l.Terms = r.supply.take(r.basis.Job.Diameter, v)
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
	r.lend(p.Jobs[0].Moves, out.Placements)
	return out
}

// lend notes the pieces of the box that serve as temporary shims and go back
// into it, each at the last valve that it serves. One that the plan draws is
// held for its own valve.
func (r *Ready) lend(moves []plan.Move, list []inventory.Placement) {
	at := func(v shim.Valve) *inventory.Placement {
		for i := range list {
			if list[i].Valve == v {
				return &list[i]
			}
		}
		return &inventory.Placement{} // the plan changes every valve of its moves
	}
	back := map[shim.Length][]shim.Valve{} // served, by size
	for _, m := range moves {
		if l := at(m.Valve); m.Again && l.Temporary != 0 && m.To == nil && !m.Bench {
			back[m.Out] = append(back[m.Out], m.Valve)
		}
		boxed := m.By == plan.Box || m.By == plan.Swap && r.standsIn(m.From.Valve, m.In)
		returns := slices.ContainsFunc(moves, func(out plan.Move) bool {
			return out.Valve == m.Valve && out.Again && out.To == nil && !out.Bench
		})
		if !m.Temporary || !boxed || !returns {
			continue
		}
		if served := back[m.In]; len(served) > 0 {
			at(served[0]).Temporary = 0
			back[m.In] = served[1:]
		}
		at(m.Valve).Temporary = m.In
	}
}

// standsIn tells whether a piece of the box stands in for the valve's shim.
func (r *Ready) standsIn(v shim.Valve, size shim.Length) bool {
	for _, s := range r.StandIns {
		if s.Valve == v {
			return s.Size() == size
		}
	}
	return false
}
