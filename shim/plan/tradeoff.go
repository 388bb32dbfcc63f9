package plan

import (
	"context"
	"fmt"
	"slices"

	"shimwright/shim"
	"shimwright/shim/assign"
)

// A Trade is one row of a trade-off: the best plan with at most so many
// purchases.
type Trade struct {
	Buy    int
	Plan   *Plan
	Margin shim.Length // of the worst open valve inside its limits
	Sure   float64     // the least probability of such a valve to be inside
}

// mostTrades bounds the rows of a trade-off.
const mostTrades = 60

// TradeOff shows what one more shim buys. Beginning with the fewest purchases
// that leave the fewest valves outside, it gives for each number of purchases
// the widest margin that the worst open valve can have, then the least total
// deviation, then the lowest cost, the fewest shims drawn, valves disturbed and
// valves changed. Rows that improve on neither are left out, and the last row is
// what no further purchase improves; of more than 60 the first ones and the last
// one are given. Every row is exact. There is none where no open valve can be
// served.
func TradeOff(ctx context.Context, q Request) ([]Trade, error) {
	t, err := newTrader(ctx, q)
	if err != nil || t.served == 0 {
		return nil, err
	}
	best, err := t.row(unbounded)
	if err != nil {
		return nil, err
	}
	var rows []Trade
	for buy := t.fewest; buy < best.Plan.Criteria.Bought && len(rows) < mostTrades-1; buy++ {
		row, err := t.row(buy)
		if err != nil {
			return nil, err
		}
		if n := len(rows); n > 0 && !row.improves(&rows[n-1]) {
			continue
		}
		rows = append(rows, *row)
	}
	best.Buy = best.Plan.Criteria.Bought
	best.Plan.Buy = &best.Buy
	return append(rows, *best), nil
}

// improves reports whether the row has a wider margin or less deviation.
func (t *Trade) improves(before *Trade) bool {
	return t.Margin > before.Margin || t.Plan.Criteria.Deviation < before.Plan.Criteria.Deviation
}

// Buying plans the request with at most n purchases: one row of [TradeOff]. The
// widest margin at the worst valve comes first, then the least deviation; the
// request's policy, margin and confidence do not count. Its errors are those of
// [Make]; fewer purchases than serve the most valves are [ErrRequest].
func Buying(ctx context.Context, q Request, n int) (*Plan, error) {
	t, err := newTrader(ctx, q)
	if err != nil {
		return nil, err
	}
	if n < t.fewest {
		return nil, fmt.Errorf("%w: with at most %d bought more valves stay outside their limits; the fewest is %d", ErrRequest, n, t.fewest)
	}
	row, err := t.row(n)
	if err != nil {
		return nil, err
	}
	return row.Plan, nil
}

// unbounded stands for any number of purchases.
const unbounded = -1

// A trader finds the rows of a trade-off.
type trader struct {
	request Request
	maker   *maker // for looking only: nothing is carried into its plan
	outside int    // the fewest open, measured valves left outside their limits
	fewest  int    // the fewest purchases for that
	served  int    // the others
}

func newTrader(ctx context.Context, q Request) (*trader, error) {
	// A trade-off sets margin against purchases as the valves stand now: risk is
	// no part of it.
	q.Jobs = slices.Clone(q.Jobs)
	for i := range q.Jobs {
		q.Jobs[i].Risk = nil
	}
	m, err := newMaker(ctx, q)
	if err != nil {
		return nil, err
	}
	q.shelf = m.stock.shelf
	t := &trader{request: q, maker: m}
	if t.outside, t.fewest, err = t.missing(0); err != nil {
		return nil, err
	}
	for i := range m.plan.Jobs {
		for k := range m.plan.Jobs[i].Valves {
			if takesPart(&m.plan.Jobs[i].Valves[k]) {
				t.served++
			}
		}
	}
	t.served -= t.outside
	return t, nil
}

// byPurchases is the order that asks how few purchases a margin takes: a valve
// nearer to a limit than the margin counts as one outside.
var byPurchases = places{unserved: 0, near: 0, bought: 1, cost: 2, disturbed: 3, drawn: 4, deviation: 5, changed: 6, risk: 7}

// byDeviation is the order of the plans of a trade-off.
var byDeviation = places{unserved: 0, near: 0, deviation: 1, bought: 2, cost: 3, drawn: 4, disturbed: 5, changed: 6, risk: 7}

