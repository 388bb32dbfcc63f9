package work

import (
	"encoding/json"
	"slices"

	"shimwright/inventory"
	"shimwright/shim"
	"shimwright/shim/doubt"
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
		l := inventory.Placement{Valve: v.Valve, Size: v.Size, Source: inventory.SourceDrawn}
		switch v.Action {
		case plan.Buy:
			l.Source = inventory.SourceBought
			l.Terms = r.supply.take(r.basis.Job.ID, r.basis.Engine.Spec.FamilyOf(v.Valve), v)
		case plan.Swap:
			// What stands in for the shim of an empty valve lies in the box.
			if !empty[v.From.Valve] {
				l.Source, l.From = inventory.SourceMoved, v.From.Valve
			}
		case plan.Box:
			switch v.Fitted() {
			case doubt.Miked:
				l.Counted = inventory.ByMic
			case doubt.Used:
				l.Counted = inventory.ByOldMark
			default:
				l.Counted = inventory.ByStamp
			}
		default:
			if !empty[v.Valve] || !v.Served() {
				continue
			}
		}
		out.Placements = append(out.Placements, l)
	}
	r.lend(p.Jobs[0].Moves, out.Placements)
	r.lent(p.Jobs[0], out.Placements)
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
	back := map[shim.Disc][]shim.Valve{} // served, by the piece that served them
	for _, m := range moves {
		family := r.basis.Engine.Spec.FamilyOf(m.Valve)
		if l := at(m.Valve); m.Again && l.Temporary != 0 && m.To == nil && !m.Bench {
			back[family.Of(m.Out)] = append(back[family.Of(m.Out)], m.Valve)
		}
		boxed := m.By == plan.Box || m.By == plan.Swap && r.standsIn(m.From.Valve, m.In)
		returns := slices.ContainsFunc(moves, func(out plan.Move) bool {
			return out.Valve == m.Valve && out.Again && out.To == nil && !out.Bench
		})
		if !m.Temporary || !boxed || !returns {
			continue
		}
		if served := back[family.Of(m.In)]; len(served) > 0 {
			at(served[0]).Temporary = 0
			back[family.Of(m.In)] = served[1:]
		}
		at(m.Valve).Temporary = m.In
	}
}

// lent keeps the temporary shims that sit in their valves from the plan before,
// each until its valve has its own. One that this plan uses elsewhere is held there.
func (r *Ready) lent(j plan.JobPlan, list []inventory.Placement) {
	for _, seat := range r.basis.Seats {
		if !seat.Empty || seat.Temporary == 0 || !r.standsIn(seat.Valve, seat.Temporary) {
			continue
		}
		used := slices.ContainsFunc(j.Valves, func(v plan.ValvePlan) bool { return v.Action == plan.Swap && v.From.Valve == seat.Valve }) ||
			slices.ContainsFunc(j.Moves, func(m plan.Move) bool { return m.Temporary && m.By == plan.Swap && m.From.Valve == seat.Valve })
		for i := range list {
			if l := &list[i]; l.Valve == seat.Valve && l.Temporary == 0 && l.Size != seat.Temporary && !used {
				l.Temporary = seat.Temporary
			}
		}
	}
}

// standsIn reports whether a piece of the box stands in for the valve's shim.
func (r *Ready) standsIn(v shim.Valve, size shim.Length) bool {
	for _, s := range r.StandIns {
		if s.Valve == v {
			return s.Size() == size
		}
	}
	return false
}
