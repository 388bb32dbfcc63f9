package report

import (
	"fmt"
	"math"
	"strconv"
	"strings"

	"shimwright/shim"
	"shimwright/shim/doubt"
	"shimwright/shim/plan"
)

// Plan lays a plan out for people: per job the verdicts and what to do, block
// by block, then the fitting list, the shopping list, the box, more sections
// where there are any, and the cautions.
func Plan(p *plan.Plan, more ...Section) *Document {
	d := &Document{}
	for i := range p.Jobs {
		addJob(d, p, i)
	}
	if len(p.Next) > 0 {
		d.add(nextSection(p))
	}
	units := p.Units()
	addShopping(d, p, units)
	if len(p.Drawn) > 0 {
		d.add(Section{Level: 2, Heading: "From the box", Lines: []string{lotLine(p.Drawn, units)}})
	}
	if len(p.LeftOver) > 0 {
		d.add(Section{Level: 2, Heading: "Left over, for the box", Lines: []string{lotLine(p.LeftOver, units)}})
	}
	d.Sections = append(d.Sections, more...)
	d.add(Section{Level: 2, Heading: "Cautions", Notes: shim.Cautions})
	return d
}

func addJob(d *Document, p *plan.Plan, i int) {
	j := &p.Jobs[i]
	title := j.Engine.Name
	if j.Job != "" {
		title = "Job " + j.Job + ": " + title
	}
	title += " (" + j.Units.String() + ")"
	title += headed(j.Provisional)
	d.add(Section{Level: 1, Heading: title, Lines: append(summary(p, j), wholeLine(p.AllInside(i)))})
	for from := 0; from < len(j.Valves); {
		to := from
		for to < len(j.Valves) && j.Valves[to].Valve.Cylinder == j.Valves[from].Valve.Cylinder {
			to++
		}
		addCylinder(d, p, j, j.Valves[from:to])
		from = to
	}
	d.add(Section{Lines: []string{sureNote(j)}})
	addMoves(d, p, j)
	if len(p.Jobs) > 1 {
		addOwn(d, j)
	}
}

// summary says in a few lines what is out, what is opened and what is done.
func summary(p *plan.Plan, j *plan.JobPlan) []string {
	var out, unread, undecided, stay int
	for k := range j.Valves {
		v := &j.Valves[k]
		switch v.Verdict {
		case shim.Unmeasured:
			unread++
		case shim.OK:
			if v.Undecided {
				undecided++
			}
		default:
			out++
		}
		if !v.Served() {
			stay++
		}
	}
	var swaps, fine, carried int
	for k := range j.Valves {
		v := &j.Valves[k]
		if v.Action == plan.Swap {
			swaps++
		}
		if v.Over != nil {
			carried++
		}
	}
	fine = len(j.Valves) - out - unread - undecided
	found := fmt.Sprintf("Found: %d of %d valves inside their limits, %d outside", fine, len(j.Valves), out)
	if unread > 0 {
		found += fmt.Sprintf(", %d without a reading", unread)
	}
	if undecided > 0 {
		found += fmt.Sprintf(", %d undecided", undecided)
	}
	lines := []string{found + "."}
	if carried > 0 {
		lines = append(lines, fmt.Sprintf("Of these, %s in brackets: worked out from what was read over an earlier shim.", shim.Count(carried, "reading stands", "readings stand")))
	}
	if j.Provisional {
		lines = append(lines, provisional(j))
	}
	lift := "nothing"
	switch {
	case len(j.Lifted) > 0 && j.Engine.Access == shim.ByValve:
		lift = shim.Count(len(j.Lifted), "valve", "valves, one by one")
	case len(j.Lifted) == 1:
		lift = "the " + j.Lifted[0] + " camshaft"
	case len(j.Lifted) > 1:
		lift = "the camshafts " + strings.Join(j.Lifted, ", ")
	}
	opened := "Opened: "
	if j.Provisional {
		opened = "To open: "
	}
	lines = append(lines, opened+lift+".")
	c := j.Criteria
	do := fmt.Sprintf("To do: %d to swap, %d from the box, %d to buy (%s).", swaps, c.Drawn, c.Bought, ordered(p))
	switch {
	case c.Changed == 0 && j.Provisional && c.Unserved > 0:
		do = "To do: see below how much thinner or thicker the shims must be."
	case c.Changed == 0:
		do = "To do: no shim to change."
	}
	lines = append(lines, do)
	if c.Disturbed > 0 {
		lines = append(lines, shim.Count(c.Disturbed, "valve that is fine changes its shim", "valves that are fine change their shims")+" too; the plan as a whole is better for it.")
	}
	if n := j.Undecided(); n > 0 {
		lines = append(lines, fmt.Sprintf("UNDECIDED: %s on a reading across a limit; see below which leaf decides.", shim.Count(n, "valve keeps its shim", "valves keep their shims")))
	}
	if n := len(j.Wants); n > 0 {
		lines = append(lines, fmt.Sprintf("NOT READY: %s cannot be carried out with what is at hand; the fitting list says which shim to get first.", shim.Count(n, "ring of swaps", "rings of swaps")))
	}
	if stay > 0 {
		lines = append(lines, fmt.Sprintf("NOT READY: %s outside the limits or unmeasured; see the reasons below.", shim.Count(stay, "valve stays", "valves stay")))
	}
	return lines
}

