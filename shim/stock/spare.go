package stock

import "context"

// Spare finds pieces of the box that none of the drawn jobs would miss, all of them
// taken out together: with what stays, every period serves as many valves. Of kinds that
// stand in for one another it then takes from the one that has most pieces. The error is the
// context's.
func Spare(ctx context.Context, jobs []Job, perPeriod int, box []Pieces) ([]Pieces, error) {
	g := newGreedy(&Request{Jobs: jobs, Period: perPeriod, Box: box})
	// What no period uses at all goes first, of all kinds at once.
	var spare []Pieces
	for k := range g.counts {
		used := int32(0)
		for _, p := range g.periods {
			used = max(used, int32(len(p.at[k])))
		}
		spare = append(spare, Pieces{g.line[k], int(g.counts[k] - used)})
		g.counts[k] = used
	}
	frees := make([][]bool, len(g.periods))
	needs := make([]int, len(g.line)) // by kind the periods that need all of its pieces
	look := func(i int) {
		for k, free := range frees[i] {
			if !free {
				needs[k]--
			}
		}
		frees[i] = g.periods[i].spare()
		for k, free := range frees[i] {
			if !free {
				needs[k]++
			}
		}
	}
	for i := range g.periods {
		look(i)
	}
	for {
		if ctx.Err() != nil {
			return nil, context.Cause(ctx)
		}
		most := -1
		for k, n := range g.counts {
			if n > 0 && needs[k] == 0 && (most < 0 || n > g.counts[most]) {
				most = k
			}
		}
		if most < 0 {
			return Sum(spare), nil
		}
		spare = append(spare, Pieces{g.line[most], 1})
		g.counts[most]--
		for i, p := range g.periods {
			p.less(g.search, node(most))
			look(i)
		}
	}
}

// spare tells which kinds the period can do with a piece less of: those with a piece
// to spare, and those one of whose valves can take a spare shim in its place.
func (p *period) spare() []bool {
	free := make([]bool, len(p.line))
	pulled := make([]bool, p.last-p.first)
	for k := range free {
		free[k] = len(p.at[k]) < int(p.counts[k])
	}
	for i, holder := range p.owner {
		pulled[i] = holder < 0
	}
	// A valve with a way to a spare shim makes its own spare, until nothing changes.
	for changed := true; changed; {
		changed = false
		for i, served := range p.served {
			if !served || p.let(free, pulled, p.from[i]) {
				continue
			}
			v := &p.valves[p.first+i]
			way := false
			for k := v.low; k < v.high && !way; k++ {
				way = free[k]
			}
			for _, k := range v.own {
				way = way || pulled[int(k)-p.first]
			}
			if !way {
				continue
			}
			changed = true
			if k := p.from[i]; k < 0 {
				pulled[int(^k)-p.first] = true
			} else {
				free[k] = true
			}
		}
	}
	return free
}

// let reports whether the node is among the free ones.
func (p *period) let(free, pulled []bool, k node) bool {
	if k < 0 {
		return pulled[int(^k)-p.first]
	}
	return free[k]
}

// less gives one valve another shim if the kind now has fewer pieces than it serves.
func (p *period) less(s *search, k node) {
	if len(p.at[k]) <= int(p.counts[k]) {
		return
	}
	i := p.at[k][0]
	p.leave(k, i)
	p.served[int(i)-p.first] = false
	p.unserved++
	s.begin(i) // the kind's other valves are reached from there
	if end, found := p.look(s, true); found {
		p.shift(s, end)
	}
}
