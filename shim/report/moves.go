package report

import (
	"fmt"
	"math"
	"slices"
	"strconv"
	"strings"

	"shimwright/shim"
	"shimwright/shim/crank"
	"shimwright/shim/plan"
)

// FittingList is what the heading of every section of a fitting list begins with.
const FittingList = "Fitting list"

// addMoves lists what is changed in working order: with shims on top a block for
// each stop of the crank.
func addMoves(d *Document, p *plan.Plan, j *plan.JobPlan) {
	if len(j.Moves) == 0 && len(j.Wants) == 0 {
		return
	}
	l := newMoveList(p, j)
	if note := alikeNote(j); note != "" {
		l.notes = append(l.notes, note)
	}
	head := Section{Level: 2, Heading: FittingList + ", in working order" + headed(j.Provisional)}
	if j.Engine.Access == shim.ByCamshaft {
		head.Table = l.table(j.Moves)
		head.Notes = l.notes
		d.add(head)
		return
	}
	head.Lines = l.onTop()
	stops := Stops(p, j)
	if len(stops) == 1 && stops[0].Heading == "" {
		head.Table = l.table(stops[0].Moves)
		stops = nil
	}
	d.add(head)
	for _, s := range stops {
		d.add(Section{Level: 3, Heading: s.Heading, Table: l.table(s.Moves), Notes: l.doubts(s.Moves)})
	}
	if len(l.notes) > 0 {
		d.add(Section{Level: 3, Heading: FittingList + ", notes", Notes: l.notes})
	}
}

// A moveList lays out the moves of one job.
type moveList struct {
	plan     *plan.Plan
	job      *plan.JobPlan
	openings *crank.Openings     // nil where no crank position is told
	out      map[plan.Place]int  // the last row in which the valve is opened
	first    map[plan.Place]int  // and the first
	twice    map[shim.Valve]bool // valves of the job with a temporary shim
	notes    []string
}

func newMoveList(p *plan.Plan, j *plan.JobPlan) *moveList {
	l := &moveList{plan: p, job: j, out: map[plan.Place]int{}, first: map[plan.Place]int{}, twice: map[shim.Valve]bool{}}
	if j.Engine.Access == shim.ByValve {
		l.openings, _ = crank.NewOpenings(j.Engine) // without a firing order no move is turned
	}
	shared := false
	for i := range p.Jobs {
		for _, m := range p.Jobs[i].Moves {
			at := plan.Place{Job: i, Valve: m.Valve}
			l.out[at] = m.Step
			if l.first[at] == 0 {
				l.first[at] = m.Step
			}
			if &p.Jobs[i] == j {
				l.twice[m.Valve] = l.twice[m.Valve] || m.Temporary
				shared = shared || m.From != nil && m.From.Job != i
			}
		}
	}
	if slices.ContainsFunc(j.Moves, func(m plan.Move) bool { return l.waits(&m) }) {
		note := "Row named: old shim out now, new one in after that row."
		if j.Engine.Access == shim.ByValve {
			note += " Do not turn the crank in between."
		}
		l.notes = append(l.notes, note)
	}
	switch {
	case shared && j.Engine.Access == shim.ByCamshaft:
		l.notes = append(l.notes, "A shim from another job has to be out there before it goes in here: take the old shims out of both engines first.")
	case shared:
		l.notes = append(l.notes, "A shim from another job has to be out there before it goes in here: the rows are numbered over all jobs, work them in that order.")
	}
	if j.Engine.Marked() && len(j.Moves) > 0 && j.Engine.Intake.Ratio == (shim.Ratio{Times: shim.One}) {
		way := "up"
		if j.Engine.Access == shim.ByValve {
			way = "down"
		}
		l.notes = append(l.notes, "Each shim with its mark towards the bucket ("+way+"), unless the manual says otherwise.")
	}
	return l
}

// waits reports whether the new shim comes out in a later row.
func (l *moveList) waits(m *plan.Move) bool {
	return m.From != nil && &l.plan.Jobs[m.From.Job] == l.job && l.first[*m.From] > m.Step ||
		m.From != nil && l.job.Engine.Access == shim.ByValve && l.first[*m.From] > m.Step
}

