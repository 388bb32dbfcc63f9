package main

import (
	"context"
	"fmt"
	"slices"
	"strings"

	"shimwright/inventory"
	"shimwright/inventory/work"
	"shimwright/shim"
)

// supplierText names a supplier, who may have no name.
func supplierText(name string) string {
	if name == "" {
		return "no named supplier"
	}
	return name
}

// from says whose pieces the call is about, where it says so.
func (o *jobOrderOptions) from() string {
	if !o.named {
		return ""
	}
	return " from " + supplierText(o.supplier)
}

// order is what the call asks of the shopping list.
func (o *jobOrderOptions) order() work.Order {
	q := work.Order{Supplier: o.supplier, Named: o.named, Unit: o.units.unit()}
	switch {
	case o.placed:
		q.Step = work.Place
	case o.arrived:
		q.Step = work.Arrive
	case o.withdrawn:
		q.Step = work.Withdraw
	}
	return q
}

// of narrows the list to the supplier that is meant.
func (o *jobOrderOptions) of(list []inventory.Demand) ([]inventory.Demand, error) {
	own, others := o.order().Of(list)
	if len(own) > 0 || o.arrived || !o.named {
		return own, nil
	}
	way := "the list names no supplier; job plan --supplier or the catalogue's column does"
	if len(others) > 0 {
		way = "on the list: " + strings.Join(others, ", ")
	}
	return nil, wrong(way, "nothing is on the list%s", o.from())
}

// lines are what is named, else all that is open.
func (o *jobOrderOptions) lines(ctx context.Context, b *bench, shop *inventory.Shop, list []inventory.Demand, args []string) ([]inventory.OrderLine, error) {
	u, order := o.units.unit(), o.order()
	var lines []inventory.OrderLine
	if len(args) == 0 {
		lines = order.All(list)
		if len(lines) == 0 && !o.placed {
			way := "name what came: shimwright job order --arrived 2.400x3"
			if o.withdrawn {
				way = "see what is to be ordered: shimwright job order"
			}
			return nil, shim.Fail(nil, way, "nothing is on order%s", o.from())
		}
	}
	for _, arg := range args {
		p, err := parsePieces(arg, u)
		if err != nil {
			return nil, err
		}
		typed, err := p.of(o.diameter, u)
		if err != nil {
			return nil, err
		}
		line, known := order.Line(list, shim.Disc{Diameter: typed, Size: p.size}, p.count)
		if !known && p.diameter == 0 {
			if line.Diameter, err = b.theDiameter(ctx, shop, o.diameter, u); err != nil {
				return nil, err
			}
		}
		lines = append(lines, line)
	}
	return lines, nil
}

// unclear says which size could be one of several suppliers'; empty where all is
// clear.
func (o *jobOrderOptions) unclear(list []inventory.Demand, lines []inventory.OrderLine) string {
	size, suppliers := o.order().Unclear(list, lines)
	if len(suppliers) == 0 {
		return ""
	}
	from := make([]string, len(suppliers))
	for i, name := range suppliers {
		from[i] = "from " + supplierText(name)
	}
	return sizeText(size, o.units.unit()) + " is on the list " + strings.Join(from, " and ")
}

// ask asks whether what the command found is meant. Whose says what is unclear.
func (o *jobOrderOptions) ask(b *bench, whose, question string) error {
	if whose == "" {
		return b.agree(question, o.yes)
	}
	if !o.yes && !b.person {
		return wrong("say whose is meant with --supplier, or look with --dry-run and add --yes", "%s", whose)
	}
	return b.agree(whose+". "+question, o.yes)
}

// text names pieces, with their supplier where there is one, with --arrived with
// their price, and with their disc where they have several.
func (o *jobOrderOptions) text(lines []inventory.OrderLine) string {
	u := o.units.unit()
	discs := slices.ContainsFunc(lines, func(l inventory.OrderLine) bool { return l.Diameter != lines[0].Diameter })
	var parts []string
	for _, l := range lines {
		part := fmt.Sprintf("%d × %s", l.Count, sizeText(l.Size, u))
		if discs {
			part += " of disc " + discText(l.Diameter, u)
		}
		if l.Supplier != "" {
			part += " from " + l.Supplier
		}
		if o.arrived {
			part += atPrice(l)
		}
		parts = append(parts, part)
	}
	return strings.Join(parts, ", ")
}

// atPrice is the price of a piece, where it is known.
func atPrice(l inventory.OrderLine) string {
	switch {
	case !l.Priced:
		return ""
	case l.Count == 1:
		return " at " + l.Price.String()
	}
	return " at " + l.Price.String() + " each"
}
