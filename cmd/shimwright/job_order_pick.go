package main

import (
	"context"
	"errors"
	"fmt"
	"slices"
	"strings"

	"shimwright/inventory"
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

// of narrows the list to the supplier that is meant.
func (o *jobOrderOptions) of(list []inventory.Demand) ([]inventory.Demand, error) {
	if !o.named {
		return list, nil
	}
	var names []string
	var own []inventory.Demand
	for _, d := range list {
		if inventory.SameSupplier(d.Supplier, o.supplier) {
			own = append(own, d)
		} else if d.Supplier != "" && !slices.Contains(names, d.Supplier) {
			names = append(names, d.Supplier)
		}
	}
	if len(own) > 0 || o.arrived {
		return own, nil
	}
	way := "the list names no supplier; job plan --supplier or the catalogue's column does"
	if len(names) > 0 {
		way = "on the list: " + strings.Join(names, ", ")
	}
	return nil, hint(usage(errors.New("nothing is on the list"+o.from())), way)
}

// open are the pieces that the command takes, in turn.
func (o *jobOrderOptions) open() []func(inventory.Demand) int {
	missing := func(d inventory.Demand) int { return d.Missing }
	coming := func(d inventory.Demand) int { return d.Coming }
	switch {
	case o.placed:
		return []func(inventory.Demand) int{missing}
	case o.arrived:
		return []func(inventory.Demand) int{coming, missing}
	}
	return []func(inventory.Demand) int{coming}
}

// lines are what is named, else all that is open.
func (o *jobOrderOptions) lines(ctx context.Context, b *bench, shop *inventory.Shop, list []inventory.Demand, args []string) ([]inventory.OrderLine, error) {
	u := o.units.unit()
	open := o.open()[0]
	var lines []inventory.OrderLine
	if len(args) == 0 {
		for _, d := range list {
			if n := open(d); n > 0 {
				lines = append(lines, inventory.OrderLine{Disc: d.Disc, Count: n, Terms: d.Terms, NoName: d.Supplier == ""})
			}
		}
		if len(lines) == 0 && !o.placed {
			way := "name what came: shimwright job order --arrived 2.400x3"
			if o.withdrawn {
				way = "see what is to be ordered: shimwright job order"
			}
			return nil, hint(errors.New("nothing is on order"+o.from()), way)
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
		line := inventory.OrderLine{Disc: shim.Disc{Size: p.size}, Count: p.count, Terms: inventory.Terms{Supplier: o.supplier}, NoName: o.named && o.supplier == ""}
		var discs []shim.Length
		for _, d := range list {
			if same(p.size, d.Size, u) && same(typed, d.Diameter, u) {
				line.Diameter, line.Size = d.Diameter, d.Size
				if !slices.Contains(discs, d.Diameter) {
					discs = append(discs, d.Diameter)
				}
			}
		}
		if len(discs) != 1 {
			if line.Diameter = typed; p.diameter == 0 {
				if line.Diameter, err = b.theDiameter(ctx, shop, o.diameter, u); err != nil {
					return nil, err
				}
			}
		}
		lines = append(lines, line)
	}
	return lines, nil
}

// unclear says which size could be one of several suppliers': none is named, and
// not all of it is taken. Empty where all is clear.
func (o *jobOrderOptions) unclear(list []inventory.Demand, lines []inventory.OrderLine) string {
	for _, l := range lines {
		if l.Supplier != "" || l.NoName {
			continue
		}
		rest := l.Count
		for _, open := range o.open() {
			var names []string
			all := 0
			for _, d := range list {
				if d.Diameter == l.Diameter && d.Size == l.Size && open(d) > 0 {
					all += open(d)
					if from := "from " + supplierText(d.Supplier); !slices.Contains(names, from) {
						names = append(names, from)
					}
				}
			}
			if len(names) > 1 && 0 < rest && rest < all {
				return sizeText(l.Size, o.units.unit()) + " is on the list " + strings.Join(names, " and ")
			}
			rest -= min(rest, all)
		}
	}
	return ""
}

// ask asks whether what the command found is meant. Whose says what is unclear.
func (o *jobOrderOptions) ask(b *bench, whose, question string) error {
	if whose == "" {
		return b.agree(question, o.yes)
	}
	if !o.yes && !b.person {
		return hint(usage(errors.New(whose)), "say whose is meant with --supplier, or look with --dry-run and add --yes")
	}
	return b.agree(whose+". "+question, o.yes)
}

// text names pieces, with their supplier where there is one, and with --arrived
// with their price.
func (o *jobOrderOptions) text(lines []inventory.OrderLine) string {
	var parts []string
	for _, l := range lines {
		part := fmt.Sprintf("%d × %s", l.Count, sizeText(l.Size, o.units.unit()))
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
