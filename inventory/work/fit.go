package work

import (
	"context"
	"maps"
	"slices"

	"shimwright/inventory"
	"shimwright/shim"
)

// A Fitted is what a fit booked, with the job before and after it.
type Fitted struct {
	inventory.Receipt
	Fit           inventory.Fit
	Before, After inventory.File
}

// Fit books what was fitted in the job. Sizes that were typed in inches mean the
// sizes of the plan and of the box that read the same.
func Fit(ctx context.Context, shop *inventory.Shop, before inventory.File, fit inventory.Fit) (*Fitted, error) {
	if err := meant(ctx, shop, before, fit.Instead); err != nil {
		return nil, err
	}
	receipt, err := shop.Fit(ctx, before.Job.ID, fit)
	if err != nil {
		return nil, err
	}
	f := &Fitted{Receipt: receipt, Fit: fit, Before: before}
	f.After, err = shop.Job(ctx, before.Job.ID)
	return f, err
}

// meant puts the sizes of the box and of the plan in the place of typed ones
// that read the same: no decimal of an inch is exactly 2.4 mm.
func meant(ctx context.Context, shop *inventory.Shop, f inventory.File, list []inventory.Instead) error {
	if len(list) == 0 {
		return nil
	}
	stocks, err := shop.Stocks(ctx, inventory.StockFilter{})
	if err != nil {
		return err
	}
	e := &f.Engine.Spec
	for i := range list {
		typed, family := list[i].Size, e.FamilyOf(list[i].Valve)
		var sizes []shim.Length
		for _, p := range f.Left {
			if e.FamilyOf(p.Valve) == family {
				sizes = append(sizes, p.Size)
			}
		}
		for _, s := range stocks {
			if s.Family == family {
				sizes = append(sizes, s.Size)
			}
		}
		if at := slices.IndexFunc(sizes, func(l shim.Length) bool { return Same(typed, l, shim.IN) }); typed != 0 && at >= 0 && !slices.Contains(sizes, typed) {
			list[i].Size = sizes[at]
		}
	}
	return nil
}

// A Departure is a shim that went in where the plan had another, or none.
type Departure struct {
	Valve   shim.Valve
	Planned shim.Length // 0 where the valve was not in the plan
}

// Departures lists what went in otherwise than planned.
func (f *Fitted) Departures() []Departure {
	var list []Departure
	for _, i := range f.Fit.Instead {
		d := Departure{Valve: i.Valve}
		if at := slices.IndexFunc(f.Before.Left, func(p inventory.Placement) bool { return p.Valve == i.Valve }); at >= 0 {
			d.Planned = f.Before.Left[at].Size
		}
		if d.Planned == 0 || i.Size != d.Planned {
			list = append(list, d)
		}
	}
	return list
}

// Outside lists the valves whose clearance is to be expected outside the limits,
// since another shim came out than was read, or another one went in than planned.
// Where none is left the engine must not be turned.
func (f *Fitted) Outside() []inventory.Expected {
	told := map[shim.Valve]bool{}
	for _, o := range f.After.Otherwise {
		told[o.Valve] = true
	}
	for _, i := range f.Fit.Instead {
		told[i.Valve] = true
	}
	if f.After.Plan != nil {
		for _, p := range f.After.Plan.Placements {
			told[p.Valve] = told[p.Valve] || p.Source == inventory.SourceMoved && told[p.From]
		}
	}
	var list []inventory.Expected
	for _, x := range f.After.Expected {
		if told[x.Valve] && !f.After.Engine.Spec.TrainOf(x.Valve).Limits.Contain(x.Clearance) {
			list = append(list, x)
		}
	}
	return list
}

// Unreceived lists the bought pieces that the fit booked in, since nobody had.
func (f *Fitted) Unreceived() []inventory.Movement {
	return slices.DeleteFunc(slices.Clone(f.Movements), func(m inventory.Movement) bool { return m.Kind != inventory.KindReceived })
}

