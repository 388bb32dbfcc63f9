package report

import (
	"fmt"
	"math"
	"slices"
	"strconv"
	"strings"

	"shimwright/shim"
	"shimwright/shim/doubt"
	"shimwright/shim/plan"
	"shimwright/shim/report/reason"
)

// Options say how a plan is laid out.
type Options struct {
	Doubt bool                                    // the uncertainty of each clearance beside the chance
	Bin   func(job int, v *plan.ValvePlan) string // where the shim from the box lies; nil is not known
}

// Plan lays a plan out for people: per job what is wrong and what to do, a table
// of the valves, then the fitting list, the shopping list, the box, more sections
// if there are any, and the cautions.
func Plan(p *plan.Plan, o Options, more ...Section) *Document {
	d := &Document{}
	for i := range p.Jobs {
		addJob(d, p, i, o)
	}
	if len(p.Next) > 0 {
		d.add(nextSection(p))
	}
	units := p.Units()
	addShopping(d, p, units)
	if len(p.Drawn) > 0 {
		d.add(Section{Level: 2, RunIn: true, Heading: "From the box", Lines: []string{lotLine(p.Drawn, units)}})
	}
	if len(p.LeftOver) > 0 {
		d.add(Section{Level: 2, RunIn: true, Heading: "Left over, for the box", Lines: []string{lotLine(p.LeftOver, units)}})
	}
	d.Sections = append(d.Sections, more...)
	d.add(cautions(shim.Cautions))
	return d
}

// cautions has them in full; a terminal gets them in three lines at most.
func cautions(full []string) Section {
	return Section{Level: 2, RunIn: true, Heading: "Cautions", Notes: full, Screen: shim.CautionsInShort[0], Briefer: shim.CautionsInShort[1:]}
}

func addJob(d *Document, p *plan.Plan, i int, o Options) {
	j := &p.Jobs[i]
	title := j.Engine.Name
	if j.Job != "" {
		title = "Job " + j.Job + ": " + title
	}
	title += " (" + j.Units.String() + ")"
	title += headed(j.Provisional)
	lines := append(summary(p, j), wholeLine(p.AllInside(i)))
	d.add(Section{Level: 1, Heading: title, Lines: append(lines, limitsLine(j))})
	addValves(d, p, i, o)
	addMoves(d, p, j)
	if len(p.Jobs) > 1 {
		addOwn(d, j)
	}
}

// LimitsLine begins the line with the limits in the head of a job.
const LimitsLine = "Limits: "

// limitsLine says the limits of each side.
func limitsLine(j *plan.JobPlan) string {
	var list []string
	for _, side := range shim.Sides {
		if t := j.Engine.Train(side); t.Valves > 0 {
			list = append(list, side.String()+" "+Limits(j.Units, t.Limits))
			if t.Closer != nil {
				list = append(list, side.String()+" closer "+Limits(j.Units, t.Closer.Limits))
			}
		}
	}
	return LimitsLine + strings.Join(list, ", ") + "."
}

