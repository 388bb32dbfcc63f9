package plan

import "slices"

// Rebuild fills in what follows from the valves of a plan that was kept: the
// criteria, the fitting lists, and what is bought, drawn and left over. Nothing
// is planned anew. Pulled shims have to stay with their engine.
func (p *Plan) Rebuild() {
	p.Criteria = Criteria{}
	p.Shopping, p.Drawn, p.LeftOver = nil, nil, nil
	p.listMoves()
	for i := range p.Jobs {
		j := &p.Jobs[i]
		j.sum()
		p.Criteria.add(j.Criteria)
		p.Shopping = append(p.Shopping, j.Shopping()...)
		p.Drawn = append(p.Drawn, j.Drawn()...)
		p.LeftOver = append(p.LeftOver, j.LeftOver()...)
	}
	p.Shopping, p.Drawn, p.LeftOver = gather(p.Shopping), gather(p.Drawn), gather(p.LeftOver)
}

// Alone is one job's part of a plan as a plan of its own. Pulled shims have to
// stay with their engine.
func (p *Plan) Alone(job int) *Plan {
	one := *p
	one.Jobs = []JobPlan{p.Jobs[job]}
	j := &one.Jobs[0]
	j.Valves = slices.Clone(j.Valves)
	for k := range j.Valves {
		if v := &j.Valves[k]; v.From != nil {
			v.From = &Place{Valve: v.From.Valve}
		}
	}
	one.Rebuild()
	return &one
}
