package plan

import (
	"cmp"
	"slices"

	"shimwright/shim"
	"shimwright/shim/crank"
	"shimwright/shim/doubt"
)

// A fitting works out in which order the shims on top of one engine are
// changed, or of several that hand shims to each other. A valve is opened only
// where its cam lets it, and no crank is turned while a valve of its engine
// stands empty.
//
// The changes fall into paths and rings. A path begins with a shim that is at
// hand, and each of its valves gets the shim of the one before: one after
// another, at whatever positions. In a ring all wait for each other. Where one
// position opens them all, the ring is done there with all of them empty at
// once; any other ring is broken: one of its valves gets a temporary shim, and
// is opened a second time at the end.
type fitting struct {
	plan  *Plan
	bays  []*bay
	nodes []node
	index map[Place]int
	paths [][]int // nodes in order
	rings [][]int // the same, closed
	moves map[int][]Move

	looks int // at a task, that may still be taken
}

// maxLooks bounds the search for the best fitting list of one engine, or of
// those that hand shims to each other. Lists of real engines take some ten
// thousands; where the bound is met, the list is sound and may have more stops
// than need be.
const maxLooks = 3_000_000

// A bay is one engine of a fitting.
type bay struct {
	job      int
	openings *crank.Openings // nil without a firing order: then each valve stands alone
	nodes    []int
	sets     [][]bool // by position and node: what may be open there
}

// A node is a valve whose shim is changed.
type node struct {
	bay   int
	place Place
	valve *ValvePlan
	sure  [doubt.Sources]shim.Length // one more than the uncertainty with a shim known that way; 0 where not known yet
}

func newFitting(p *Plan, jobs []int) *fitting {
	f := &fitting{plan: p, index: map[Place]int{}, moves: map[int][]Move{}, looks: maxLooks}
	for _, job := range jobs {
		b := &bay{job: job}
		for k := range p.Jobs[job].Valves {
			if v := &p.Jobs[job].Valves[k]; v.Changed() {
				at := Place{job, v.Valve}
				f.index[at] = len(f.nodes)
				b.nodes = append(b.nodes, len(f.nodes))
				f.nodes = append(f.nodes, node{bay: len(f.bays), place: at, valve: v})
			}
		}
		f.bays = append(f.bays, b)
	}
	f.chain()
	for _, b := range f.bays {
		f.position(b)
	}
	return f
}

// chain finds the paths and rings. A shim from an engine whose camshafts are
// out is at hand.
func (f *fitting) chain() {
	f.paths, f.rings = nil, nil
	seen := make([]bool, len(f.nodes))
	follow := func(n int) (list []int) {
		for known := true; known && !seen[n]; {
			seen[n] = true
			list = append(list, n)
			if to := f.nodes[n].valve.To; to == nil {
				known = false
			} else {
				n, known = f.index[*to]
			}
		}
		return list
	}
	for n := range f.nodes {
		from := f.nodes[n].valve.From
		if from != nil {
			if _, known := f.index[*from]; known {
				continue
			}
		}
		f.paths = append(f.paths, follow(n))
	}
	for n := range f.nodes {
		if !seen[n] {
			f.rings = append(f.rings, follow(n))
		}
	}
}

// position finds what may be open together in an engine.
func (f *fitting) position(b *bay) {
	var sets [][]int
	if o, err := crank.NewOpenings(f.plan.Jobs[b.job].Engine); err == nil {
		b.openings = o
		valves := make([]shim.Valve, len(b.nodes))
		for i, n := range b.nodes {
			valves[i] = f.nodes[n].place.Valve
		}
		sets = o.Together(valves)
	} else {
		for i := range b.nodes {
			sets = append(sets, []int{i})
		}
	}
	for _, set := range sets {
		open := make([]bool, len(f.nodes))
		for _, i := range set {
			open[b.nodes[i]] = true
		}
		b.sets = append(b.sets, open)
	}
}

// atOnce reports whether all of the nodes may be open at once.
func (f *fitting) atOnce(nodes []int) bool {
	return !slices.ContainsFunc(f.need(nodes), func(n need) bool { return !slices.Contains(n.at, true) })
}

