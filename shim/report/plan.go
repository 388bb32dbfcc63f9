package report

import (
	"fmt"
	"slices"
	"strings"

	"shimwright/shim"
	"shimwright/shim/plan"
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
	addShopping(d, p, units.Size)
	if len(p.Drawn) > 0 {
		d.add(Section{Level: 2, RunIn: true, Heading: "From the box", Lines: []string{lotLine(p, p.Drawn, units.Size)}})
	}
	if len(p.LeftOver) > 0 {
		d.add(Section{Level: 2, RunIn: true, Heading: "Left over, for the box", Lines: []string{lotLine(p, p.LeftOver, units.Size)}})
	}
	d.Sections = append(d.Sections, more...)
	d.add(cautions(p.Engines()...))
	return d
}

// cautions has them in full; a terminal gets them in three lines at most.
func cautions(engines ...*shim.Engine) Section {
	full, short := shim.CautionsFor(engines...)
	return Section{Level: 2, RunIn: true, Heading: "Cautions", Notes: full, Screen: short[0], Briefer: short[1:]}
}

func addJob(d *Document, p *plan.Plan, i int, o Options) {
	j := &p.Jobs[i]
	title := j.Engine.Name
	if j.Job != "" {
		title = "Job " + j.Job + ": " + title
	}
	title += " (" + j.Units.String() + ")"
	title += headed(j.Provisional)
	lines := append(summary(p, j), untilLine(j.Until), wholeLine(p.AllInside(i))+" "+limitsLine(j))
	lines = slices.DeleteFunc(lines, func(l string) bool { return l == "" })
	d.add(Section{Level: 1, Heading: title, Lines: lines})
	addValves(d, p, i, o)
	addMoves(d, p, j)
	if len(p.Jobs) > 1 {
		addOwn(d, p, j)
	}
}

// LimitsLine begins what the head of a job says of the limits, last of all.
const LimitsLine = "Limits: "

// limitsLine says the limits of each side.
func limitsLine(j *plan.JobPlan) string {
	var list []string
	for _, side := range shim.Sides {
		if t := j.Engine.Train(side); t.Valves > 0 {
			list = append(list, side.String()+" "+Limits(j.Units.Clearance, t.Limits))
			if t.Closer != nil {
				list = append(list, side.String()+" closer "+Limits(j.Units.Clearance, t.Closer.Limits))
			}
		}
	}
	return LimitsLine + strings.Join(list, ", ") + "."
}

// summary says in a few lines how many valves are outside, what to take apart
// and what to do.
func summary(p *plan.Plan, j *plan.JobPlan) []string {
	var tight, loose, unread, undecided, early, stay, swaps, carried int
	for k := range j.Valves {
		v := &j.Valves[k]
		switch {
		case v.Verdict == shim.Unmeasured:
			unread++
		case v.Verdict == shim.Tight:
			tight++
		case v.CloserFirst && v.Verdict != shim.Tight:
			early++
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
	if early > 0 {
		found += fmt.Sprintf("; %d provisional", early)
	}
	lines := []string{found + "."}
	if j.Build {
		lines[0] = buildLine(j)
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
	lines = append(lines, warmth(j)...)
	if carried > 0 {
		lines = append(lines, shim.Count(carried, "reading is", "readings are")+" in brackets: worked out from what was read over an earlier shim.")
	}
	if n := j.Undecided(); n > 0 {
		lines = append(lines, fmt.Sprintf("UNDECIDED: %s; see below what decides.", shim.Count(n, "valve keeps its shim, but its reading crosses a limit", "valves keep their shims, but their readings cross a limit")))
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
