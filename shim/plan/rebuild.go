package plan

import "slices"

// Rebuild fills in what follows from the valves of a plan that was kept: the
// criteria, what is bought, drawn and left over, and the fitting lists unless
// listed, when they were kept as well. Nothing is planned anew. Pulled shims
// have to stay with their engine.
func (p *Plan) Rebuild(listed bool) {
	p.Criteria = Criteria{}
	p.Shopping, p.Drawn, p.LeftOver = nil, nil, nil
	if listed {
		p.follow()
	} else {
		p.listMoves(p.order(), nil)
	}
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
	one.Jobs, one.Next = []JobPlan{p.Jobs[job]}, nil // what is said of all jobs is not of one
	j := &one.Jobs[0]
	first := func(at *Place) *Place {
		if at == nil {
			return nil
		}
		return &Place{Valve: at.Valve}
	}
	j.Valves, j.Moves, j.Wants = slices.Clone(j.Valves), slices.Clone(j.Moves), slices.Clone(j.Wants)
	for k := range j.Valves {
		j.Valves[k].From = first(j.Valves[k].From)
	}
	for k := range j.Moves {
		m := &j.Moves[k]
		m.Step, m.To, m.From = k+1, first(m.To), first(m.From)
	}
	for k := range j.Wants {
		w := &j.Wants[k]
		w.Valve.Job, w.Ring = 0, slices.Clone(w.Ring)
		for i := range w.Ring {
			w.Ring[i].Job = 0
		}
	}
	one.Rebuild(true)
	return &one
}

// order is the jobs as they stand.
func (p *Plan) order() []int {
	list := make([]int, len(p.Jobs))
	for i := range list {
		list[i] = i
	}
	return list
}
