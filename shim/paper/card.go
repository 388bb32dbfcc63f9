package paper

import (
	"fmt"
	"io"
	"slices"
	"strconv"
	"strings"

	"shimwright/shim"
	"shimwright/shim/plan"
	"shimwright/shim/report"
)

type cardPage struct {
	page
	Jobs  []cardJob
	Parts []part // for all jobs together: shopping, box, left over
}

type cardJob struct {
	Title       string
	Lines       []string
	Provisional bool
	NotReady    bool
	Fields      []field
	Pairs       []pair
	Leaves      bool   // whether a figure in the head stands for two leaves
	Common      []part // what to buy, to pick and to put back
	Parts       []part
	Cylinders   []cylinder
	Key         drawing
	Notes       []string
	Cautions    []string
}

// A part is a heading with what stands below it.
type part struct {
	Heading string
	Lines   []string
	Items   []string // to tick
	Grid    *grid
	Notes   []string
}

// A cylinder is the rows of one cylinder in the table of valves.
type cylinder struct {
	Heading string
	Rows    []valveRow
	Notes   []string
}

// FirstCylinder keeps with the heading above it.
func (c cardJob) FirstCylinder() []cylinder { return c.Cylinders[:1] }

// OtherCylinders may go on other pages, each on one.
func (c cardJob) OtherCylinders() []cylinder { return c.Cylinders[1:] }

// A valveRow is one valve in the words of the report, with its strip.
type valveRow struct {
	Name, Limits, Found, Is, Shim, Do, Fit, Then, Sure string
	Changed                                            bool
	Near                                               bool
	Strip                                              drawing
	valve                                              *plan.Valve
}

// Breakable lets a range wrap behind its dash.
func (valveRow) Breakable(text string) string { return breakable(text) }

// Card writes the job card of a plan: each job on a new page, then what all
// have in common. The infos belong to the jobs in their order; what is not
// given becomes lines to fill in.
func Card(w io.Writer, p *plan.Plan, infos ...Info) error {
	c := cardPage{page: page{Title: "Job card", Foot: "Job card"}}
	if len(p.Jobs) == 1 {
		c.Title = "Job card: " + p.Jobs[0].Engine.Name
		c.Foot = p.Jobs[0].Engine.Name + ", job card"
		if p.Provisional() {
			c.Foot += ", PROVISIONAL"
		}
	}
	rest := report.Plan(p).Sections
	for i := range p.Jobs {
		info := Info{}
		if i < len(infos) {
			info = infos[i]
		}
		n := jobSections(rest, i == len(p.Jobs)-1)
		job, err := cardOf(p, i, rest[:n], info)
		if err != nil {
			return err
		}
		c.Jobs = append(c.Jobs, job)
		rest = rest[n:]
	}
	parts := &c.Parts
	if len(c.Jobs) == 1 { // what to buy and to pick stands before the work
		parts = &c.Jobs[0].Common
	}
	for _, s := range rest {
		if s.Heading != cautions {
			*parts = append(*parts, partOf(s))
		}
	}
	return write(w, "card", c)
}

// Headings of a report that this package treats in a way of its own: cautions
// stand on each job's card, and lists of shims get a box to tick for each.
const (
	cautions = "Cautions"
	fromBox  = "From the box"
	leftOver = "Left over, for the box"
)

// jobSections is how many sections of a report's beginning are of its first
// job: up to the next job, or up to what is for all jobs.
func jobSections(sections []report.Section, last bool) int {
	for i := 1; i < len(sections); i++ {
		s := sections[i]
		common := s.Level == 2 && (s.Table == nil || s.Table.Kind != "moves")
		if s.Level == 1 || last && common {
			return i
		}
	}
	return len(sections)
}