// ordered says what the plan puts first.
func ordered(p *plan.Plan) string {
	if p.Buy != nil {
		return fmt.Sprintf("at most %d bought, widest room first", *p.Buy)
	}
	return "policy " + p.Policy.String()
}

// headed is what headings of a provisional plan end with.
func headed(provisional bool) string {
	if provisional {
		return ", PROVISIONAL"
	}
	return ""
}

// provisional says what a plan made before teardown rests on.
func provisional(j *plan.JobPlan) string {
	known := 0
	for k := range j.Valves {
		if j.Valves[k].Installed != 0 {
			known++
		}
	}
	switch known {
	case 0:
		return "PROVISIONAL: no shim is known yet. Read and measure the shims when they are out, and plan again."
	case len(j.Valves):
		return "PROVISIONAL: the shims are those of the last record. Measure them when they are out, and plan again before anything is fitted."
	}
	return fmt.Sprintf("PROVISIONAL: %d of %d shims are known. Measure them when they are out, and plan again before anything is fitted.", known, len(j.Valves))
}

func addCylinder(d *Document, p *plan.Plan, j *plan.JobPlan, valves []plan.ValvePlan) {
	u := j.Units
	t := &Table{
		Kind:   "cylinder",
		Header: []string{"valve", "limits", "reading", "is", "shim", "do", "fit", "then", "room", "sure"},
		Right:  []int{4, 6, 7, 8},
		Strong: map[int]bool{3: true, 5: true},
	}
	s := Section{Level: 3, Heading: "Cylinder " + strconv.Itoa(valves[0].Valve.Cylinder), Table: t}
	near := false
	for k := range valves {
		v := &valves[k]
		t.Rows = append(t.Rows, valveRow(p, j, v, u))
		near = near || v.Near
		if v.Reason != "" {
			s.Notes = append(s.Notes, v.Valve.String()+": "+Figures(u, v.Reason)+".")
		}
	}
	if near {
		s.Notes = append(s.Notes, nearNote(p, u))
	}
	d.add(s)
}

// nearNote says what an asterisk stands for.
func nearNote(p *plan.Plan, u shim.Unit) string {
	if p.Confidence != 0 {
		return fmt.Sprintf("* inside, yet less sure than %g %%.", 100*p.Confidence)
	}
	return "* inside, yet nearer to a limit than " + size(u, p.Margin) + " " + u.String() + "."
}

// sureNote says how to read the last column and what it rests on.
func sureNote(j *plan.JobPlan) string {
	u := j.Units
	gauge := "for a feeler gauge in steps of " + size(u, j.Gauge.Step)
	if !j.GaugeStated {
		gauge += ", as is usual; state your own for better figures"
	}
	unit := "0.001 mm"
	if u == shim.IN {
		unit = "0.0001 in"
	}
	return "sure: how likely the valve ends inside its limits, and the uncertainty of that clearance (95 %) in " + unit + ", " + gauge + "."
}

