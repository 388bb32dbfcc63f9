package main

import (
	"context"
	"fmt"
	"io"
	"slices"
	"strings"

	"shimwright/inventory"
	"shimwright/inventory/work"
	"shimwright/shim"
	"shimwright/shim/report"
)

// unknownPrice is the note under a sum with prices missing.
const unknownPrice = "?: price not known, not in the total."

// A demandList is the shopping list.
type demandList struct {
	list []inventory.Demand
	unit shimText
}

func (l demandList) document() *report.Document {
	if len(l.list) == 0 {
		return &report.Document{Sections: []report.Section{said("Nothing to order and nothing on order.")}}
	}
	t := &report.Table{Header: []string{"order", "size", "dia.", "each", "total", "on order", "arrived", "for job"}, Right: []int{0, 1, 2, 3, 4, 5, 6}}
	named := slices.ContainsFunc(l.list, func(d inventory.Demand) bool { return d.Supplier != "" || d.Part != "" })
	if named {
		t.Header = append(t.Header, "supplier", "part")
	}
	var sum shim.Price
	pieces, unknown := 0, false
	for _, d := range l.list {
		each, total := "?", "?"
		if d.Priced {
			cost := d.Price * shim.Price(d.Missing)
			each, total = d.Price.String(), cost.String()
			sum += cost
		} else {
			unknown = unknown || d.Missing > 0
		}
		var jobs []string
		for _, j := range d.Jobs {
			jobs = append(jobs, fmt.Sprint(j))
		}
		if d.Spare > 0 {
			jobs = append(jobs, fmt.Sprintf("box: %d", d.Spare))
		}
		pieces += d.Missing
		row := []string{fmt.Sprint(d.Missing), l.unit.size(d.Disc), report.Family(l.unit.Unit, d.Family), each, total,
			fmt.Sprint(d.Coming), fmt.Sprint(d.Arrived), strings.Join(jobs, ", ")}
		if named {
			row = append(row, d.Supplier, d.Part)
		}
		t.Rows = append(t.Rows, row)
	}
	t.Footer = make([]string, len(t.Header))
	t.Footer[0], t.Footer[4] = fmt.Sprint(pieces), sum.String()
	s := report.Section{Level: 2, Heading: "Shopping list (" + l.unit.String() + ")", Table: t}
	s.Notes = append(s.Notes, l.bySupplier()...)
	if unknown {
		s.Notes = append(s.Notes, unknownPrice)
	}
	next := "Next: once ordered: shimwright job order --placed"
	if pieces == 0 {
		next = "Next: when they arrive: shimwright job order --arrived"
	}
	return &report.Document{Sections: []report.Section{s, said(next)}}
}

// bySupplier says what to order from each of several suppliers.
func (l demandList) bySupplier() []string {
	var names, lines []string
	sums, pieces := map[string]shim.Price{}, map[string]int{}
	for _, d := range l.list {
		if d.Missing == 0 {
			continue
		}
		if pieces[d.Supplier] == 0 {
			names = append(names, d.Supplier)
		}
		pieces[d.Supplier] += d.Missing
		if d.Priced {
			sums[d.Supplier] += d.Price * shim.Price(d.Missing)
		}
	}
	if len(names) < 2 {
		return nil
	}
	slices.Sort(names)
	for _, name := range names {
		from := "From " + name
		if name == "" {
			from = "From an unnamed supplier"
		}
		lines = append(lines, fmt.Sprintf("%s: %s, %s.", from, shim.Count(pieces[name], "shim"), sums[name]))
	}
	return lines
}

func (l demandList) json(w io.Writer) error {
	type line struct {
		shim.Disc
		Missing  int         `json:"to_order"`
		Coming   int         `json:"on_order"`
		Arrived  int         `json:"came_in"`
		Price    *shim.Price `json:"price"`
		Jobs     []int64     `json:"jobs"`
		Supplier string      `json:"supplier"`
		Part     string      `json:"part"`
		Spare    int         `json:"on_order_for_box"`
		Mark     string      `json:"mark,omitempty"`
	}
	out := struct {
		Shopping []line `json:"shopping"`
	}{[]line{}}
	for _, d := range l.list {
		one := line{d.Disc, d.Missing, d.Coming, d.Arrived, nil, append([]int64{}, d.Jobs...), d.Supplier, d.Part, d.Spare, l.unit.mark(d.Disc)}
		if d.Priced {
			one.Price = &d.Price
		}
		out.Shopping = append(out.Shopping, one)
	}
	return writeJSON(w, out)
}

