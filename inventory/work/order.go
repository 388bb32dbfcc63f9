package work

import (
	"context"
	"slices"

	"shimwright/inventory"
	"shimwright/shim"
)

// An OrderStep is what is done with pieces of the shopping list.
type OrderStep int

// Steps of an order.
const (
	Look     OrderStep = iota // at the list alone
	Place                     // order them
	Arrive                    // they came
	Withdraw                  // they are no longer on order
)

// An Order is a call about the shopping list.
type Order struct {
	Step     OrderStep
	Supplier string
	Named    bool      // whether the supplier is; an empty one has no name
	Unit     shim.Unit // in which sizes were typed
}

// Of narrows the shopping list to the supplier that is meant. Where the list has
// nothing of it and pieces that came are not in question, others names the
// suppliers that it has, and own is empty.
func (o Order) Of(list []inventory.Demand) (own []inventory.Demand, others []string) {
	if !o.Named {
		return list, nil
	}
	for _, d := range list {
		if inventory.SameSupplier(d.Supplier, o.Supplier) {
			own = append(own, d)
		} else if d.Supplier != "" && !slices.Contains(others, d.Supplier) {
			others = append(others, d.Supplier)
		}
	}
	return own, others
}

// open are the pieces that the step takes, in turn.
func (o Order) open() []func(inventory.Demand) int {
	missing := func(d inventory.Demand) int { return d.Missing }
	coming := func(d inventory.Demand) int { return d.Coming }
	switch o.Step {
	case Place:
		return []func(inventory.Demand) int{missing}
	case Arrive:
		return []func(inventory.Demand) int{coming, missing}
	}
	return []func(inventory.Demand) int{coming}
}

// All are the lines of all that is open on the list.
func (o Order) All(list []inventory.Demand) []inventory.OrderLine {
	open := o.open()[0]
	var lines []inventory.OrderLine
	for _, d := range list {
		if n := open(d); n > 0 {
			lines = append(lines, inventory.OrderLine{Disc: d.Disc, Count: n, Terms: d.Terms, NoName: d.Supplier == ""})
		}
	}
	return lines
}

// Line is the line that a typed size means, a diameter of 0 being any of its
// kind. It is false where the list has the size in no diameter, or in several: the line has
// the typed diameter then.
func (o Order) Line(list []inventory.Demand, typed shim.Disc, count int) (inventory.OrderLine, bool) {
	line := inventory.OrderLine{Disc: typed, Count: count, Terms: inventory.Terms{Supplier: o.Supplier}, NoName: o.Named && o.Supplier == ""}
	var diameters []shim.Length
	for _, d := range list {
		if typed.Kind == d.Kind && Same(typed.Size, d.Size, o.Unit) && Same(typed.Diameter, d.Diameter, o.Unit) {
			line.Disc = d.Disc
			if !slices.Contains(diameters, d.Diameter) {
				diameters = append(diameters, d.Diameter)
			}
		}
	}
	if len(diameters) != 1 {
		line.Diameter = typed.Diameter
		return line, false
	}
	return line, true
}

// OtherKind names a kind of shim that the list has in the size of a plain disc;
// empty if there is none.
func (o Order) OtherKind(list []inventory.Demand, typed shim.Disc) string {
	at := slices.IndexFunc(list, func(d inventory.Demand) bool { return d.Kind != "" && Same(typed.Size, d.Size, o.Unit) })
	if typed.Kind != "" || at < 0 {
		return ""
	}
	return list[at].Kind
}

// Unclear finds the first size that could be one of several suppliers', none
// being named and not all of it taken, with their names; one has none. Where a fit
// booked a piece in that nobody had, all of what is left may be one supplier's
// parcel with that piece in it. There are no names where all is clear.
func (o Order) Unclear(ctx context.Context, shop *inventory.Shop, list []inventory.Demand, lines []inventory.OrderLine) (size shim.Length, suppliers []string, err error) {
	for _, l := range lines {
		if l.Supplier != "" || l.NoName {
			continue
		}
		hidden := false
		if o.Step == Arrive {
			w, err := shop.Awaited(ctx, l.Disc)
			if err != nil {
				return 0, nil, err
			}
			hidden = w.Fitted.Seq != 0
		}
		rest := l.Count
		for _, open := range o.open() {
			var names []string
			all := 0
			for _, d := range list {
				if d.Disc == l.Disc && open(d) > 0 {
					all += open(d)
					if !slices.Contains(names, d.Supplier) {
						names = append(names, d.Supplier)
					}
				}
			}
			if len(names) > 1 && 0 < rest && (rest < all || hidden) {
				return l.Size, names, nil
			}
			rest -= min(rest, all)
		}
	}
	return 0, nil, nil
}

// Doubts lists what came that nobody ordered and no job needs.
func (o Order) Doubts(ctx context.Context, shop *inventory.Shop, list []inventory.Demand, lines []inventory.OrderLine) ([]Doubt, error) {
	var sums []Doubt // by size
	for _, l := range lines {
		at := slices.IndexFunc(sums, func(s Doubt) bool { return s.Disc == l.Disc })
		if at < 0 {
			at, sums = len(sums), append(sums, Doubt{Disc: l.Disc})
		}
		sums[at].Count += l.Count
	}
	var found []Doubt
	for _, d := range sums {
		w, err := shop.Awaited(ctx, d.Disc)
		if err != nil {
			return nil, err
		}
		if o.Named { // another supplier's pieces are not what came
			w.Open = 0
			for _, line := range list {
				if line.Disc == d.Disc {
					w.Open += line.Missing + line.Coming
				}
			}
		}
		d.Open, d.Fitted = w.Open, w.Fitted
		switch {
		case twice(w, d.Count):
			d.Kind = ComesTwice
		case w.Open == 0 && o.Named:
			d.Kind = NotFromHere
		case w.Open == 0:
			d.Kind = NotOrdered
		case d.Count > w.Open:
			d.Kind = TooMany
		default:
			continue
		}
		found = append(found, d)
	}
	return found, nil
}

// AfterArrival is the first job that pieces arrived for and that can be fitted
// now; nil where there is none.
func AfterArrival(ctx context.Context, shop *inventory.Shop, r inventory.Receipt) (*inventory.File, error) {
	for _, m := range r.Movements {
		if m.Job == 0 {
			continue
		}
		f, err := shop.Job(ctx, m.Job)
		if err != nil {
			return nil, err
		}
		if f.Job.State == inventory.StatePlanned || f.Job.State == inventory.StateFitting {
			return &f, nil
		}
	}
	return nil, nil
}
