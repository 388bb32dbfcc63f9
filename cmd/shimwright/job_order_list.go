package main

import (
	"fmt"
	"io"
	"slices"
	"strings"

	"shimwright/inventory"
	"shimwright/shim"
	"shimwright/shim/report"
)

// unknownPrice stands under a sum that leaves prices out.
const unknownPrice = "? is not known and not in the sum."

// A demandList is the shopping list.
type demandList struct {
	list []inventory.Demand
	unit shim.Unit
}

func (l demandList) document() *report.Document {
	if len(l.list) == 0 {
		return &report.Document{Sections: []report.Section{said("Nothing is to be ordered and nothing is on order.")}}
	}
	t := &report.Table{Header: []string{"order", "size", "disc", "each", "total", "on order", "came in", "for job"}, Right: []int{0, 1, 2, 3, 4, 5, 6}}
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
		row := []string{fmt.Sprint(d.Missing), sizeText(d.Size, l.unit), l.unit.Format(d.Diameter), each, total,
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
	next := "Next: when it is ordered: shimwright job order --placed"
	if pieces == 0 {
		next = "Next: when they come: shimwright job order --arrived"
	}
	return &report.Document{Sections: []report.Section{s, said(next)}}
}

// bySupplier says what is to be ordered from each of several suppliers.
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
			from = "From no named supplier"
		}
		lines = append(lines, fmt.Sprintf("%s: %s, %s.", from, shim.Count(pieces[name], "piece"), sums[name]))
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
	}
	out := struct {
		Shopping []line `json:"shopping"`
	}{[]line{}}
	for _, d := range l.list {
		one := line{d.Disc, d.Missing, d.Coming, d.Arrived, nil, append([]int64{}, d.Jobs...), d.Supplier, d.Part, d.Spare}
		if d.Priced {
			one.Price = &d.Price
		}
		out.Shopping = append(out.Shopping, one)
	}
	return writeJSON(w, out)
}

func (l demandList) csv(w io.Writer) error {
	rows := [][]string{{"diameter_mm", "size_mm", "to_order", "on_order", "came_in", "price", "jobs", "supplier", "part", "on_order_for_box"}}
	for _, d := range l.list {
		price := ""
		if d.Priced {
			price = d.Price.String()
		}
		rows = append(rows, []string{d.Diameter.String(), d.Size.String(), fmt.Sprint(d.Missing), fmt.Sprint(d.Coming), fmt.Sprint(d.Arrived), price,
			strings.Trim(fmt.Sprint(d.Jobs), "[]"), d.Supplier, d.Part, fmt.Sprint(d.Spare)})
	}
	return writeCSV(w, rows)
}