// missing gives the fewest valves that do not keep the margin, and the fewest
// purchases for that.
func (t *trader) missing(margin shim.Length) (outside, bought int, err error) {
	clear := &clearing{margin: margin}
	for _, family := range t.maker.stock.families {
		solution, err := newNetwork(t.maker, family, byPurchases, clear).solve()
		if err != nil {
			return 0, 0, err
		}
		outside += int(solution.Total[byPurchases.unserved])
		bought += int(solution.Total[byPurchases.bought])
	}
	return outside, bought, nil
}

// widest is the widest margin that the worst valve can have with so many
// purchases at the most. The purchases that a margin takes only grow with it,
// so halving finds it, to the nanometre.
func (t *trader) widest(buy int) (shim.Length, error) {
	low, high := shim.Length(0), shim.Length(1) // low can be had, high cannot
	for i := range t.maker.plan.Jobs {
		e := t.maker.plan.Jobs[i].Engine
		for _, side := range shim.Sides {
			for _, closer := range []bool{false, true} {
				t := e.TrainOf(shim.Valve{Side: side, Closer: closer})
				high = max(high, (t.Loose-t.Tight)/2+1)
			}
		}
	}
	for high-low > 1 {
		middle := low + (high-low)/2
		outside, bought, err := t.missing(middle)
		if err != nil {
			return 0, err
		}
		if outside == t.outside && (buy == unbounded || bought <= buy) {
			low = middle
		} else {
			high = middle
		}
	}
	return low, nil
}

// row is the best plan with at most so many purchases.
func (t *trader) row(buy int) (*Trade, error) {
	margin, err := t.widest(buy)
	if err != nil {
		return nil, err
	}
	m, err := newMaker(t.maker.ctx, t.request)
	if err != nil {
		return nil, err
	}
	solved, err := m.bounded(&clearing{margin: margin}, buy)
	if err != nil {
		return nil, err
	}
	for _, s := range solved {
		s.network.carry(s.solution)
	}
	p := m.finish()
	if buy != unbounded {
		p.Buy = &buy
	}
	row := &Trade{Buy: buy, Plan: p, Margin: margin, Sure: 1}
	for i := range p.Jobs {
		j := &p.Jobs[i]
		for k := range j.Valves {
			v := &j.Valves[k]
			if !takesPart(v) || !v.Served() {
				continue
			}
			if f, ok := j.Forecast(v); ok {
				row.Sure = min(row.Sure, f.Inside)
			}
		}
	}
	return row, nil
}

// A solved is a network and its solution.
type solved struct {
	network  *network
	solution *assign.Solution
}

// bounded solves the networks of all families with so many purchases at the
// most together.
func (m *maker) bounded(clear *clearing, buy int) ([]solved, error) {
	solve := func(family shim.Family, buy int) (s solved, err error) {
		s.network = newNetwork(m, family, byDeviation, clear)
		if buy != unbounded {
			s.network.bound(buy)
		}
		s.solution, err = s.network.solve()
		return s, err
	}
	families := m.stock.families
	if len(families) == 1 || buy == unbounded {
		var all []solved
		for _, family := range families {
			s, err := solve(family, buy)
			if err != nil {
				return nil, err
			}
			all = append(all, s)
		}
		return all, nil
	}
	// The purchases are shared out: best[n] is the best that the families so
	// far can do with n at the most.
	type share struct {
		total assign.Cost
		all   []solved
	}
	best := make([]share, buy+1)
	for _, family := range families {
		next := make([]share, buy+1)
		for own := 0; own <= buy; own++ {
			s, err := solve(family, own)
			if err != nil {
				return nil, err
			}
			for others := 0; own+others <= buy; others++ {
				total := best[others].total
				total.Add(&s.solution.Total, 1)
				if n := own + others; next[n].all == nil || total.Less(&next[n].total) {
					next[n] = share{total, append(append([]solved(nil), best[others].all...), s)}
				}
			}
		}
		best = next
	}
	return best[buy].all, nil
}

// bound lets the network buy so many shims at the most. A way outside is a
// purchase already; a piece of a supplier's stock becomes one by a demand that
// waits in its place, costs nothing and has to go outside when it is taken.
func (n *network) bound(buy int) {
	n.problem.MostOutside = &buy
	for bin := range n.supply {
		n.problem.Rows = append(n.problem.Rows, assign.Row{Count: n.problem.Bins[bin].Count, Thin: 1, Thick: 0, Stay: bin, Outside: &assign.Cost{}})
	}
}
