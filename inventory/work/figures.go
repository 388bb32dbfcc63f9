package work

import (
	"cmp"
	"context"
	"maps"
	"slices"
	"time"

	"shimwright/inventory"
	"shimwright/shim"
)

// A Month is the first day of a month, in the shop's time.
type Month = time.Time

func monthOf(t time.Time, in *time.Location) Month {
	t = t.In(in)
	return time.Date(t.Year(), t.Month(), 1, 0, 0, 0, 0, in)
}

// A Use is what became of a size in a month, in pieces.
type Use struct {
	Month Month
	shim.Disc
	Received, Fitted, Pulled, Scrapped int
}

// Out is how many pieces more left the box than came back out of engines.
func (u Use) Out() int { return u.Fitted + u.Scrapped - u.Pulled }

// A Spending is what was received and paid in a month for one model from one
// supplier. What was bought for no job has no model.
type Spending struct {
	Month           Month
	Model, Supplier string
	Pieces          int
	Cost            shim.Price
	Unpriced        int // of the pieces, those without a price
}

// A Holding is what the box holds of one family, at the prices last paid for each
// size.
type Holding struct {
	shim.Family
	Pieces   int
	Value    shim.Price
	Unpriced int // of the pieces, those of a size never bought at a known price
}

// An Idle lot is one that nothing was taken from or put into since.
type Idle struct {
	inventory.Lot
	Pieces int
	Since  time.Time
	Value  shim.Price
	Priced bool
}

// Uses lists what was used since a time, by month, family and size.
func Uses(ctx context.Context, shop *inventory.Shop, since time.Time) ([]Use, error) {
	rows, err := shop.Standing(ctx, 0)
	if err != nil {
		return nil, err
	}
	type key struct {
		Month
		shim.Disc
	}
	sums := map[key]*Use{}
	for _, m := range rows {
		if m.Time.Before(since) {
			continue
		}
		k := key{monthOf(m.Time, since.Location()), m.Disc()}
		u := sums[k]
		if u == nil {
			u = &Use{Month: k.Month, Disc: k.Disc}
		}
		switch m.Kind {
		case inventory.KindReceived:
			u.Received += m.Count
		case inventory.KindFitted:
			u.Fitted -= m.Count
		case inventory.KindPulled:
			u.Pulled += m.Count
		case inventory.KindScrapped:
			u.Scrapped -= m.Count
		default: // moved in the box, or counted
			continue
		}
		sums[k] = u
	}
	list := make([]Use, 0, len(sums))
	for _, u := range sums {
		list = append(list, *u)
	}
	slices.SortFunc(list, func(x, y Use) int { return cmp.Or(x.Month.Compare(y.Month), x.Disc.Compare(y.Disc)) })
	return list, nil
}

// Spendings lists what was bought since a time, by month, model and supplier.
func Spendings(ctx context.Context, shop *inventory.Shop, since time.Time) ([]Spending, error) {
	rows, err := shop.Standing(ctx, 0)
	if err != nil {
		return nil, err
	}
	jobs, err := shop.Jobs(ctx, inventory.JobFilter{})
	if err != nil {
		return nil, err
	}
	models := map[int64]string{}
	for _, j := range jobs {
		models[j.ID] = j.Name
	}
	type key struct {
		Month
		model, supplier string
	}
	sums, names := map[key]*Spending{}, inventory.Spelling{}
	for _, m := range rows {
		if m.Kind != inventory.KindReceived || m.Time.Before(since) {
			continue
		}
		k := key{monthOf(m.Time, since.Location()), models[m.Job], ""}
		if m.Order != nil {
			k.supplier = names.Of(m.Order.Supplier)
		}
		s := sums[k]
		if s == nil {
			s = &Spending{Month: k.Month, Model: k.model, Supplier: k.supplier}
			sums[k] = s
		}
		s.Pieces += m.Count
		if m.Priced {
			s.Cost += m.Price * shim.Price(m.Count)
		} else {
			s.Unpriced += m.Count
		}
	}
	list := make([]Spending, 0, len(sums))
	for _, s := range sums {
		list = append(list, *s)
	}
	slices.SortFunc(list, func(x, y Spending) int {
		return cmp.Or(x.Month.Compare(y.Month), cmp.Compare(x.Model, y.Model), cmp.Compare(x.Supplier, y.Supplier))
	})
	return list, nil
}

