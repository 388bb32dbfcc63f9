package plan

import (
	"cmp"
	"context"
	"fmt"
	"math"
	"slices"

	"shimwright/shim"
	"shimwright/shim/assign"
	"shimwright/shim/doubt"
)

// The pools of a network: limited offers of the supplier below boxPool, one
// pool for each further offer of a size; the box; the pulled shims, for each job
// or, where they are shared, for all. Where the plan asks for a confidence, the odd
// pools are for shims that a micrometer measured, and the box has one for used
// shims that none did, as pulled shims are.
const (
	boxPool    int32 = 0
	usedPool   int32 = 2
	pulledPool int32 = 4
	// In a fresh build a valve that nothing serves stays without a shim.
	nonePool int32 = math.MaxInt32
)

// isBox reports whether the pool is one of the box.
func isBox(pool int32) bool { return boxPool <= pool && pool < pulledPool }

// A demand is a group of valves equal in everything that a cost depends on.
type demand struct {
	shim.Setting
	clear  [len(origins)]shim.Limits                // expected clearances that are not near a limit, by origin
	inside bool                                     // now, with its own shim
	pool   int32                                    // of its own shim, or nonePool
	offer  *shim.Offer                              // the best one without limit, or nil
	valves []spot                                   // in order
	risk   func(size shim.Length, origin int) int64 // or nil
}

// The origins of a shim, by what they leave in doubt.
const (
	itself  = iota // the valve's own, whose size cancels
	stamped        // a new one, by its mark
	miked          // another one, by micrometer
	used           // a used one, by its mark
)

// origins is how the size of a shim from each is known.
var origins = [...]doubt.Source{stamped: doubt.Stamped, miked: doubt.Miked, used: doubt.Used}

// A spot is a valve by its place: the job's by rank, the valve's in the job.
type spot struct{ job, valve int32 }

func compareSpots(a, b spot) int {
	return cmp.Or(cmp.Compare(a.job, b.job), cmp.Compare(a.valve, b.valve))
}

// A network is the assignment problem of one family of shims: pulled shims, box and
// limited offers are bins, open valves rows, and the best offer without limit
// is a row's way outside.
type network struct {
	ctx     context.Context
	request *Request
	plan    *Plan
	ranked  []int // the plan's jobs by rank
	family  shim.Family
	at      places
	clear   *clearing
	problem assign.Problem
	demands []demand            // by row
	supply  []shim.Offer        // of the first bins
	mix     map[shim.Length]mix // of the box's sizes, where no pool says how they are known
}

// newNetwork builds the problem of a family for an order of the criteria and
// for what counts as near.
func newNetwork(m *maker, family shim.Family, at places, clear *clearing) *network {
	n := &network{ctx: m.ctx, request: &m.request, plan: m.plan, ranked: m.ranked, family: family, at: at, clear: clear}
	n.addBins(m.stock)
	n.addRows(m.stock)
	n.problem.Cost = n.cost
	n.problem.Progress = m.request.Progress
	return n
}

// solve finds the cheapest assignment.
func (n *network) solve() (*assign.Solution, error) {
	solution, err := assign.Solve(n.ctx, &n.problem)
	if err != nil {
		return nil, fmt.Errorf("shims of %s mm: %w", n.family, err)
	}
	if n.request.Verify {
		if err := n.problem.Verify(solution); err != nil {
			return nil, fmt.Errorf("shims of %s mm: %w", n.family, err)
		}
	}
	return solution, nil
}

// job is the job of a rank.
func (n *network) job(rank int32) *JobPlan { return &n.plan.Jobs[n.ranked[rank]] }

// pulledFrom is the pool of a shim pulled in the job of a rank.
func (n *network) pulledFrom(rank int32, miked bool) int32 {
	if n.request.SharePulled {
		rank = 0
	}
	return n.variant(pulledPool+2*rank, doubt.SourceOf(miked, false))
}

// variant is the pool, or the one beside it for shims whose size is known that way,
// where that makes a difference.
func (n *network) variant(pool int32, known doubt.Source) int32 {
	switch {
	case !n.request.apart():
	case known == doubt.Miked:
		pool++
	case known == doubt.Used:
		pool += usedPool
	}
	return pool
}

// takesPart reports whether the valve can get another shim: it is open, its
// reading has a number and its shim is known, or known to be none. One without
// keeps its shim until it is measured.
func takesPart(v *ValvePlan) bool { return v.Open && v.Measured && (v.Installed != 0 || v.SetUp) }

// poolOf is the pool of the valve's own shim, and its size there.
func (n *network) poolOf(at spot, v *ValvePlan) (int32, shim.Length) {
	if v.SetUp {
		return nonePool, 0
	}
	return n.pulledFrom(at.job, v.InstalledMiked), v.Installed
}

