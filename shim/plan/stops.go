package plan

import (
	"slices"
	"strconv"
)

// A task is one visit with what it waits for.
type task struct {
	done
	needs []need
	after []int // tasks that come before it, at the latest at the same stop
	rest  int   // stops that it and what follows in its chain take at least
}

// done names a visit of a chain.
type done struct{ chain, visit int }

// A need is the positions of an engine at which a visit can be made.
type need struct {
	bay int
	at  []bool
}

// A turn turns the crank of one engine to a position, and is all that is done
// before the next one.
type turn struct {
	bay, position int
	done          []done
}

// best chooses for each broken ring how it is broken, and the order of all
// visits, such that the cranks stop as seldom as can be.
func (f *fitting) best(sorted *sorted) (chains []chain, turns []turn) {
	// Valve by valve, every order has as many stops.
	alike := slices.ContainsFunc(f.bays, func(b *bay) bool { return b.openings == nil })
	least, fixed, ways := max(1, sorted.stops()), sorted.fixed, sorted.ways
	tries := 0
	var choose func(chosen []chain)
	choose = func(chosen []chain) {
		i := len(chosen) - len(fixed)
		if i == len(ways) {
			tries++
			s := f.schedule(chosen)
			if s == nil {
				return
			}
			found, possible := s.greedy()
			if !possible {
				return
			}
			if turns == nil || len(found) < len(turns) {
				chains, turns = s.chains, found
			}
			if alike || len(f.bays) > maxEngines {
				return
			}
			if found := s.search(least, len(turns)-1); found != nil {
				chains, turns = s.chains, found
			}
			return
		}
		for k := range ways[i] {
			if turns != nil && (alike || f.looks <= 0 || len(turns) <= least || ways[i][k].rest[0] >= len(turns)) || tries > 0 && f.looks <= 0 || tries > maxTries {
				return
			}
			choose(append(slices.Clone(chosen), ways[i][k]))
		}
	}
	choose(fixed)
	return chains, turns
}

// maxTries bounds how many choices of temporary shims are looked at.
const maxTries = 1000

// rest is by visit how many stops it takes from there at least, were the chain
// the only one. To go as far as one position allows and then on is never worse.
// Chains through several engines are not looked into.
func rest(needs [][]need) []int {
	rest := make([]int, len(needs)+1)
	for _, list := range needs {
		if len(list) > 1 || list[0].bay != needs[0][0].bay {
			for k := range needs {
				rest[k] = 1
			}
			return rest
		}
	}
	for i := len(needs) - 1; i >= 0; i-- {
		far := i + 1
		for position := range needs[i][0].at {
			end := i
			for end < len(needs) && needs[end][0].at[position] {
				end++
			}
			far = max(far, end)
		}
		rest[i] = 1 + rest[far]
	}
	return rest
}

// A schedule is what has to be done, and what waits for what.
type schedule struct {
	chains    []chain
	tasks     []task
	positions []int // by bay
	single    bool  // one engine alone
	looks     *int  // that may still be taken
}

// schedule is nil where a temporary shim would come from a chain that has none
// to give.
func (f *fitting) schedule(chosen []chain) *schedule {
	s := &schedule{chains: slices.Clone(chosen), single: len(f.bays) == 1, looks: &f.looks}
	for _, b := range f.bays {
		s.positions = append(s.positions, len(b.sets))
	}
	first := make([]int, len(chosen)+1) // task by chain
	for c := range s.chains {
		for visit, needs := range s.chains[c].needs {
			t := task{done: done{c, visit}, needs: needs, rest: s.chains[c].rest[visit]}
			if visit > 0 {
				t.after = []int{len(s.tasks) - 1}
			}
			s.tasks = append(s.tasks, t)
		}
		first[c+1] = len(s.tasks)
	}
	wait := func(task, before int) { s.tasks[task].after = append(s.tasks[task].after, before) }
	type source struct {
		lot   *Pieces
		piece piece
	}
	users := map[source][]int{} // chains
	for c := range s.chains {
		l := s.chains[c].lent
		if l == nil || l.lot == nil && len(s.chains[c].visits[0]) > 1 {
			continue
		}
		pieces := 1
		if l.lot != nil {
			pieces = l.lot.Count
		} else {
			other, visit, found := s.way(l.piece)
			if !found {
				return nil
			}
			if visit >= 0 {
				wait(first[c], first[other]+visit)
			}
			if next := first[other] + visit + 1; next < first[other+1] {
				wait(next, first[c+1]-1)
			}
		}
		from := source{l.lot, l.piece}
		before := users[from]
		if len(before) >= pieces {
			wait(first[c], first[before[len(before)-pieces]+1]-1)
			again := *l
			again.handedOn = true
			s.chains[c].lent = &again
		}
		users[from] = append(before, c)
	}
	return s
}

// way finds the chain that a piece goes along, and the visit at which it comes
// to hand: -1 where it is from the start. It is not found where it goes from
// valve to valve at once.
func (s *schedule) way(p piece) (chain, visit int, found bool) {
	for c := range s.chains {
		visits := s.chains[c].visits
		if len(visits[0]) > 1 {
			continue
		}
		if p.kind == fresh && visits[0][0] == p.node {
			return c, -1, true
		}
		for i := range visits {
			if p.kind == pulled && visits[i][0] == p.node {
				return c, i, true
			}
		}
	}
	return 0, 0, false
}

