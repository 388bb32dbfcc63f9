package plan

import "shimwright/shim"

// A Move is one shim change: the valve's shim comes out and goes to another
// valve, or is left over; another goes in.
type Move struct {
	Valve shim.Valve
	Out   shim.Length // the size of the shim that comes out
	To    *Place      // where it goes; nil where it is left over for the box
	In    shim.Length // the size of the shim that goes in
	By    Action      // Swap, Box or Buy
	From  *Place      // with Swap: the valve whose shim it was
}

// moves lists the changes of a job in working order: along each chain from the
// valve whose shim nobody needs, so that a shim is always out before it goes in
// elsewhere and only one is in the hand; closed rounds of swaps after them.
func moves(p *Plan, job int) []Move {
	valves := p.Jobs[job].Valves
	place := map[shim.Valve]int{}
	for k := range valves {
		place[valves[k].Valve] = k
	}
	to := make([]*Place, len(valves))
	for i := range p.Jobs {
		for k := range p.Jobs[i].Valves {
			v := &p.Jobs[i].Valves[k]
			if v.From != nil && v.From.Job == job {
				to[place[v.From.Valve]] = &Place{Job: i, Valve: v.Valve}
			}
		}
	}
	var list []Move
	listed := make([]bool, len(valves))
	follow := func(k int) {
		for !listed[k] && valves[k].Changed() {
			v := &valves[k]
			listed[k] = true
			list = append(list, Move{Valve: v.Valve, Out: v.Installed, To: to[k], In: v.Size, By: v.Action, From: v.From})
			if v.From == nil || v.From.Job != job {
				return
			}
			k = place[v.From.Valve]
		}
	}
	for k := range valves {
		if to[k] == nil || to[k].Job != job {
			follow(k)
		}
	}
	for k := range valves {
		follow(k)
	}
	return list
}
