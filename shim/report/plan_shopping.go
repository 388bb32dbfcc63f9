package report

import (
	"slices"
	"strconv"
	"strings"

	"shimwright/shim"
	"shimwright/shim/plan"
)

// nothing says why there is nothing on the shopping list.
func nothing(p *plan.Plan) string {
	for i := range p.Jobs {
		for k := range p.Jobs[i].Valves {
			if v := &p.Jobs[i].Valves[k]; v.MustChange() {
				return "What to buy can be said when the shims are known."
			}
		}
	}
	return "Nothing to buy."
}

// addOwn says what one of several jobs buys, draws and leaves over.
func addOwn(d *Document, p *plan.Plan, j *plan.JobPlan) {
	var lines []string
	for _, own := range []struct {
		what string
		lots []plan.Pieces
	}{{"To buy: ", j.Shopping()}, {"From the box: ", j.Drawn()}, {"Left over, for the box: ", j.LeftOver()}} {
		if len(own.lots) > 0 {
			lines = append(lines, own.what+lotLine(p, own.lots, j.Units.Size)+".")
		}
	}
	if len(lines) > 0 {
		d.add(Section{Lines: lines})
	}
}

// mostInLine is how many kinds of shim to buy a terminal has in one line;
// mostAtOnePrice holds where all of them cost the same.
const mostInLine, mostAtOnePrice = 3, 8

func addShopping(d *Document, p *plan.Plan, u shim.Unit) {
	var trials []string
	if list := p.Trials(); len(list) > 0 {
		trials = []string{"To buy as a trial as well, for a valve without a number: " + lotLine(p, list, u) + "."}
	}
	if len(p.Shopping) == 0 {
		s := Section{Level: 2, Heading: "Shopping list" + headed(p.Provisional()), Lines: []string{nothing(p)}, Notes: trials}
		if len(trials) == 0 {
			s.RunIn, s.Screen = true, nothing(p)
		}
		d.add(s)
		return
	}
	t := &Table{Kind: "shopping", Header: []string{"buy", "size", "diameter", "each", "total"}, Right: []int{0, 1, 2, 3, 4}}
	priced := true
	pieces := 0
	for _, lot := range p.Shopping {
		each, total := "?", "?"
		if lot.Priced {
			each, total = lot.Price.String(), (lot.Price * shim.Price(lot.Count)).String()
		}
		priced = priced && lot.Priced
		pieces += lot.Count
		t.Rows = append(t.Rows, []string{strconv.Itoa(lot.Count), shim.WithMark(size(u, lot.Size), p.Mark(lot.Disc)), Family(u, lot.Family), each, total})
	}
	total := p.Criteria.Cost.String()
	s := Section{Level: 2, Heading: "Shopping list (" + u.String() + ")" + headed(p.Provisional()), Table: t}
	if !priced {
		if total += " + ?"; p.Criteria.Cost == 0 {
			total = "?"
		}
		s.Notes = append(s.Notes, "? the catalogue gives no price.")
	}
	t.Footer = []string{strconv.Itoa(pieces), "", "", "", total}
	s.Notes = append(s.Notes, trials...)
	most := mostInLine
	if onePrice(p.Shopping) {
		most = mostAtOnePrice
	}
	if len(p.Shopping) <= most && len(trials) == 0 {
		s.RunIn, s.Screen = true, s.Heading+": "+quoteLine(p, p.Shopping, u)+"; total "+total+"."
		if !slices.ContainsFunc(p.Shopping, func(l plan.Pieces) bool { return l.Priced }) {
			s.Screen = s.Heading + ": " + lotLine(p, p.Shopping, u) + noPrice + "."
		}
	}
	d.add(s)
}

// Family is a family for a cell: its diameter, and its kind where it has one.
func Family(u shim.Unit, f shim.Family) string {
	text := Figure(u, u.Format(f.Diameter))
	if f.Kind != "" {
		text += " " + f.Kind
	}
	return text
}

// noPrice follows pieces whose price is not known.
const noPrice = " (no price in the catalogue)"

// onePrice reports whether every shim costs the same, or has no price.
func onePrice(lots []plan.Pieces) bool {
	return !slices.ContainsFunc(lots, func(l plan.Pieces) bool { return l.Price != lots[0].Price || l.Priced != lots[0].Priced })
}

// quoteLine lists lots as "2.350 x 2 at 7.80, 2.425 at 9.00", or as "2.350,
// 2.425 at 7.80 each".
func quoteLine(p *plan.Plan, lots []plan.Pieces, u shim.Unit) string {
	parts := lotParts(p, lots, u)
	if len(lots) > 1 && lots[0].Priced && onePrice(lots) {
		return strings.Join(parts, ", ") + " at " + lots[0].Price.String() + " each"
	}
	for i, lot := range lots {
		if lot.Priced {
			parts[i] += " at " + lot.Price.String()
		} else {
			parts[i] += noPrice
		}
	}
	return strings.Join(parts, ", ")
}

// familyName distinguishes a family from the others of the list: by its kind where it has
// one, and by its diameter where others have another one.
func familyName(lots []plan.Pieces, f shim.Family, u shim.Unit) string {
	if !slices.ContainsFunc(lots, func(l plan.Pieces) bool { return l.Diameter != f.Diameter }) {
		return f.Kind
	}
	diameter := "diameter " + Figure(u, u.Format(f.Diameter))
	if f.Kind == "" {
		return diameter
	}
	return f.Kind + " of " + diameter // no comma: lists of lots are taken apart at commas
}

// lotLine lists lots as "2.350 x 2, 2.425", by family where there are several.
func lotLine(p *plan.Plan, lots []plan.Pieces, u shim.Unit) string {
	return strings.Join(lotParts(p, lots, u), ", ")
}

func lotParts(p *plan.Plan, lots []plan.Pieces, u shim.Unit) []string {
	var parts []string
	for i, lot := range lots {
		part := shim.WithMark(size(u, lot.Size), p.Mark(lot.Disc))
		if lot.Count > 1 {
			part += " x " + strconv.Itoa(lot.Count)
		}
		if i == 0 || lots[i-1].Family != lot.Family {
			if name := familyName(lots, lot.Family, u); name != "" {
				part = name + ": " + part
			}
		}
		parts = append(parts, part)
	}
	return parts
}