// Stock lists what the box holds by family, and the lots that nothing moved since a
// time, those longest at rest first.
func Stock(ctx context.Context, shop *inventory.Shop, since time.Time) (holdings []Holding, idle []Idle, err error) {
	rows, err := shop.Standing(ctx, 0)
	if err != nil {
		return nil, nil, err
	}
	lots, err := shop.Balances(ctx, inventory.StockFilter{})
	if err != nil {
		return nil, nil, err
	}
	prices, last := map[shim.Disc]shim.Price{}, map[inventory.Lot]time.Time{}
	for _, m := range rows {
		if m.Kind == inventory.KindReceived && m.Priced {
			prices[m.Disc()] = m.Price
		}
		last[m.Lot] = m.Time
	}
	sums := map[shim.Family]*Holding{}
	for _, b := range lots {
		if b.Count == 0 {
			continue
		}
		h := sums[b.Family]
		if h == nil {
			h = &Holding{Family: b.Family}
			sums[b.Family] = h
		}
		price, priced := prices[b.Disc()]
		h.Pieces += b.Count
		if h.Value += price * shim.Price(b.Count); !priced {
			h.Unpriced += b.Count
		}
		if at := last[b.Lot]; at.Before(since) {
			idle = append(idle, Idle{Lot: b.Lot, Pieces: b.Count, Since: at, Value: price * shim.Price(b.Count), Priced: priced})
		}
	}
	for _, f := range slices.SortedFunc(maps.Keys(sums), shim.Family.Compare) {
		holdings = append(holdings, *sums[f])
	}
	slices.SortFunc(idle, func(x, y Idle) int { return cmp.Or(x.Since.Compare(y.Since), x.Lot.Compare(y.Lot)) })
	return holdings, idle, nil
}

// A Throughput is how the jobs went whose first plan was made in a month, but for
// those cancelled.
type Throughput struct {
	Month   Month
	Jobs    int
	AtOnce  int             // of them: the first plan bought nothing
	Waiting int             // bought something, and not yet fitted
	Waited  []time.Duration // those that bought and were fitted: from the plan to the fit, the shortest first
	Again   int             // taken apart a second time: another plan was fitted after the first one
}

// Throughputs lists how the jobs went since a time, by month of their first plan.
func Throughputs(ctx context.Context, shop *inventory.Shop, since time.Time) ([]Throughput, error) {
	jobs, err := shop.Jobs(ctx, inventory.JobFilter{})
	if err != nil {
		return nil, err
	}
	sums := map[Month]*Throughput{}
	for _, j := range jobs {
		if j.Plan == 0 || j.State == inventory.StateCancelled || j.Changed.Before(since) {
			continue
		}
		plans, err := shop.Plans(ctx, j.ID)
		if err != nil {
			return nil, err
		}
		first := plans[0]
		if first.Time.Before(since) {
			continue
		}
		rows, err := shop.Standing(ctx, j.ID)
		if err != nil {
			return nil, err
		}
		m := monthOf(first.Time, since.Location())
		t := sums[m]
		if t == nil {
			t = &Throughput{Month: m}
			sums[m] = t
		}
		t.Jobs++
		fits := fitTimes(rows, plans)
		if len(fits) > 1 {
			t.Again++
		}
		switch {
		case !slices.ContainsFunc(first.Placements, func(p inventory.Placement) bool { return p.Source == inventory.SourceBought }):
			t.AtOnce++
		case len(fits) == 0:
			t.Waiting++
		default:
			t.Waited = append(t.Waited, fits[0].Sub(first.Time))
		}
	}
	var list []Throughput
	for _, m := range slices.SortedFunc(maps.Keys(sums), Month.Compare) {
		slices.Sort(sums[m].Waited)
		list = append(list, *sums[m])
	}
	return list, nil
}

// fitTimes gives the time of the first fit of each plan that was fitted.
func fitTimes(rows []inventory.Movement, plans []inventory.KeptPlan) (times []time.Time) {
	done := map[int]bool{}
	for _, m := range rows {
		at := 0
		for _, p := range plans {
			if p.Seq < m.Seq {
				at = p.Number
			}
		}
		if m.Kind == inventory.KindFitted && at > 0 && !done[at] {
			done[at] = true
			times = append(times, m.Time)
		}
	}
	return times
}