// need says at which positions of their engines the nodes may be open together.
// Without a firing order every valve is opened alone.
func (f *fitting) need(nodes []int) []need {
	var needs []need
	for _, first := range nodes {
		bay := f.nodes[first].bay
		if slices.ContainsFunc(needs, func(n need) bool { return n.bay == bay }) {
			continue
		}
		b := f.bays[bay]
		n := need{bay: bay, at: make([]bool, len(b.sets))}
		for i, open := range b.sets {
			n.at[i] = b.openings != nil || len(nodes) == 1
			for _, node := range nodes {
				if f.nodes[node].bay == bay && !open[node] {
					n.at[i] = false
				}
			}
		}
		needs = append(needs, n)
	}
	return needs
}

// A chain is visits that come one after another, or at one stop.
type chain struct {
	visits [][]int // the nodes that are open together, in the order of the shims
	path   bool
	lent   *loan    // for a broken ring: what sits in its first node until its last visit
	needs  [][]need // by visit: where it can be made
	rest   []int    // by visit: how many stops it takes from there at least
}

// made is the chain with its needs.
func (f *fitting) made(c chain) chain {
	for _, nodes := range c.visits {
		c.needs = append(c.needs, f.need(nodes))
	}
	c.rest = rest(c.needs)
	return c
}

// temporary reports whether what goes in at a visit comes out again.
func (c *chain) temporary(visit, node int) bool {
	return c.lent != nil && visit == 0 && node == c.visits[0][0]
}

// A sorted fitting is one whose rings are sorted by how they are done.
type sorted struct {
	fixed   []chain   // paths, and rings that are opened at once
	ways    [][]chain // by broken ring: how it may be broken
	broken  [][]int   // these rings
	wanting [][]int   // rings that nothing at hand breaks
}

func (f *fitting) sort(b *bench) (s sorted) {
	for _, path := range f.paths {
		c := chain{path: true}
		for _, n := range path {
			c.visits = append(c.visits, []int{n})
		}
		s.fixed = append(s.fixed, f.made(c))
	}
	var broken [][]int
	for _, ring := range f.rings {
		if f.atOnce(ring) {
			s.fixed = append(s.fixed, f.made(chain{visits: [][]int{ring}}))
		} else {
			broken = append(broken, ring)
		}
	}
	for _, ring := range broken {
		if list := f.ways(ring, s.fixed, broken, b); len(list) > 0 {
			s.ways, s.broken = append(s.ways, list), append(s.broken, ring)
		} else {
			s.wanting = append(s.wanting, ring)
		}
	}
	return s
}

// order finds the order. Where rings could only be broken by each other's shims,
// all at once, it leaves some of them wanting.
func (f *fitting) order(s *sorted) (chains []chain, turns []turn) {
	for {
		if chains, turns = f.best(s); turns != nil {
			return chains, turns
		}
		last := len(s.ways) - 1
		s.wanting = append(s.wanting, s.broken[last])
		s.ways, s.broken = s.ways[:last], s.broken[:last]
	}
}

// list finds the order and writes the moves.
func (f *fitting) list(b *bench) {
	s := f.sort(b)
	chains, turns := f.order(&s)
	for _, ring := range s.wanting {
		f.want(ring)
	}
	f.write(chains, f.turned(chains, turns))
	for _, c := range chains {
		if c.lent != nil && c.lent.lot != nil && !c.lent.handedOn {
			c.lent.lot.Count--
		}
	}
}

// A toil is what a fitting list takes, the worst first: rings that cannot be
// done, valves opened a second time, stops.
type toil struct{ wanting, again, stops int }

func (a toil) less(b toil) bool {
	return cmp.Or(cmp.Compare(a.wanting, b.wanting), cmp.Compare(a.again, b.again), cmp.Compare(a.stops, b.stops)) < 0
}

// toil is what the list takes. Where it cannot be less than the best one, that
// is all it tells.
func (f *fitting) toil(b *bench, best *toil) toil {
	s := f.sort(b)
	if best != nil {
		least := toil{len(s.wanting), len(s.ways), s.stops()}
		if !least.less(*best) {
			return least
		}
	}
	_, turns := f.order(&s)
	return toil{len(s.wanting), len(s.ways), len(turns)}
}

// stops is how many no order is below.
func (s *sorted) stops() int {
	least := 0
	for i := range s.fixed {
		least = max(least, s.fixed[i].rest[0])
	}
	for _, list := range s.ways {
		least = max(least, list[0].rest[0]) // the ways come by their stops
	}
	return least
}