// OutOfSetUp reports whether a set-up shim of the bench set came out.
func (f *Fitted) OutOfSetUp() bool {
	return slices.ContainsFunc(f.Before.Seats, func(s inventory.Seat) bool {
		return s.SetUp && s.Size() != 0 && slices.ContainsFunc(f.Movements, func(m inventory.Movement) bool { return m.Valve == s.Valve })
	})
}

// Elsewhere lists the job's own valves for which another piece lies ready than
// before.
func (f *Fitted) Elsewhere() []inventory.Pick {
	var list []inventory.Pick
	for _, p := range f.After.Picks {
		for _, old := range f.Before.Picks {
			if old.Valve == p.Valve && old.ForNow == p.ForNow && old.OnHand && p.OnHand && old.Lot != p.Lot {
				list = append(list, p)
			}
		}
	}
	return list
}

// Exchanges lists what came out of the valves and what went in.
func (f *Fitted) Exchanges() []Exchange {
	from := map[shim.Valve]shim.Valve{}
	for _, p := range f.Before.Left {
		told := slices.ContainsFunc(f.Fit.Instead, func(i inventory.Instead) bool { return i.Valve == p.Valve && i.Size != p.Size }) ||
			slices.ContainsFunc(f.Fit.Taken, func(t inventory.Taken) bool { return t.Valve == p.Valve })
		if p.Source == inventory.SourceMoved && !told {
			from[p.Valve] = p.From
		}
	}
	return Exchanges(f.Movements, from)
}

// An ExchangeKind says where a shim went that came out of a valve, or came from
// that went in.
type ExchangeKind int

// Kinds of exchange.
const (
	CameOut    ExchangeKind = iota // to the bin of its lot, where it has one and is not passed on
	Scrapped                       // thrown away
	Unscrapped                     // was thrown away, and goes in again
	FromBox                        // from the bin of its lot
	FromValve
)

// A Change is one shim that came out of a valve or went in.
type Change struct {
	Kind   ExchangeKind
	Lot    inventory.Lot
	From   shim.Valve // of FromValve, where the plan tells
	Passed bool       // it went from valve to valve, and no bin saw it
}

// An Exchange is what happened to the shim of a valve, in the ledger's order.
type Exchange struct {
	Valve   shim.Valve
	Changes []Change
}

// Exchanges lists, by valve, what the movements took out and put in. From names
// the valve whose shim a valve was to get.
func Exchanges(list []inventory.Movement, from map[shim.Valve]shim.Valve) []Exchange {
	var rows []Exchange
	passed := passedOn(list)
	for _, m := range list {
		if m.Valve == (shim.Valve{}) || m.Kind == inventory.KindCorrected {
			continue
		}
		at := slices.IndexFunc(rows, func(r Exchange) bool { return r.Valve == m.Valve })
		if at < 0 {
			at, rows = len(rows), append(rows, Exchange{Valve: m.Valve})
		}
		donor, moved := from[m.Valve]
		moved = moved && slices.ContainsFunc(list, func(x inventory.Movement) bool { return x.Kind == inventory.KindPulled && x.Valve == donor })
		c := Change{Lot: m.Lot, Passed: passed[m.Lot]}
		switch {
		case m.Kind == inventory.KindScrapped:
			c.Kind = Scrapped
		case m.Count > 0:
			c.Kind = CameOut
		case moved:
			c.Kind, c.From = FromValve, donor
		case c.Passed:
			c.Kind = FromValve
		default:
			c.Kind = FromBox
		}
		rows[at].Changes = append(rows[at].Changes, c)
	}
	slices.SortStableFunc(rows, func(x, y Exchange) int { return x.Valve.Compare(y.Valve) })
	return rows
}