func cardOf(p *plan.Plan, index int, sections []report.Section, info Info) (cardJob, error) {
	j := &p.Jobs[index]
	id := "job-" + strconv.Itoa(index+1)
	c := cardJob{
		Title:       sections[0].Heading,
		Lines:       sections[0].Lines,
		Provisional: j.Provisional,
		Fields:      info.fields(),
		Key:         key(id + "-key"),
		Cautions:    shim.Cautions,
	}
	valves := j.Valves
	sureSaid := false
	for _, s := range sections[1:] {
		if s.Table == nil || s.Table.Kind != "cylinder" {
			switch {
			case s.Heading != "":
				c.Parts = append(c.Parts, partOf(s))
			case sureSaid: // then come the job's own shims, a line a list
				c.Common = append(c.Common, ownParts(s.Lines)...)
			default:
				c.Notes, sureSaid = append(c.Notes, s.Lines...), true
			}
			continue
		}
		rows, err := valveRows(s.Table, j, valves[:len(s.Table.Rows)], id)
		if err != nil {
			return c, err
		}
		block := cylinder{Heading: s.Heading, Rows: rows}
		for _, note := range s.Notes {
			// What the star means is said once, below the table.
			if !strings.HasPrefix(note, "* ") {
				block.Notes = append(block.Notes, note)
			} else if !slices.Contains(c.Notes, note) {
				c.Notes = append(c.Notes, note)
			}
		}
		c.Cylinders = append(c.Cylinders, block)
		valves = valves[len(rows):]
	}
	c.Pairs = cardHead(j, c.Cylinders, info.Intake, id).pairs()
	for _, p := range c.Pairs {
		for _, r := range p.Ranks {
			c.Leaves = c.Leaves || slices.ContainsFunc(r.Shapes, func(s shape) bool { return strings.HasSuffix(s.Text, leaves) })
		}
	}
	for k := range j.Valves {
		c.NotReady = c.NotReady || !j.Valves[k].Served()
	}
	return c, nil
}

// valveRows puts a report's table of one cylinder on paper. The error says that
// the report lacks a column, which the tests keep from happening.
func valveRows(t *report.Table, j *plan.JobPlan, valves []plan.Valve, id string) ([]valveRow, error) {
	g := gridOf(t, "")
	at := map[string]int{}
	for _, heading := range []string{"valve", "limits", "reading", "is", "shim", "do", "fit", "then", "sure"} {
		if at[heading] = g.column(heading); at[heading] < 0 {
			return nil, fmt.Errorf("the report has no column %q", heading)
		}
	}
	rows := make([]valveRow, len(valves))
	for k := range valves {
		v, cells := &valves[k], t.Rows[k]
		r := valveRow{
			Name: cells[at["valve"]], Limits: cells[at["limits"]], Found: cells[at["reading"]], Is: cells[at["is"]],
			Shim: cells[at["shim"]], Do: cells[at["do"]], Fit: cells[at["fit"]], Then: cells[at["then"]], Sure: cells[at["sure"]],
			Changed: v.Changed(), Near: v.Near, valve: v,
		}
		r.Strip = strip(id+"-strip-"+r.Name, j, &r)
		rows[k] = r
	}
	return rows, nil
}

// ownParts makes lists to tick of lines like "To buy: 2.350, 2.425.".
func ownParts(lines []string) []part {
	var parts []part
	for _, line := range lines {
		heading, list, _ := strings.Cut(line, ": ")
		parts = append(parts, part{Heading: heading, Items: strings.Split(strings.TrimSuffix(list, "."), ", ")})
	}
	return parts
}

// partOf puts a section of a report on paper, its table with boxes to tick.
func partOf(s report.Section) part {
	p := part{Heading: s.Heading, Lines: s.Lines, Notes: s.Notes}
	if s.Table == nil {
		if s.Heading == fromBox || s.Heading == leftOver {
			p.Lines, p.Items = nil, strings.Split(strings.Join(s.Lines, ", "), ", ")
		}
		return p
	}
	p.Grid = gridOf(s.Table, s.Heading).tick("done")
	p.Grid.Heading = true
	if s.Table.Kind == "moves" {
		p.Grid = p.Grid.rowHead("valve").blank("put in", "it measures")
		return p
	}
	p.Grid = p.Grid.rowHead("")
	return p
}