func valveRow(p *plan.Plan, j *plan.JobPlan, v *plan.ValvePlan, u shim.Unit) []string {
	verdict := verdictWord(v.Verdict, v.Undecided)
	row := []string{v.Valve.String(), Limits(u, v.Limits), Reading(u, v.Limits, v.Reading), verdict,
		"?", do(p, j, v), "", "?", "?", ""}
	if v.Over != nil {
		row[2] = "(" + row[2] + ")"
	}
	if v.Installed != 0 {
		row[4] = size(u, v.Installed)
	}
	if v.Changed() {
		row[6] = size(u, v.Size)
	}
	if v.Measured {
		row[7], row[8] = clearance(u, v.Limits, v.Expected), room(u, v.Limits, v.Expected)
		if v.Near {
			row[8] = "*" + row[8]
		}
		if f, ok := j.Forecast(v); ok {
			row[9] = sure(u, f)
		}
	}
	return row
}

// sure is how likely the clearance lies inside its limits, and the expanded
// uncertainty in the last place that sizes are written to.
func sure(u shim.Unit, f doubt.Forecast) string {
	unit := shim.Micrometre
	if u == shim.IN {
		unit = shim.Inch / 10_000
	}
	return short(f.Inside) + " ±" + strconv.Itoa(int((f.Expanded+unit/2)/unit))
}

// short is a probability in a cell. It never rounds up to certainty or down to
// none; what is certain is 100%.
func short(p float64) string {
	switch {
	case p >= 1:
		return "100%"
	case p <= 0:
		return "0%"
	case p > 0.99:
		return ">99%"
	case p < 0.01:
		return "<1%"
	}
	return strconv.Itoa(int(min(99, max(1, math.Round(100*p))))) + "%"
}

// do is the action in words.
func do(p *plan.Plan, j *plan.JobPlan, v *plan.ValvePlan) string {
	switch {
	case v.MustChange():
		return "CHANGE"
	case v.Action == plan.Swap:
		return "swap from " + place(p, j, v.From)
	case v.Action == plan.Buy:
		return "BUY"
	}
	return v.Action.String()
}

// place names a valve, with its job where that is another one.
func place(p *plan.Plan, j *plan.JobPlan, at *plan.Place) string {
	if other := &p.Jobs[at.Job]; other != j {
		return at.Valve.String() + " of " + jobName(other)
	}
	return at.Valve.String()
}

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
func addOwn(d *Document, j *plan.JobPlan) {
	var lines []string
	for _, own := range []struct {
		what string
		lots []plan.Pieces
	}{{"To buy: ", j.Shopping()}, {"From the box: ", j.Drawn()}, {"Left over, for the box: ", j.LeftOver()}} {
		if len(own.lots) > 0 {
			lines = append(lines, own.what+lotLine(own.lots, j.Units)+".")
		}
	}
	if len(lines) > 0 {
		d.add(Section{Lines: lines})
	}
}

func addShopping(d *Document, p *plan.Plan, u shim.Unit) {
	var trials []string
	if list := p.Trials(); len(list) > 0 {
		trials = []string{"To buy as a trial as well, for a valve without a number: " + lotLine(list, u) + "."}
	}
	if len(p.Shopping) == 0 {
		d.add(Section{Level: 2, Heading: "Shopping list" + headed(p.Provisional()), Lines: []string{nothing(p)}, Notes: trials})
		return
	}
	t := &Table{Kind: "shopping", Header: []string{"buy", "size", "disc", "each", "total"}, Right: []int{0, 1, 2, 3, 4}}
	priced := true
	pieces := 0
	for _, lot := range p.Shopping {
		each, total := "?", "?"
		if lot.Priced {
			each, total = lot.Price.String(), (lot.Price * shim.Price(lot.Count)).String()
		}
		priced = priced && lot.Priced
		pieces += lot.Count
		t.Rows = append(t.Rows, []string{strconv.Itoa(lot.Count), size(u, lot.Size), Figures(u, u.Format(lot.Diameter)), each, total})
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
	d.add(s)
}

// lotLine lists lots as "2.350 x 2, 2.425", by diameter where there are several.
func lotLine(lots []plan.Pieces, u shim.Unit) string {
	var parts []string
	for i, lot := range lots {
		part := size(u, lot.Size)
		if lot.Count > 1 {
			part += " x " + strconv.Itoa(lot.Count)
		}
		if lots[0].Diameter != lots[len(lots)-1].Diameter && (i == 0 || lots[i-1].Diameter != lot.Diameter) {
			part = "disc " + Figures(u, u.Format(lot.Diameter)) + ": " + part
		}
		parts = append(parts, part)
	}
	return strings.Join(parts, ", ")
}