// summary says in a few lines how many valves are outside, what to take apart
// and what to do.
func summary(p *plan.Plan, j *plan.JobPlan) []string {
	var tight, loose, unread, undecided, stay, swaps, carried int
	for k := range j.Valves {
		v := &j.Valves[k]
		switch {
		case v.Verdict == shim.Unmeasured:
			unread++
		case v.Verdict == shim.Tight:
			tight++
		case v.Verdict == shim.Loose:
			loose++
		case v.Undecided:
			undecided++
		}
		if !v.Served() {
			stay++
		}
		if v.Action == plan.Swap {
			swaps++
		}
		if v.Over != nil {
			carried++
		}
	}
	found := fmt.Sprintf("Outside their limits: %d of %d valves", tight+loose, len(j.Valves))
	if tight+loose > 0 {
		found += fmt.Sprintf(", %d tight, %d loose", tight, loose)
	}
	if unread > 0 {
		found += fmt.Sprintf("; %d without a reading", unread)
	}
	if undecided > 0 {
		found += fmt.Sprintf("; %d undecided", undecided)
	}
	lines := []string{found + "."}
	lift := "nothing"
	switch {
	case len(j.Lifted) > 0 && j.Engine.Access == shim.ByValve:
		lift = shim.Count(len(j.Lifted), "valve", "valves, one by one")
	case len(j.Lifted) == 1:
		lift = "the " + j.Lifted[0] + " camshaft"
	case len(j.Lifted) > 1:
		lift = "the camshafts " + strings.Join(j.Lifted, ", ")
	}
	apart := "Take apart: "
	if j.Engine.Access == shim.ByValve {
		apart = "Open: "
	}
	lines = append(lines, apart+lift+".")
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
		lines = append(lines, shim.Count(c.Disturbed, "valve inside its limits changes its shim", "valves inside their limits change shims")+" too, for a better plan.")
	}
	if j.Provisional {
		lines = append(lines, provisional(j))
	}
	if carried > 0 {
		lines = append(lines, shim.Count(carried, "reading is", "readings are")+" in brackets: worked out from what was read over an earlier shim.")
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

// The columns of the table of valves.
const (
	colChange = iota
	colValve
	colReading
	colStatus
	colShim
	colAction
	colNew
	colExpected
	colToLimit
	colSure
	colBin
)

// mostSpaced is how many rows both lists of a job may have before the blank lines
// between cylinders are left out: a six of 24 valves has to fit on one and a half
// screens of 50 lines.
const mostSpaced = 36

// addValves lists the valves of a job, cylinder by cylinder.
func addValves(d *Document, p *plan.Plan, i int, o Options) {
	j := &p.Jobs[i]
	u := j.Units
	t := &Table{
		Kind:   "valves",
		Header: []string{"", "valve", "reading", "status", "shim", "action", "new shim", "expected", "to limit", "sure"},
		Right:  []int{colShim, colNew, colExpected, colToLimit, colSure},
		Strong: map[int]bool{colStatus: true, colAction: true},
	}
	s := Section{Table: t}
	spaced := len(j.Valves)+len(j.Moves) <= mostSpaced
	near, binned := false, false
	for k := range j.Valves {
		v := &j.Valves[k]
		if spaced && k > 0 && j.Valves[k-1].Valve.Cylinder != v.Valve.Cylinder {
			t.Breaks = append(t.Breaks, k)
		}
		row := valveRow(p, j, v, o.Doubt)
		if o.Bin != nil && v.Action == plan.Box {
			row[colBin] = o.Bin(i, v)
		}
		binned = binned || row[colBin] != ""
		t.Rows = append(t.Rows, row)
		near = near || v.Near
		if v.Reason != nil {
			s.Notes = append(s.Notes, v.Valve.String()+": "+reason.Text(v, bare{u})+".")
		}
	}
	if binned {
		t.Header = append(t.Header, "bin")
	} else {
		for k := range t.Rows {
			t.Rows[k] = t.Rows[k][:colBin]
		}
	}
	if note := bindNote(j); note != "" {
		s.Notes = append(s.Notes, note)
	}
	if near {
		s.Notes = append(s.Notes, nearNote(p, u))
	}
	s.Notes = append(s.Notes, sureNote(j, o.Doubt))
	narrowValves(t, binned)
	d.add(s)
}

// bindNote names the closers that may end without clearance.
func bindNote(j *plan.JobPlan) string {
	var list []string
	for k := range j.Valves {
		if v := &j.Valves[k]; v.MayBind {
			list = append(list, v.Valve.String())
		}
	}
	if len(list) == 0 {
		return ""
	}
	return strings.Join(list, ", ") + " may bind: the clearance to expect is smaller than its own uncertainty. Turn the engine all round by hand and feel each closer before it runs; a finer gauge makes it surer."
}

// narrowValves adds the forms of the table for narrow screens: first with short
// headers, then without the columns that one can do without best.
func narrowValves(t *Table, binned bool) {
	header := slices.Clone(t.Header)
	header[colNew], header[colExpected] = "new", "expect"
	columns := []int{colChange, colValve, colReading, colStatus, colShim, colAction, colNew, colExpected, colToLimit, colSure}
	if binned {
		columns = append(columns, colBin)
	}
	t.Narrower = append(t.Narrower, t.pick(header, columns...))
	var left []string
	for _, column := range []int{colToLimit, colShim, colSure, colReading} {
		columns = slices.DeleteFunc(columns, func(c int) bool { return c == column })
		left = append(left, t.Header[column])
		n := t.pick(header, columns...)
		n.leftOut(left)
		if !slices.Contains(columns, colSure) {
			n.Unsaid = "sure: "
		}
		t.Narrower = append(t.Narrower, n)
	}
	last := *t.Narrower[len(t.Narrower)-1]
	last.Header, last.Rows = slices.Clone(last.Header), slices.Clone(last.Rows)
	action := slices.Index(columns, colAction)
	for i, row := range last.Rows {
		row = slices.Clone(row)
		row[action] = strings.TrimPrefix(row[action], "swap ")
		if binned {
			row[action] = strings.TrimSpace(row[action] + " " + row[len(row)-1])
			row = row[:len(row)-1]
		}
		last.Rows[i] = row
	}
	if binned {
		last.Header = last.Header[:len(last.Header)-1]
	}
	t.Narrower = append(t.Narrower, &last)
}

// nearNote says what an asterisk stands for.
func nearNote(p *plan.Plan, u shim.Unit) string {
	if p.Confidence != 0 {
		return fmt.Sprintf("* inside, but less sure than %g %%.", 100*p.Confidence)
	}
	return "* inside, but nearer to a limit than " + size(u, p.Margin) + " " + u.String() + "."
}

// sureNote says what the share of certainty rests on.
func sureNote(j *plan.JobPlan, doubt bool) string {
	u := j.Units
	gauge := "for a feeler gauge in steps of " + size(u, j.Gauge.Step)
	switch {
	case doubt && !j.GaugeStated:
		gauge += ", as is usual; state your own for better figures"
	case !j.GaugeStated:
		gauge += ", as usual"
	}
	if !doubt {
		return "sure: chance to end inside, " + gauge + "."
	}
	unit := "0.001 mm"
	if u == shim.IN {
		unit = "0.0001 in"
	}
	return "sure: how likely the valve ends inside its limits, and the uncertainty of that clearance (95 %) in " + unit + ", " + gauge + "."
}

func valveRow(p *plan.Plan, j *plan.JobPlan, v *plan.ValvePlan, doubt bool) []string {
	u := j.Units
	row := make([]string, colBin+1)
	row[colValve], row[colReading] = v.Valve.String(), Reading(u, v.Limits, v.Reading)
	row[colStatus], row[colAction] = verdictWord(v.Verdict, v.Undecided), do(p, j, v)
	row[colShim], row[colExpected], row[colToLimit] = "?", "?", "?"
	if v.Changed() || v.MustChange() {
		row[colChange] = ">"
	}
	if v.Over != nil {
		row[colReading] = "(" + row[colReading] + ")"
	}
	if v.Installed != 0 {
		row[colShim] = size(u, v.Installed)
	}
	if v.Changed() {
		row[colNew] = size(u, v.Size)
	}
	if v.Measured {
		row[colExpected], row[colToLimit] = clearance(u, v.Limits, v.Expected), room(u, v.Limits, v.Expected)
		if v.Near {
			row[colExpected] = "*" + row[colExpected]
		}
		if f, ok := j.Forecast(v); ok {
			row[colSure] = short(f.Inside)
			if doubt {
				row[colSure] = sure(u, f)
			}
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

// mostInLine is how many kinds of shim to buy a terminal has in one line.
const mostInLine = 3

func addShopping(d *Document, p *plan.Plan, u shim.Unit) {
	var trials []string
	if list := p.Trials(); len(list) > 0 {
		trials = []string{"To buy as a trial as well, for a valve without a number: " + lotLine(list, u) + "."}
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
		t.Rows = append(t.Rows, []string{strconv.Itoa(lot.Count), size(u, lot.Size), Figure(u, u.Format(lot.Diameter)), each, total})
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
	if len(p.Shopping) <= mostInLine && len(trials) == 0 {
		s.RunIn, s.Screen = true, s.Heading+": "+quoteLine(p.Shopping, u)+"; total "+total+"."
		if !priced {
			s.Screen = strings.TrimSuffix(s.Screen, ".") + " (" + s.Notes[0] + ")"
		}
	}
	d.add(s)
}

// quoteLine lists lots as "2.350 x 2 at 7.80, 2.425 at 9.00".
func quoteLine(lots []plan.Pieces, u shim.Unit) string {
	parts := strings.Split(lotLine(lots, u), ", ")
	for i, lot := range lots {
		if lot.Priced {
			parts[i] += " at " + lot.Price.String()
		} else {
			parts[i] += " at ?"
		}
	}
	return strings.Join(parts, ", ")
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
			part = "diameter " + Figure(u, u.Format(lot.Diameter)) + ": " + part
		}
		parts = append(parts, part)
	}
	return strings.Join(parts, ", ")
}