// each calls do with every valve of the family that takes part, by rank of
// its job.
func (n *network) each(do func(at spot, v *ValvePlan)) {
	for rank := range n.ranked {
		j := n.job(int32(rank))
		for k := range j.Valves {
			if v := &j.Valves[k]; takesPart(v) && j.Engine.FamilyOf(v.Valve) == n.family {
				do(spot{int32(rank), int32(k)}, v)
			}
		}
	}
}

// valves is about how many valves take part.
func (n *network) valves() (count int) {
	for i := range n.plan.Jobs {
		if j := &n.plan.Jobs[i]; slices.Contains(j.Engine.Families(), n.family) {
			count += len(j.Valves)
		}
	}
	return count
}

func (n *network) addBins(s *stock) {
	var bins []assign.Bin
	if !n.request.NoBuy {
		bins = n.addSupply(s.offers[n.family])
	}
	n.mix = map[shim.Length]mix{}
	for _, lot := range s.box[n.family] {
		if m, mixed := s.mix[lot.Disc]; mixed {
			n.mix[lot.Size] = m
		}
		bins = append(bins, assign.Bin{Pool: n.variant(boxPool, lot.known), Size: int64(lot.Size), Count: lot.Count})
	}
	bins = slices.Grow(bins, n.valves())
	n.each(func(at spot, v *ValvePlan) {
		pool, size := n.poolOf(at, v)
		bins = append(bins, assign.Bin{Pool: pool, Size: int64(size), Count: 1})
	})
	slices.SortFunc(bins, compareBins) // equal ones become one, in whatever order
	merged := bins[:0]
	for _, b := range bins {
		if last := len(merged) - 1; last >= 0 && compareBins(merged[last], b) == 0 {
			merged[last].Count += b.Count
			continue
		}
		merged = append(merged, b)
	}
	n.problem.Bins = merged
}

// addSupply makes bins of the limited offers, in order.
func (n *network) addSupply(offers []shim.Offer) []assign.Bin {
	type stocked struct {
		bin   assign.Bin
		offer shim.Offer
	}
	var found []stocked
	rank := int32(0)
	for i, offer := range offers {
		if i > 0 && offer.Size != offers[i-1].Size {
			rank = 0
		}
		if offer.Limited && offer.Stock > 0 {
			rank++
			found = append(found, stocked{assign.Bin{Pool: boxPool - rank, Size: int64(offer.Size), Count: offer.Stock}, offer})
		}
	}
	slices.SortFunc(found, func(a, b stocked) int { return compareBins(a.bin, b.bin) })
	bins := make([]assign.Bin, len(found))
	for i, f := range found {
		bins[i] = f.bin
		n.supply = append(n.supply, f.offer)
	}
	return bins
}

func compareBins(a, b assign.Bin) int {
	return cmp.Or(cmp.Compare(a.Pool, b.Pool), cmp.Compare(a.Size, b.Size))
}

func (n *network) findBin(pool int32, size shim.Length) int {
	bin, _ := slices.BinarySearchFunc(n.problem.Bins, assign.Bin{Pool: pool, Size: int64(size)}, compareBins)
	return bin
}