func (l demandList) csv(w io.Writer) error {
	rows := [][]string{{"diameter_mm", "size_mm", "to_order", "on_order", "came_in", "price", "jobs", "supplier", "part", "on_order_for_box"}}
	var families []shim.Family
	var marks []string
	for _, d := range l.list {
		families, marks = append(families, d.Family), append(marks, l.unit.mark(d.Disc))
		price := ""
		if d.Priced {
			price = d.Price.String()
		}
		rows = append(rows, []string{d.Diameter.String(), d.Size.String(), fmt.Sprint(d.Missing), fmt.Sprint(d.Coming), fmt.Sprint(d.Arrived), price,
			strings.Trim(fmt.Sprint(d.Jobs), "[]"), d.Supplier, d.Part, fmt.Sprint(d.Spare)})
	}
	return writeCSV(w, l.unit.withMarks(withFamilies(rows, families), marks))
}

// supplierText names a supplier, or says that it has no name.
func supplierText(name string) string {
	if name == "" {
		return "an unnamed supplier"
	}
	return name
}

// from is " from SUPPLIER" if the call names one.
func (o *jobOrderOptions) from() string {
	if !o.named {
		return ""
	}
	return " from " + supplierText(o.supplier)
}

// order is what the call wants from the shopping list.
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

// of narrows the list to the named supplier.
func (o *jobOrderOptions) of(list []inventory.Demand) ([]inventory.Demand, error) {
	own, others := o.order().Of(list)
	if len(own) > 0 || o.arrived || !o.named {
		return own, nil
	}
	way := "no supplier is on the list; give one with job plan --supplier or in the catalogue"
	if len(others) > 0 {
		way = "suppliers on the list: " + strings.Join(others, ", ")
	}
	return nil, wrong(way, "nothing is on the list%s", o.from())
}

// lines lists the named sizes, or all open ones.
func (o *jobOrderOptions) lines(ctx context.Context, a *app, shop *inventory.Shop, list []inventory.Demand, args []string) ([]inventory.OrderLine, error) {
	u, order := o.units.unit(), o.order()
	var lines []inventory.OrderLine
	if len(args) == 0 {
		lines = order.All(list)
		if len(lines) == 0 && !o.placed {
			way := "give the sizes that arrived: shimwright job order --arrived 2.400x3"
			if o.withdrawn {
				way = "see the shopping list: shimwright job order"
			}
			return nil, shim.Fail(nil, way, "nothing is on order%s", o.from())
		}
	}
	read, err := o.reader(a, u, false, marksNow(ctx, shop))
	if err != nil {
		return nil, err
	}
	for _, d := range list {
		read.record = append(read.record, d.Disc)
	}
	for _, arg := range args {
		p, err := read.pieces(arg)
		if err != nil {
			return nil, err
		}
		typed, err := p.of(o.familyOptions, u)
		if err != nil {
			return nil, err
		}
		line, known := order.Line(list, typed.Of(p.Size), p.count)
		if !known && p.Diameter == 0 {
			if other := order.OtherKind(list, line.Disc); other != "" {
				return nil, wrong("for its "+other+" shims add --family "+other+"; for the box use box receive", "%s: the list has no plain disc of that size", arg)
			}
			if line.Diameter, err = a.theDiameter(ctx, shop, o.diameter, line.Kind, u); err != nil {
				return nil, err
			}
		}
		lines = append(lines, line)
	}
	return lines, nil
}

// unclear names a size that several suppliers have; empty if there is none.
func (o *jobOrderOptions) unclear(ctx context.Context, shop *inventory.Shop, list []inventory.Demand, lines []inventory.OrderLine) (string, error) {
	size, suppliers, err := o.order().Unclear(ctx, shop, list, lines)
	if err != nil || len(suppliers) == 0 {
		return "", err
	}
	from := make([]string, len(suppliers))
	for i, name := range suppliers {
		from[i] = "from " + supplierText(name)
	}
	return sizeText(size, o.units.unit()) + " is on the list " + strings.Join(from, " and "), nil
}

// ask asks for confirmation; whose says which supplier is unclear.
func (o *jobOrderOptions) ask(a *app, whose, question string) error {
	if whose == "" {
		return a.agree(question, o.yes)
	}
	if !o.yes && !a.person {
		return wrong("give --supplier, or check with --dry-run and add --yes", "%s", whose)
	}
	return a.agree(whose+". "+question, o.yes)
}

// text lists the lines: count and size, the family if there are several, the
// supplier if named, and with --arrived the price.
func (o *jobOrderOptions) text(lines []inventory.OrderLine) string {
	discs := slices.ContainsFunc(lines, func(l inventory.OrderLine) bool { return l.Family != lines[0].Family || l.Kind != "" })
	var parts []string
	for _, l := range lines {
		part := fmt.Sprintf("%d × %s", l.Count, o.shims.size(l.Disc))
		if discs {
			part += " of " + familyText(l.Family, o.shims.Unit)
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

// atPrice is the price of one shim, if known.
func atPrice(l inventory.OrderLine) string {
	switch {
	case !l.Priced:
		return ""
	case l.Count == 1:
		return " at " + l.Price.String()
	}
	return " at " + l.Price.String() + " each"
}
