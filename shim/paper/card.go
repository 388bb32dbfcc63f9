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
	NoneFits    bool   // whether a valve of a fresh build stays without a shim
	Leaves      bool   // whether a figure in the head stands for two leaves
	Common      []part // what to buy, to pick and to put back
	Parts       []part
	Cylinders   []cylinder
	Found       *grid // before anything was fitted, where that is not the plan's
	Key         drawing
	Notes       []string
	Charts      []drawing // of the machine's wear
	ChartKey    string
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
	After, AfterIs                                     string // what the recheck found; empty to fill in
	Changed                                            bool
	Near                                               bool
	Strip                                              drawing
	valve                                              *plan.ValvePlan
}

// Breakable lets a range wrap behind its dash, and a closer's name behind its point.
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
	rest := report.Plan(p, report.Options{Doubt: true}).Sections
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
		// What is worth measuring first is done, or not, before the card is used.
		if s.Heading != cautions && s.Heading != report.MeasureFirst {
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
		common := s.Level == 2 && !strings.HasPrefix(s.Heading, report.FittingList)
		if s.Level == 1 || last && common {
			return i
		}
	}
	return len(sections)
}

func cardOf(p *plan.Plan, index int, sections []report.Section, info Info) (cardJob, error) {
	j := &p.Jobs[index]
	id := "job-" + strconv.Itoa(index+1)
	if info.Temperature == "" {
		info.Temperature = temperature(j)
	}
	c := cardJob{
		Title:       sections[0].Heading,
		Lines:       slices.Clone(sections[0].Lines),
		Provisional: j.Provisional,
		Fields:      info.fields(),
		Key:         key(id + "-key"),
	}
	last := &c.Lines[len(c.Lines)-1]
	*last = strings.TrimSpace(strings.Split(*last, report.LimitsLine)[0]) // the valves have them
	c.Cautions, _ = shim.CautionsFor(j.Engine)
	if len(info.Fetch) > 0 {
		c.Common = append(c.Common, part{Heading: "Fetch", Items: info.Fetch})
	}
	for _, s := range sections[1:] {
		switch {
		case s.Table != nil && s.Table.Kind == "valves":
			rows, err := valveRows(s.Table, j, info, id)
			if err != nil {
				return c, err
			}
			c.Cylinders, c.Notes = cylinders(rows, s.Notes)
		case s.Heading != "":
			c.Parts = append(c.Parts, partOf(s))
		default: // the job's own shims, a line a list
			c.Common = append(c.Common, ownParts(s.Lines)...)
		}
	}
	c.Charts, c.ChartKey = charts(id, info.Charts), chartKey
	if len(info.Found) > 0 {
		c.Found = foundGrid(j, info.Found)
	}
	c.Pairs = cardHead(j, c.Cylinders, info.intake(j.Engine), id).pairs()
	for _, p := range c.Pairs {
		for _, r := range p.Ranks {
			c.NoneFits = c.NoneFits || slices.ContainsFunc(r.Shapes, func(s shape) bool { return s.Text == noShim })
			c.Leaves = c.Leaves || slices.ContainsFunc(r.Shapes, func(s shape) bool { return strings.HasSuffix(s.Text, leaves) })
		}
	}
	c.NotReady = len(j.Wants) > 0
	for k := range j.Valves {
		c.NotReady = c.NotReady || !j.Valves[k].Served()
	}
	return c, nil
}

// cylinders parts the rows by cylinder, each with the notes on its valves. The
// other notes are given back.
func cylinders(rows []valveRow, notes []string) (list []cylinder, other []string) {
	of := map[string]int{}
	for i := range rows {
		number := rows[i].valve.Valve.Cylinder
		if i == 0 || rows[i-1].valve.Valve.Cylinder != number {
			list = append(list, cylinder{Heading: "Cylinder " + strconv.Itoa(number)})
		}
		at := len(list) - 1
		list[at].Rows = append(list[at].Rows, rows[i])
		of[rows[i].Name] = at
	}
	for _, note := range notes {
		valve, _, _ := strings.Cut(note, ": ")
		if at, ok := of[valve]; ok {
			list[at].Notes = append(list[at].Notes, note)
		} else {
			other = append(other, note)
		}
	}
	return list, other
}

// valveRows puts a report's table of the valves on paper. The error says that
// the report lacks a column, which the tests keep from happening.
func valveRows(t *report.Table, j *plan.JobPlan, info Info, id string) ([]valveRow, error) {
	g := gridOf(t, "")
	at := map[string]int{}
	for _, heading := range []string{"valve", "reading", "status", "shim", "action", "new shim", "expected", "sure"} {
		if at[heading] = g.column(heading); at[heading] < 0 {
			return nil, fmt.Errorf("the report has no column %q", heading)
		}
	}
	rows := make([]valveRow, len(j.Valves))
	for k := range j.Valves {
		v, cells := &j.Valves[k], t.Rows[k]
		r := valveRow{
			Name: cells[at["valve"]], Limits: limitsOf(j.Units.Clearance, v.Limits), Found: cells[at["reading"]], Is: cells[at["status"]],
			Shim: cells[at["shim"]], Do: cells[at["action"]], Fit: cells[at["new shim"]], Then: strings.TrimPrefix(cells[at["expected"]], "*"), Sure: cells[at["sure"]],
			Changed: v.Changed(), Near: v.Near, valve: v,
		}
		if slices.Contains(info.Empty, v.Valve) {
			r.Shim = "EMPTY"
		}
		if found, measured := info.After[v.Valve]; measured {
			r.After, r.AfterIs = report.Reading(j.Units.Clearance, v.Limits, found), verdict(v.Limits.Judge(found), v.Limits.Undecided(found))
		}
		r.Strip = strip(id+"-strip-"+r.Name, j, &r)
		rows[k] = r
	}
	return rows, nil
}

// foundGrid is what was measured before anything was fitted.
func foundGrid(j *plan.JobPlan, found []shim.Measurement) *grid {
	t := &report.Table{Kind: "found", Header: []string{"valve", "limits", "found", "is", "shim"}, Right: []int{4}}
	for _, m := range found {
		limits := j.Engine.TrainOf(m.Valve).Limits
		shim := "-"
		if m.Size() != 0 {
			shim = report.InPlace(j.Units.Size, j.Engine, m)
		}
		t.Rows = append(t.Rows, []string{m.Valve.String(), limitsOf(j.Units.Clearance, limits), report.Reading(j.Units.Clearance, limits, m.Reading),
			verdict(limits.Judge(m.Reading), limits.Undecided(m.Reading)), shim})
	}
	g := gridOf(t, "Measured before the first fit").rowHead("valve")
	g.Heading = true
	return g
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