// cardHead draws each valve as found and as it will be.
func cardHead(j *plan.JobPlan, cylinders []cylinder, intake Placing, id string) *head {
	rows := map[shim.Valve]*valveRow{}
	for _, c := range cylinders {
		for k := range c.Rows {
			rows[c.Rows[k].valve.Valve] = &c.Rows[k]
		}
	}
	h := &head{engine: j.Engine, units: j.Units, intake: intake, row: 11.6, prefix: id + "-head"}
	h.over = func(bank int, s shim.Side) string { return camshaft(j, bank, s) }
	h.about = func(name shim.Valve) string {
		r := rows[name]
		text := fmt.Sprintf("%s: found %s, %s, shim %s; %s", name, or(r.Found, "nothing"), verdict(r.valve.Verdict), r.Shim, r.Do)
		if r.Changed {
			text += ", new shim " + r.Fit
		}
		return text + ", to expect " + r.Then + "."
	}
	h.plot = func(d *drawing, p place) { plotValve(d, p, h.double(), rows[p.valve]) }
	return h
}

// verdict is a verdict as it stands in the head.
func verdict(v shim.Verdict) string {
	return map[shim.Verdict]string{shim.OK: "ok", shim.Tight: "TIGHT", shim.Loose: "LOOSE", shim.Unmeasured: "no figure"}[v]
}

// smallest is the least size of a figure in the head, in mm.
const smallest = 2.3

// leaves ends the lower of two leaves that have no room together; the table has
// both.
const leaves = " +"

// plotValve draws a valve: its name, verdict and action next to the cylinder,
// what was found in the left box, what will be in the right one. The right box
// is heavy where the shim is changed.
func plotValve(d *drawing, p place, narrow bool, r *valveRow) {
	tag, size := 16.0, 3.9
	if narrow {
		tag, size = 11.2, 3.3
	}
	x, w := p.span(0.5, tag)
	d.text("strong", "middle", x+w/2, p.y+3.9, fitting(r.Name, size, w-0.6), w, r.Name)
	d.text("plain", "middle", x+w/2, p.y+7.2, 2.7, w, verdict(r.valve.Verdict))
	action := r.valve.Action.String()
	if r.Changed {
		action = strings.ToUpper(action)
	}
	d.text("strong", "middle", x+w/2, p.y+10.5, 2.8, w, action)

	x, w = p.span(tag+0.5, p.width)
	const gap = 3.4
	box := (w - gap) / 2
	top, height := p.y+0.7, p.height-1.4
	inner := box - 1.4
	write := func(x float64, class, clearance, shim string) {
		d.text(class, "middle", x+box/2, top+4.1, fitting(clearance, size, inner), inner, clearance)
		d.text(class, "middle", x+box/2, top+8.9, fitting(shim, size, inner), inner, shim)
	}
	d.rect("box", x, top, box, height)
	found := or(r.Found, "-")
	if low, _, bracket := strings.Cut(found, "-"); bracket && low != "" && fitting(found, size, inner) < smallest {
		found = low + leaves
	}
	write(x, "plain", found, r.Shim)
	middle := top + height/2
	d.line("doubt", x+box+0.5, middle, x+box+gap-1.2, middle)
	d.path("ink", "M%s %sL%s %sL%s %sz", x+box+gap-0.6, middle, x+box+gap-2.2, middle-1.1, x+box+gap-2.2, middle+1.1)
	if r.Changed {
		d.rect("heavy", x+box+gap, top, box, height)
		write(x+box+gap, "strong", r.Then, r.Fit)
		return
	}
	d.rect("dash", x+box+gap, top, box, height)
	write(x+box+gap, "plain", r.Then, r.Shim)
}

// camshaft says what becomes of the camshaft over one side of a bank.
func camshaft(j *plan.JobPlan, bank int, s shim.Side) string {
	e := j.Engine
	if e.Access == shim.ByValve {
		return "camshaft stays in"
	}
	for _, c := range e.CamshaftList() {
		if c.Bank != bank || !c.Shared && c.Side != s {
			continue
		}
		for _, name := range j.Lifted {
			if name == c.Name {
				return "camshaft " + c.Name + " OUT"
			}
		}
		return "camshaft " + c.Name + " stays in"
	}
	return ""
}