// absorb does all that can be done with the cranks where they are.
func (s *schedule) absorb(made []bool, at []int) (list []int) {
	for more := true; more; {
		more = false
		*s.looks -= len(s.tasks)
		for t := range s.tasks {
			if !made[t] && s.ready(t, made) && s.reached(t, at) {
				made[t], more = true, true
				list = append(list, t)
			}
		}
	}
	return list
}

func (s *schedule) ready(t int, made []bool) bool {
	return !slices.ContainsFunc(s.tasks[t].after, func(before int) bool { return !made[before] })
}

func (s *schedule) reached(t int, at []int) bool {
	return !slices.ContainsFunc(s.tasks[t].needs, func(n need) bool { return at[n.bay] < 0 || !n.at[at[n.bay]] })
}

// nowhere is where the cranks stand at the beginning.
func (s *schedule) nowhere() []int {
	at := make([]int, len(s.positions))
	for i := range at {
		at[i] = -1
	}
	return at
}

func (s *schedule) turn(bay, position int, tasks []int) turn {
	t := turn{bay: bay, position: position}
	for _, i := range tasks {
		t.done = append(t.done, s.tasks[i].done)
	}
	return t
}

// greedy turns to where most can be done, again and again. It is false where
// chains wait for each other.
func (s *schedule) greedy() (turns []turn, possible bool) {
	turns = []turn{}
	made, at := make([]bool, len(s.tasks)), s.nowhere()
	for slices.Contains(made, false) {
		var best turn
		var tasks []int
		for bay, positions := range s.positions {
			if len(s.positions) > maxEngines && bay != s.next(made, at) {
				continue
			}
			for position := range positions {
				there := slices.Clone(at)
				there[bay] = position
				list := s.absorb(slices.Clone(made), there)
				if len(list) > len(tasks) || len(list) == len(tasks) && len(list) > 0 && list[0] < tasks[0] {
					best, tasks = s.turn(bay, position, list), list
				}
			}
		}
		if tasks == nil {
			// What comes next takes several engines.
			t := 0
			for t < len(made) && (made[t] || !s.ready(t, made)) {
				t++
			}
			if t == len(made) {
				return nil, false
			}
			for _, n := range s.tasks[t].needs {
				if at[n.bay] < 0 || !n.at[at[n.bay]] {
					at[n.bay] = slices.Index(n.at, true)
					turns = append(turns, s.turn(n.bay, at[n.bay], s.absorb(made, at)))
				}
			}
			continue
		}
		at[best.bay] = best.position
		for _, t := range tasks {
			made[t] = true
		}
		turns = append(turns, best)
	}
	return turns, true
}

// maxEngines is how many engines that hand shims to each other are looked at all
// at once. With more, the engine of the first visit that is to be made is turned.
const maxEngines = 3

// next is the engine that keeps the first ready visit from being made.
func (s *schedule) next(made []bool, at []int) int {
	for t := range s.tasks {
		if !made[t] && s.ready(t, made) {
			for _, n := range s.tasks[t].needs {
				if at[n.bay] < 0 || !n.at[at[n.bay]] {
					return n.bay
				}
			}
		}
	}
	return 0
}

// A state is what is made after some turns.
type state struct {
	made   []bool
	at     []int
	turn   turn
	before *state
}

// search finds the fewest turns, from least to most. To do at once what can be
// done is never worse, since nothing that is done keeps anything else from
// being done. It gives nil where more are needed, or looks run out.
func (s *schedule) search(least, most int) []turn {
	for limit := least; limit <= most; limit++ {
		seen := map[string]bool{}
		layer := []*state{{made: make([]bool, len(s.tasks)), at: s.nowhere()}}
		for depth := 1; depth <= limit && len(layer) > 0; depth++ {
			var next []*state
			for _, from := range layer {
				for bay, positions := range s.positions {
					for position := range positions {
						if *s.looks < 0 {
							return nil
						}
						to := &state{made: slices.Clone(from.made), at: slices.Clone(from.at), before: from}
						to.at[bay] = position
						tasks := s.absorb(to.made, to.at)
						if s.single && tasks == nil || depth+s.bound(to.made) > limit {
							continue
						}
						to.turn = s.turn(bay, position, tasks)
						if !slices.Contains(to.made, false) {
							return to.turns()
						}
						if key := s.key(to); !seen[key] {
							seen[key] = true
							next = append(next, to)
						}
					}
				}
			}
			layer = next
		}
	}
	return nil
}

// bound is how many turns are left at least.
func (s *schedule) bound(made []bool) int {
	least := 0
	for t := range s.tasks {
		switch {
		case made[t]:
		case s.single:
			least = max(least, s.tasks[t].rest)
		default:
			return 1
		}
	}
	return least
}

// key tells states apart. With one engine it does not matter where the crank is.
func (s *schedule) key(of *state) string {
	key := make([]byte, 0, len(of.made)+4*len(of.at))
	for _, made := range of.made {
		key = append(key, "-x"[bit(made)])
	}
	if !s.single {
		for _, at := range of.at {
			key = append(strconv.AppendInt(key, int64(at), 10), ',')
		}
	}
	return string(key)
}

func bit(set bool) int {
	if set {
		return 1
	}
	return 0
}

// turns lists the turns that led to the state.
func (of *state) turns() []turn {
	var list []turn
	for ; of.before != nil; of = of.before {
		list = append(list, of.turn)
	}
	slices.Reverse(list)
	return list
}
