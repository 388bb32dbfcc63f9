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

// listMoves puts the changes of every job in working order.
func (p *Plan) listMoves() {
	to := make([][]*Place, len(p.Jobs)) // by job and valve: where its shim goes
	for i := range p.Jobs {
		to[i] = make([]*Place, len(p.Jobs[i].Valves))
	}
	for i := range p.Jobs {
		valves := p.Jobs[i].Valves
		for k := range valves {
			if from := valves[k].From; from != nil {
				at, _ := p.Jobs[from.Job].Engine.Find(from.Valve)
				to[from.Job][at] = &Place{Job: i, Valve: valves[k].Valve}
			}
		}
	}
	for i := range p.Jobs {
		p.Jobs[i].Moves = p.moves(i, to[i])
	}
}

// moves lists the changes of a job: along each chain from the valve whose new
// shim is at hand, so that every shim is out before it goes in elsewhere.
// Closed rounds of swaps come last, each from any of its valves; that one alone
// waits for its shim, until the round is back.
func (p *Plan) moves(job int, to []*Place) []Move {
	valves := p.Jobs[job].Valves
	var list []Move
	listed := make([]bool, len(valves))
	follow := func(k int) {
		for !listed[k] {
			v := &valves[k]
			listed[k] = true
			list = append(list, Move{Valve: v.Valve, Out: v.Installed, To: to[k], In: v.Size, By: v.Action, From: v.From})
			if to[k] == nil || to[k].Job != job {
				return
			}
			k, _ = p.Jobs[job].Engine.Find(to[k].Valve)
		}
	}
	for k := range valves {
		if v := &valves[k]; v.Changed() && (v.From == nil || v.From.Job != job) {
			follow(k)
		}
	}
	for k := range valves {
		if valves[k].Changed() {
			follow(k)
		}
	}
	return list
}