// table lists moves, numbered over all jobs.
func (l *moveList) table(moves []plan.Move) *Table {
	u := l.job.Units.Size
	t := &Table{Kind: "moves", Header: []string{"", "valve", "take out", "old shim to", "put in", "new shim from"}, Right: []int{0, 2, 4}}
	turned := len(moves) > 0 && moves[0].Turned
	if turned { // where the piston stands, which a pressed valve can touch
		t.Header = append(t.Header, "piston")
	}
	for i := range moves {
		m := &moves[i]
		goes, out := "the box", shim.WithMark(size(u, m.Out), l.job.Mark(m.Valve, m.Out))
		switch {
		case m.SetUp && m.Out == 0:
			goes, out = "", "none"
		case m.SetUp:
			goes = "the bench set"
		case m.To != nil:
			goes = place(l.plan, l.job, m.To)
		case m.Bench:
			goes = l.serves(m) + " for now"
		case m.Again:
			goes = "the box again"
		}
		comes := "the box"
		switch m.By {
		case plan.Swap:
			comes = place(l.plan, l.job, m.From)
		case plan.Buy:
			comes = "bought"
		}
		if l.waits(m) {
			comes += ", row " + strconv.Itoa(l.first[*m.From])
		}
		if m.Temporary {
			comes += ", until row " + strconv.Itoa(l.outOf(m.Valve))
		}
		row := []string{strconv.Itoa(m.Step), m.Valve.String(), out, goes, shim.WithMark(size(u, m.In), l.job.Mark(m.Valve, m.In)), comes}
		if turned {
			row = append(row, stands(l.openings.Piston(m.Valve, m.Crank)))
		}
		t.Rows = append(t.Rows, row)
	}
	narrow, columns := []string{"", "valve", "take out", "to", "put in", "from"}, []int{0, 1, 2, 3, 4, 5}
	if turned {
		narrow, columns = append(narrow, "piston"), append(columns, 6)
	}
	t.Narrower = []*Table{t.pick(narrow, columns...)}
	t.Narrower[0].say = sayMove
	return t
}

// sayMove words a row of the fitting list as it is done.
func sayMove(row []string) []string {
	out, in := row[2]+" out", row[4]+" in, "
	if row[2] == "none" {
		out = "no shim in"
	} else if row[3] != "" {
		out += ", to " + row[3]
	}
	from, until, waits := strings.Cut(row[5], ", ")
	if from != "bought" {
		from = "from " + from
	}
	if waits {
		from += " (" + until + ")"
	}
	lines := []string{row[0] + " " + row[1] + ": " + out, in + from}
	if len(row) > 6 {
		lines = append(lines, "piston "+row[6])
	}
	return lines
}

// serves names the valve that a shim goes to as a temporary one.
func (l *moveList) serves(m *plan.Move) string {
	from := l.place(m.Valve)
	for i := range l.plan.Jobs {
		for _, other := range l.plan.Jobs[i].Moves {
			if other.Temporary && other.From != nil && *other.From == from && other.In == m.Out {
				return place(l.plan, l.job, &plan.Place{Job: i, Valve: other.Valve})
			}
		}
	}
	return "another valve"
}

// outOf is the row in which the valve's temporary shim comes out.
func (l *moveList) outOf(v shim.Valve) int {
	return l.out[l.place(v)]
}

// place is a valve of the job.
func (l *moveList) place(v shim.Valve) plan.Place {
	job := 0
	for i := range l.plan.Jobs {
		if &l.plan.Jobs[i] == l.job {
			job = i
		}
	}
	return plan.Place{Job: job, Valve: v}
}

// stops parts the moves by where the crank stands.
func (l *moveList) stops() [][]plan.Move {
	var stops [][]plan.Move
	for i, m := range l.job.Moves {
		if i == 0 || m.Turned && m.Crank != l.job.Moves[i-1].Crank {
			stops = append(stops, nil)
		}
		last := &stops[len(stops)-1]
		*last = append(*last, m)
	}
	return stops
}

// stop is the heading of one stop.
func (l *moveList) stop(i int, moves []plan.Move, before float64) string {
	at := l.openings.At(moves[0].Crank, nil)
	turn := "crank at " + Degrees(at.Degrees)
	if i > 0 {
		further := at.Degrees - before
		if further < 0 {
			further += 720
		}
		turn = fmt.Sprintf("on by %s to %s", Degrees(further), Degrees(at.Degrees))
	}
	return fmt.Sprintf("%s, stop %d: %s, %s", FittingList, i+1, turn, at.Mark)
}

// doubts names the valves that may not stand on their base circle.
func (l *moveList) doubts(moves []plan.Move) []string {
	var valves []shim.Valve
	for _, m := range moves {
		valves = append(valves, m.Valve)
	}
	var notes []string
	if doubtful := l.openings.At(moves[0].Crank, valves).Doubtful; len(doubtful) > 0 {
		notes = append(notes, fmt.Sprintf("Look at the lobe of %s first: it is within %d° of the timing that the engine file gives.", names(doubtful), crank.Ramp))
	}
	return notes
}