// A piece is one shim, told from all others.
type piece struct {
	node int // whose old shim it is, or with fresh that it is for
	kind pieceKind
}

type pieceKind uint8

const (
	pulled pieceKind = iota // out of the node
	fresh                   // from the box or bought, or out of an engine whose camshafts are out
	lent                    // of the box, temporary: node is its chain
)

// placed is the piece that goes into a node at a visit.
func (f *fitting) placed(chains []chain, at done, node int) piece {
	c := &chains[at.chain]
	if !c.temporary(at.visit, node) {
		return f.own(node)
	}
	if c.lent.lot != nil {
		return piece{at.chain, lent}
	}
	return c.lent.piece
}

// own is the piece that the plan has for a node.
func (f *fitting) own(node int) piece {
	if from := f.nodes[node].valve.From; from != nil {
		if n, known := f.index[*from]; known {
			return piece{n, pulled}
		}
	}
	return piece{node, fresh}
}

// write lists the moves of the chains in the order that was found.
func (f *fitting) write(chains []chain, turns []turn) {
	type event struct {
		node, turn int
		in         piece
		temporary  bool
	}
	var events []event
	opened := make([][]shim.Valve, len(turns))
	placings := map[piece][]int{} // events in order
	at := make([]int, len(f.bays))
	for t := range turns {
		at[turns[t].bay] = t
		for _, d := range turns[t].done {
			for _, n := range chains[d.chain].visits[d.visit] {
				e := event{n, at[f.nodes[n].bay], f.placed(chains, d, n), chains[d.chain].temporary(d.visit, n)}
				placings[e.in] = append(placings[e.in], len(events))
				events = append(events, e)
				opened[e.turn] = append(opened[e.turn], f.nodes[n].place.Valve)
			}
		}
	}
	angles := make([]*float64, len(turns)) // nil without a firing order
	for t, valves := range opened {
		if o := f.bays[turns[t].bay].openings; o != nil && len(valves) > 0 {
			position, _ := o.Position(valves) // there is one: the visits were chosen so
			angles[t] = &position.Degrees
		}
	}
	sits := make([]piece, len(f.nodes))
	for n := range sits {
		sits[n] = piece{n, pulled}
	}
	used, outs := map[piece]int{}, map[piece]int{} // how often each was placed and came out so far
	for step, e := range events {
		n := &f.nodes[e.node]
		m := Move{Step: step + 1, Valve: n.place.Valve, In: n.valve.Size, By: n.valve.Action, Temporary: e.temporary}
		if angle := angles[e.turn]; angle != nil {
			m.Crank, m.Turned = *angle, true
		}
		out := sits[e.node]
		m.Out, m.Again = f.size(chains, out), out != piece{e.node, pulled}
		m.SetUp = n.valve.SetUp && !m.Again
		// A shim out of its own valve goes to its first place, one from elsewhere was
		// put there before: then on from place to place.
		goes := outs[out]
		if outs[out]++; out.kind != pulled {
			goes++
		}
		next := placings[out][min(goes, len(placings[out])):]
		switch {
		case len(next) == 0 && out.kind == pulled:
			m.To = f.nodes[out.node].valve.To
		case len(next) == 0:
		case events[next[0]].temporary:
			m.Bench = true
		default:
			m.To = &f.nodes[events[next[0]].node].place
		}
		if e.temporary {
			m.In = f.size(chains, e.in)
		}
		switch before := used[e.in]; {
		case before > 0:
			m.By, m.From = Swap, &f.nodes[events[placings[e.in][before-1]].node].place
		case e.in.kind == pulled:
			m.By, m.From = Swap, &f.nodes[e.in.node].place
		case e.in.kind == lent:
			m.By = Box
		default:
			head := f.nodes[e.in.node].valve
			m.By, m.From = head.Action, head.From
		}
		used[e.in]++
		sits[e.node] = e.in
		f.moves[n.place.Job] = append(f.moves[n.place.Job], m)
	}
}

// size is that of a piece.
func (f *fitting) size(chains []chain, p piece) shim.Length {
	switch p.kind {
	case pulled:
		return f.nodes[p.node].valve.Installed
	case fresh:
		return f.nodes[p.node].valve.Size
	}
	return chains[p.node].lent.size
}
