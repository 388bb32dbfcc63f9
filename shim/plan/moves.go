package plan

import (
	"cmp"
	"slices"

	"shimwright/shim"
)

// A Move is one opening of a valve: the shim in it comes out and another goes
// in. Where the camshaft is out, and at one crank position, the shim that goes
// in may be one that a later move takes out: the valve waits for it.
type Move struct {
	Step  int // in working order over all jobs, from 1
	Valve shim.Valve
	// Crank is where the crank has to stand, in degrees as in package crank, where
	// Turned. It is not told with camshaft access, where all is open at once, nor
	// without a firing order: then each move stands alone.
	Crank  float64
	Turned bool
	Out    shim.Length // the size of the shim that comes out
	To     *Place      // the valve that it is for; nil where it is for the box
	Bench  bool        // it serves elsewhere as a temporary shim first; To is nil then
	// SetUp says that it is a set-up shim, which goes back to the bench set, or
	// that none was in, where Out is 0; To is nil then.
	SetUp bool
	In    shim.Length // the size of the shim that goes in
	By    Action      // Swap, Box or Buy
	From  *Place      // with Swap: the valve that it came out of last
	// Temporary says that the shim that goes in comes out again: it keeps the
	// valve from standing empty until its own shim is at hand.
	Temporary bool
	// Again says that the shim that comes out is a temporary one, so that the
	// valve is opened a second time.
	Again bool
}

// A Want is a ring of swaps that no crank position allows at once and for which
// no temporary shim is at hand: its valves are not in the list of moves.
type Want struct {
	Ring []Place // each gets the shim of the one before it, the first that of the last
	// Valve is the one that would be opened twice. A shim from Thin to Thick
	// leaves it a clearance for the time being.
	Valve       Place
	Thin, Thick shim.Length
}

// listMoves puts the changes of every job in working order. The jobs come by
// rank, so that the first one has the first choice of the bench; nil is an
// empty one.
func (p *Plan) listMoves(ranked []int, b *bench) {
	p.follow()
	listed := make([][]Move, len(p.Jobs))
	groups := make([][]int, len(p.Jobs)) // by the first job of each
	for i := range p.Jobs {
		p.Jobs[i].Wants = nil
		if p.Jobs[i].Engine.Access == shim.ByCamshaft {
			listed[i], groups[i] = p.atOnce(i), []int{i}
		}
	}
	for _, jobs := range p.together(ranked) {
		f := newFitting(p, jobs)
		f.list(b)
		for i, moves := range f.moves {
			listed[i] = moves
		}
		groups[slices.Min(jobs)] = jobs
	}
	// A shim out of an engine whose camshafts are out is at hand from the start.
	slices.SortStableFunc(groups, func(x, y []int) int { return falseFirst(p.waits(x), p.waits(y)) })
	step := 0
	for _, jobs := range groups {
		before := step
		for _, i := range jobs {
			for k := range listed[i] {
				listed[i][k].Step += before
				step = max(step, listed[i][k].Step)
			}
		}
	}
	for i := range p.Jobs {
		p.Jobs[i].Moves = listed[i]
	}
}

// waits reports whether some shim comes from another engine into one of the jobs,
// whose shims are reached one by one.
func (p *Plan) waits(jobs []int) bool {
	return slices.ContainsFunc(jobs, func(i int) bool {
		return p.Jobs[i].Engine.Access == shim.ByValve && slices.ContainsFunc(p.Jobs[i].Valves, func(v ValvePlan) bool { return v.From != nil && v.From.Job != i })
	})
}

// follow notes of every changed valve where its shim goes.
func (p *Plan) follow() {
	for i := range p.Jobs {
		for k := range p.Jobs[i].Valves {
			p.Jobs[i].Valves[k].To = nil
		}
	}
	for i := range p.Jobs {
		for k := range p.Jobs[i].Valves {
			if v := &p.Jobs[i].Valves[k]; v.From != nil {
				p.at(*v.From).To = &Place{Job: i, Valve: v.Valve}
			}
		}
	}
}

// at is what the plan says of the valve.
func (p *Plan) at(where Place) *ValvePlan {
	j := &p.Jobs[where.Job]
	k, _ := j.Engine.Find(where.Valve)
	return &j.Valves[k]
}

// atOnce lists the changes of a job whose camshafts are out: along each chain
// from the valve whose new shim is at hand, so that every shim is out before it
// goes in elsewhere. Closed rounds of swaps come last, each from any of its
// valves; that one alone waits for its shim, until the round is back.
func (p *Plan) atOnce(job int) []Move {
	valves := p.Jobs[job].Valves
	var list []Move
	listed := make([]bool, len(valves))
	follow := func(k int) {
		for !listed[k] {
			v := &valves[k]
			listed[k] = true
			list = append(list, Move{Step: len(list) + 1, Valve: v.Valve, Out: v.Installed, SetUp: v.SetUp, To: v.To, In: v.Size, By: v.Action, From: v.From})
			if v.To == nil || v.To.Job != job {
				return
			}
			k, _ = p.Jobs[job].Engine.Find(v.To.Valve)
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

// together groups the jobs whose shims are reached one by one: those that hand
// shims to each other are worked on together. The groups and the jobs in each
// come by rank.
func (p *Plan) together(ranked []int) [][]int {
	group := map[int]int{} // by job: the job that stands for its group
	var root func(i int) int
	root = func(i int) int {
		if group[i] != i {
			group[i] = root(group[i])
		}
		return group[i]
	}
	byValve := func(i int) bool { return p.Jobs[i].Engine.Access == shim.ByValve }
	for _, i := range ranked {
		group[i] = i
	}
	for i := range p.Jobs {
		for k := range p.Jobs[i].Valves {
			if v := &p.Jobs[i].Valves[k]; v.From != nil && byValve(i) && byValve(v.From.Job) {
				group[root(i)] = root(v.From.Job)
			}
		}
	}
	var groups [][]int
	place := map[int]int{}
	for _, i := range ranked {
		if !byValve(i) {
			continue
		}
		at, known := place[root(i)]
		if !known {
			at = len(groups)
			place[root(i)] = at
			groups = append(groups, nil)
		}
		groups[at] = append(groups[at], i)
	}
	return groups
}

// OtherJob names the job of a place where that is another one than j, a job of
// the plan: by its engine where jobs have no names. It is empty where it is j.
func (p *Plan) OtherJob(j *JobPlan, at Place) string {
	if other := &p.Jobs[at.Job]; other != j {
		return cmp.Or(other.Job, other.Engine.Name)
	}
	return ""
}