// onTop says how shims on top are changed.
func (l *moveList) onTop() []string {
	var lines []string
	j := l.job
	var twice []shim.Valve
	for k := range j.Valves {
		if v := j.Valves[k].Valve; l.twice[v] {
			twice = append(twice, v)
		}
	}
	if stops := l.stops(); len(stops) > 0 && stops[0][0].Turned {
		lines = append(lines, shim.Count(len(stops), "stop")+" of the crank, always turned in its running direction; 0° is the firing TDC of cylinder "+strconv.Itoa(firstToFire(j.Engine))+".")
	} else if len(stops) > 0 {
		lines = append(lines, "The engine file gives no firing order: turn the crank for each row until the valve's lobe points well away from it.")
	}
	if len(lines) > 0 && j.Engine.DepressOffset != 0 {
		lines = append(lines, PressedAt(j.Engine, l.openings != nil))
	}
	if len(twice) > 0 {
		lines = append(lines, fmt.Sprintf("Opened twice: %s. A temporary shim sits there in between, so that no valve is without a shim while the crank is turned.", names(twice)))
	}
	if len(j.Moves) > 0 {
		lines = append(lines, "Never turn the crank with the tool on or while a valve has no shim fitted. A valve that is pressed down near TDC can touch the piston: press only where the maker's manual says so."+l.unsaid())
	}
	for i := range j.Wants {
		lines = append(lines, l.want(&j.Wants[i]))
	}
	return lines
}

// unsaid points to the key of the engine file by which pistons are kept clear,
// where it is not used and a valve of the list is opened near TDC.
func (l *moveList) unsaid() string {
	near := func(m plan.Move) bool { return m.Turned && math.Abs(l.openings.Piston(m.Valve, m.Crank)) < nearTDC }
	if l.job.Engine.DepressOffset != 0 || !slices.ContainsFunc(l.job.Moves, near) {
		return ""
	}
	return " If the manual has the crank turned first, write that angle as depress_offset in the engine file and plan again."
}

// nearTDC is below how many degrees of the crank a piston is called near its TDC:
// the least that a manual turns away from it (Lombardini, see the check values).
const nearTDC = 40

// want says what is missing to carry a ring of swaps out.
func (l *moveList) want(w *plan.Want) string {
	var ring []string
	for i := range w.Ring {
		ring = append(ring, place(l.plan, l.job, &w.Ring[i]))
	}
	text := fmt.Sprintf("NOT IN THE LIST: %s. They exchange their shims in a ring, no crank position opens them all at once, and nothing at hand would leave one of them a clearance for the time being.", strings.Join(ring, ", "))
	if w.Thin == 0 {
		return text
	}
	u := l.job.Units.Size
	unit := shim.Micrometre
	if u == shim.IN {
		unit = shim.Inch / 10_000
	}
	thin, thick := (w.Thin+unit-1)/unit*unit, w.Thick/unit*unit
	return text + fmt.Sprintf(" Get a shim of %s to %s %s (diameter %s) to sit in %s meanwhile, put it in the box and plan again.",
		size(u, thin), size(u, thick), u, Figure(u, u.Format(l.plan.Jobs[w.Valve.Job].Engine.FamilyOf(w.Valve.Valve).Diameter)), place(l.plan, l.job, &w.Valve))
}

// PressedAt says where an engine with a depress offset has its tappets pressed,
// listed where crank positions for it are.
func PressedAt(e *shim.Engine, listed bool) string {
	off, side, way := e.DepressOffset, "past", "."
	if off < 0 {
		off, side = -off, "before"
		if listed {
			way = "; get there by turning on."
		}
	}
	return "Press a tappet only where the crank stands " + Degrees(off) + " or more " + side + " the firing TDC of its cylinder, where the piston is clear of the valve" + way
}

// stands says where a piston is: see [crank.Openings.Piston].
func stands(piston float64) string {
	switch {
	case piston == 0:
		return "at TDC"
	case piston == 180:
		return "at BDC"
	case piston < 0:
		return Degrees(-piston) + " before TDC"
	}
	return Degrees(piston) + " past TDC"
}

// firstToFire is the cylinder that the crank's angles are counted from.
func firstToFire(e *shim.Engine) int {
	if len(e.FiringOrder) > 0 {
		return e.FiringOrder[0]
	}
	return 1
}

// names lists valves.
func names(valves []shim.Valve) string {
	list := make([]string, len(valves))
	for i, v := range valves {
		list[i] = v.String()
	}
	return strings.Join(list, ", ")
}

// A Stop is what is done of a job's fitting list while the crank stands still.
// Heading is empty where the list names no stops.
type Stop struct {
	Heading string
	Moves   []plan.Move
}

// Stops are a job's moves in working order, by where the crank stands.
func Stops(p *plan.Plan, j *plan.JobPlan) []Stop {
	l := newMoveList(p, j)
	list := l.stops()
	stops := make([]Stop, len(list))
	before := 0.0
	for i, moves := range list {
		stops[i].Moves = moves
		if len(list) > 1 || moves[0].Turned {
			stops[i].Heading = l.stop(i, moves, before)
		}
		before = moves[0].Crank
	}
	return stops
}
