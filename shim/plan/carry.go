package plan

import (
	"maps"
	"slices"

	"shimwright/shim"
	"shimwright/shim/assign"
	"shimwright/shim/doubt"
)

// carry writes the solution into the plan: an action at every valve, and the
// lots that are bought, drawn and left over.
func (n *network) carry(solution *assign.Solution) {
	takers := make([][]spot, len(n.problem.Bins)) // of pulled shims of other valves
	donors := make([][]spot, len(n.problem.Bins)) // whose own shim goes
	left := maps.Clone(n.mix)
	placements := solution.Placements
	for row := range n.demands {
		d := &n.demands[row]
		own := n.problem.Rows[row].Stay
		count := 0
		for count < len(placements) && placements[count].Row == row {
			count++
		}
		// Those that stay come first, so that of equal valves the first ones keep
		// their shims.
		mine := placements[:count]
		placements = placements[count:]
		slices.SortStableFunc(mine, func(a, b assign.Placement) int { return stays(b, own) - stays(a, own) })
		valves := d.valves
		for _, at := range mine {
			for _, where := range valves[:at.Count] {
				n.settle(d, where, at.Bin, own, takers, left)
				if at.Bin != own && d.pool != nonePool {
					donors[own] = append(donors[own], where)
				}
			}
			valves = valves[at.Count:]
		}
	}
	for bin := range takers {
		n.handOver(bin, takers[bin], donors[bin])
	}
}

func stays(p assign.Placement, own int) int {
	if p.Bin == own {
		return 1
	}
	return 0
}

func (n *network) valve(at spot) *ValvePlan { return &n.job(at.job).Valves[at.valve] }

// settle says what one valve gets; left are the mixes of what the box still has.
func (n *network) settle(d *demand, where spot, bin, own int, takers [][]spot, left map[shim.Length]mix) {
	v := n.valve(where)
	switch {
	case bin == own:
		v.Action = Keep
		if !d.inside || d.pool == nonePool {
			v.Action = Leave
		}
		return
	case bin == assign.None:
		v.Action, v.Size, v.Quote, v.Miked = Buy, d.offer.Size, d.offer.Quote, false
	default:
		b := n.problem.Bins[bin]
		v.Size = shim.Length(b.Size)
		switch {
		case isBox(b.Pool):
			v.Action = Box
			known := n.boxKnown(b.Pool, v.Size, left)
			v.Miked, v.Used = known == doubt.Miked, known == doubt.Used
		case b.Pool < boxPool:
			v.Action, v.Quote, v.Miked = Buy, n.supply[bin].Quote, false
		default:
			v.Action = Swap
			takers[bin] = append(takers[bin], where)
		}
	}
	v.Expected = d.Expect(v.Size)
	lot := Pieces{Disc: n.family.Of(v.Size), Count: 1}
	switch v.Action {
	case Box:
		n.plan.Drawn = append(n.plan.Drawn, lot)
	case Buy:
		lot.Price, lot.Priced = v.Price, v.Priced
		n.plan.Shopping = append(n.plan.Shopping, lot)
	}
}

// boxKnown takes a shim of the box out of a pool and says how its size is known.
func (n *network) boxKnown(pool int32, size shim.Length, left map[shim.Length]mix) doubt.Source {
	switch {
	case !n.request.apart():
		m := left[size]
		known := m.next()
		left[size] = m
		return known
	case pool == boxPool:
		return doubt.Stamped
	case pool == usedPool:
		return doubt.Used
	}
	return doubt.Miked
}

// handOver gives every taker of a pulled size the shim of one donor, of its
// own engine where it can be, and leaves the rest over.
func (n *network) handOver(bin int, takers, donors []spot) {
	slices.SortFunc(takers, compareSpots)
	slices.SortFunc(donors, compareSpots)
	var waiting, spare []spot // beyond those of the same job
	for len(takers) > 0 || len(donors) > 0 {
		switch {
		case len(donors) == 0 || len(takers) > 0 && takers[0].job < donors[0].job:
			waiting, takers = append(waiting, takers[0]), takers[1:]
		case len(takers) == 0 || donors[0].job < takers[0].job:
			spare, donors = append(spare, donors[0]), donors[1:]
		default:
			n.hand(donors[0], takers[0])
			takers, donors = takers[1:], donors[1:]
		}
	}
	for i, taker := range waiting {
		n.hand(spare[i], taker)
	}
	if left := len(spare) - len(waiting); left > 0 {
		n.plan.LeftOver = append(n.plan.LeftOver, Pieces{Disc: n.family.Of(shim.Length(n.problem.Bins[bin].Size)), Count: left})
	}
}

// hand gives the donor's shim to the taker.
func (n *network) hand(donor, taker spot) {
	n.valve(taker).Miked = n.valve(donor).InstalledMiked
	n.valve(taker).Used = !n.valve(donor).InstalledMiked
	n.valve(taker).From = &Place{Job: n.ranked[donor.job], Valve: n.valve(donor).Valve}
}