// Reversed lists, by valve, what has to come out and to go in where the movements
// take back all that a job fitted. What was booked in between and taken back is
// left out: a correction, a shim that a later fit changed again.
func Reversed(list []inventory.Movement) []Exchange {
	trash := map[shim.Valve][]inventory.Lot{} // thrown away, and taken back
	var moves []inventory.Movement
	left := map[inventory.Lot]int{} // what the box gets, and gives
	for _, m := range list {
		if m.Kind == inventory.KindScrapped {
			trash[m.Valve] = append(trash[m.Valve], m.Lot)
			continue
		}
		moves = append(moves, m)
		if m.Valve != (shim.Valve{}) && m.Kind != inventory.KindCorrected {
			left[m.Lot] += m.Count
		}
	}
	rows := Exchanges(moves, nil)
	for i := range rows {
		r := &rows[i]
		lot := func(x, y inventory.Lot) bool { return x == y }
		marks := func(x, y inventory.Lot) bool { return x.Marks == y.Marks }
		r.Changes = unpaired(unpaired(r.Changes, lot), marks)
		for k := range r.Changes {
			c := &r.Changes[k]
			if at := slices.Index(trash[r.Valve], c.Lot); c.Kind != CameOut && at >= 0 {
				c.Kind = Unscrapped
				trash[r.Valve] = slices.Delete(trash[r.Valve], at, at+1)
				left[c.Lot]++
			}
		}
	}
	rows = slices.DeleteFunc(rows, func(r Exchange) bool { return len(r.Changes) == 0 })
	fromBox(rows, left)
	return rows
}

// fromBox names the lots of the box. A shim of another lot of the same size may
// have gone through the valve: what is new in its bin comes out as a used one.
func fromBox(rows []Exchange, left map[inventory.Lot]int) {
	lots := slices.SortedFunc(maps.Keys(left), inventory.Lot.Compare)
	for _, exact := range []bool{true, false} {
		for _, r := range rows {
			for i := range r.Changes {
				c, sign := &r.Changes[i], 1
				if c.Kind != CameOut {
					sign = -1
				}
				at := slices.IndexFunc(lots, func(l inventory.Lot) bool {
					return left[l]*sign > 0 && (l == c.Lot || !exact && c.Passed && l.Diameter == c.Lot.Diameter && l.Marks == c.Lot.Marks)
				})
				if at < 0 || c.Kind == Unscrapped {
					continue
				}
				left[lots[at]] -= sign
				c.Lot, c.Passed = lots[at], false
				if sign < 0 {
					c.Kind = FromBox
				}
			}
		}
	}
}

// unpaired leaves out each shim that came out and went in again.
func unpaired(list []Change, same func(x, y inventory.Lot) bool) []Change {
	list = slices.Clone(list)
	for out := 0; out < len(list); out++ {
		if list[out].Kind != CameOut {
			continue
		}
		in := slices.IndexFunc(list, func(c Change) bool { return c.Kind != CameOut && same(c.Lot, list[out].Lot) })
		if in >= 0 {
			list = slices.Delete(list, max(out, in), max(out, in)+1)
			list = slices.Delete(list, min(out, in), min(out, in)+1)
			out = -1
		}
	}
	return list
}

// passedOn are the lots whose pieces only went from valve to valve: no bin saw
// them.
func passedOn(list []inventory.Movement) map[inventory.Lot]bool {
	net, in := map[inventory.Lot]int{}, map[inventory.Lot]bool{}
	for _, m := range list {
		if m.Valve != (shim.Valve{}) && (m.Kind != inventory.KindCorrected || m.Count < 0) {
			net[m.Lot] += m.Count
			in[m.Lot] = in[m.Lot] || m.Count > 0
		}
	}
	passed := map[inventory.Lot]bool{}
	for lot := range net {
		passed[lot] = in[lot] && net[lot] == 0
	}
	return passed
}

// A ForNow is a row of the fitting list that puts a temporary shim into a valve,
// which is not booked, and the row that puts its own in.
type ForNow struct {
	Valve    shim.Valve
	Row, Own int
}

// ForNows lists the rows for the valves. There are none where the plan is older
// than its fitting list.
func ForNows(f inventory.File, valves []shim.Valve) []ForNow {
	p, err := PlanOf(f, f.Plan)
	if err != nil {
		return nil
	}
	var rows []ForNow
	moves := p.Jobs[0].Moves
	for _, m := range moves {
		if !m.Temporary || !slices.Contains(valves, m.Valve) {
			continue
		}
		for _, own := range moves {
			if own.Valve == m.Valve && !own.Temporary {
				rows = append(rows, ForNow{m.Valve, m.Step, own.Step})
			}
		}
	}
	return rows
}