func (n *network) addRows(s *stock) {
	type alike struct {
		engine          *shim.Engine
		side            shim.Side
		closer          bool
		pool            int32
		clearance, size shim.Length
		build           bool
		gauge           shim.Gauge // and the rest where a confidence is asked for
		reading         shim.Reading
		installed       doubt.Source
		over            doubt.Source // of an earlier shim that it was read over, from 1; else 0
		risks           shim.Valve   // where what it risks is asked for: no two valves are alike then
	}
	var common []int32 // pools that every row reaches
	for i, b := range n.problem.Bins {
		if b.Pool < pulledPool && (i == 0 || b.Pool != n.problem.Bins[i-1].Pool) {
			common = append(common, b.Pool)
		}
	}
	pools := map[int32][]int32{}
	seen := map[alike]int{}
	if !n.request.SharePulled {
		n.demands = make([]demand, 0, n.valves())
		n.problem.Rows = make([]assign.Row, 0, n.valves())
	}
	before := int32(0)
	n.each(func(at spot, v *ValvePlan) {
		if n.ctx.Err() != nil {
			return // Solve says so
		}
		j := n.job(at.job)
		if at.job != before && !n.request.SharePulled {
			clear(seen) // valves of two jobs have different pools
			clear(pools)
			before = at.job
		}
		e := j.Engine
		own, stays := n.poolOf(at, v)
		key := alike{engine: e, side: v.Valve.Side, closer: v.Valve.Closer, pool: own, clearance: v.Clearance, size: v.Installed, build: j.Build}
		if n.request.apart() {
			key.gauge, key.reading, key.installed = j.Gauge.Leaves(v.With), v.Reading, v.installed()
			if v.Over != nil {
				key.over = v.over() + 1
			}
		}
		risk := n.risk(at, v)
		if risk != nil {
			key.risks = v.Valve
		}
		row, known := seen[key]
		if !known {
			row = len(n.demands)
			seen[key] = row
			if pools[key.pool] == nil {
				pulled := n.pulledFrom(at.job, v.InstalledMiked)
				pools[key.pool] = append([]int32{pulled}, common...)
				if n.request.apart() {
					pools[key.pool] = append(pools[key.pool], pulled^1) // its twin
				}
			}
			d := demand{
				Setting: v.setting(e),
				inside:  v.Limits.Contain(v.Clearance+v.Allowance.By) && !v.SetUp,
				pool:    key.pool,
				risk:    risk,
			}
			for origin := range d.clear {
				d.clear[origin] = n.clear.of(j.Gauge, v.Limits, v.partsWith(e, origin == itself, origins[origin]))
			}
			thin, thick := d.Accepts()
			r := assign.Row{Thin: int64(thin), Thick: int64(thick), Pools: pools[key.pool], Stay: n.findBin(key.pool, stays)}
			if !n.request.NoBuy {
				d.offer, r.Outside = n.bestOffer(&d, between(s.catalogue(e, n.family), thin, thick))
			}
			n.demands = append(n.demands, d)
			n.problem.Rows = append(n.problem.Rows, r)
		}
		n.demands[row].valves = append(n.demands[row].valves, at)
		n.problem.Rows[row].Count++
	})
}

// risk is what sizes risk at a valve, each worked out once; nil where nobody asks.
func (n *network) risk(at spot, v *ValvePlan) func(size shim.Length, origin int) int64 {
	ask := n.request.Jobs[n.ranked[at.job]].Risk
	if ask == nil {
		return nil
	}
	type fitted struct {
		size   shim.Length
		origin int
	}
	asked := map[fitted]int64{}
	return func(size shim.Length, origin int) int64 {
		key := fitted{size, origin}
		r, found := asked[key]
		if !found {
			known := origins[origin]
			if origin == itself {
				known = v.installed()
			}
			r = ask(Fit{Valve: v.Valve, Size: size, Own: origin == itself, Known: known})
			asked[key] = r
		}
		return r
	}
}

// bestOffer is the best of the offers without limit, with its cost.
func (n *network) bestOffer(d *demand, offers []shim.Offer) (best *shim.Offer, cost *assign.Cost) {
	for i := range offers {
		offer := &offers[i]
		if offer.Limited {
			continue
		}
		var c assign.Cost
		n.fit(d, offer.Size, stamped, &c)
		c[n.at.bought], c[n.at.cost] = 1, int64(offer.Price)
		if cost == nil || c.Less(cost) {
			best, cost = offer, &c
		}
	}
	return best, cost
}

// cost writes what it costs that a valve of the row takes a piece of the bin.
func (n *network) cost(row, bin int, c *assign.Cost) {
	if row >= len(n.demands) { // a piece that waits to be bought
		*c = assign.Cost{}
		return
	}
	d, b := &n.demands[row], &n.problem.Bins[bin]
	*c = assign.Cost{}
	origin := stamped
	switch {
	case b.Pool == nonePool:
		c[n.at.unserved] = 1
		return
	case b.Pool == d.pool && b.Size == int64(d.Size):
		origin = itself
	case b.Pool > boxPool && b.Pool%2 == 1:
		origin = miked
	case b.Pool > boxPool:
		origin = used
	}
	n.fit(d, shim.Length(b.Size), origin, c)
	switch {
	case isBox(b.Pool):
		c[n.at.drawn] = 1
	case b.Pool < boxPool:
		c[n.at.bought], c[n.at.cost] = 1, int64(n.supply[bin].Price)
	}
}

// fit writes what a size means at the valve, wherever the shim comes from.
func (n *network) fit(d *demand, size shim.Length, origin int, c *assign.Cost) {
	expected := d.Expect(size)
	c[n.at.deviation] = int64((expected - d.Aim).Abs())
	c[looser] = -int64(expected)
	if d.risk != nil {
		c[n.at.risk] = d.risk(size, origin)
	}
	switch {
	case d.clear[origin].Contain(expected):
	case d.Contain(expected):
		c[n.at.near] = 1
	default:
		c[n.at.unserved] = 1
	}
	if origin != itself {
		c[n.at.changed] = 1
		if d.inside {
			c[n.at.disturbed] = 1
		}
	}
}
