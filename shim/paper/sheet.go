package paper

import (
	"io"
	"strconv"
	"strings"

	"shimwright/shim"
	"shimwright/shim/crank"
	"shimwright/shim/report"
)

type sheetPage struct {
	page
	Engine    string
	Facts     []string
	Before    []string // to tick off before the first valve
	Fields    []field
	Pairs     []pair
	Positions *grid
	Press     *part    // where a tappet may be pressed, if the engine says so
	Intro     []string // above the positions
	Notes     []string // below them
	Blank     []string // with no firing order: positions to fill in
	Cautions  []string
}

// Sheet writes the blank measuring sheet of a sound engine. Where the engine
// has no firing order, there are lines for it and the manual's crank positions.
func Sheet(w io.Writer, e *shim.Engine, info Info) error {
	at, positions := map[shim.Valve]int{}, []crank.Position(nil)
	if list, err := crank.Plan(e); err == nil { // it fails only without a firing order
		positions = list
		for i, p := range list {
			for _, v := range p.Valves {
				at[v] = i + 1
			}
		}
	}
	s := sheetPage{
		page:   page{Title: "Measuring sheet: " + e.Name, Foot: e.Name + ", measuring sheet"},
		Engine: e.Name,
		Fields: info.fields(),
		Pairs:  sheetHead(e, info, at).pairs(),
	}
	s.Cautions, _ = shim.CautionsFor(e)
	if info.Job != "" {
		s.Engine = "Job " + info.Job + ": " + e.Name
	}
	s.Facts = facts(e, info.units(e))
	s.Before = e.Before.Steps(e.State)
	if positions != nil {
		d := (&report.Positions{Engine: e, List: positions}).Document()
		s.Intro, s.Notes = d.Sections[0].Lines, d.Sections[0].Notes
		if second := d.Sections[1]; second.Table != nil {
			s.Press = &part{Heading: second.Heading, Lines: second.Lines, Grid: gridOf(second.Table, second.Heading).rowHead("valves")}
		}
		s.Positions = gridOf(d.Sections[0].Table, "Where to turn the crank, in this order").tick("done").rowHead("")
	} else {
		s.Blank = []string{"1", "2", "3", "4"}
		if e.DepressOffset != 0 {
			s.Notes = []string{report.PressedAt(e, false)}
		}
	}
	return write(w, "sheet", s)
}

// facts says in a line or two what has to be known of the engine.
func facts(e *shim.Engine, u shim.UnitPair) []string {
	cylinders := strconv.Itoa(e.Cylinders) + " cylinders"
	if e.Cylinders == 1 {
		cylinders = "1 cylinder"
	}
	access := "shims are changed with the camshafts out"
	if e.Access == shim.ByValve {
		access = "shims are changed one by one, camshafts in place"
	}
	lengths := "All lengths in " + unitWord(u.Clearance)
	if u.Mixed() {
		lengths = "Clearances in " + unitWord(u.Clearance) + ", shims in " + unitWord(u.Size)
	}
	lines := []string{
		cylinders + ", " + strconv.Itoa(len(e.Valves())) + " valves; shims " + families(e, u.Size) + "; " + access + ".",
		lengths + ". Both limits are inside.",
	}
	if e.Marked() {
		lines[1] += " Shims: write the mark, or the size."
	}
	if len(e.BankList()) > 1 {
		lines = append(lines, "Between two banks is the valley of a V, or the top of a flat engine.")
	}
	return lines
}

// families are the diameters of the engine's shims, with what tells them apart.
func families(e *shim.Engine, u shim.Unit) string {
	list := e.Families()
	size := func(f shim.Family) string { return report.Figure(u, u.Format(f.Diameter)) + " " + u.String() }
	if len(list) == 1 {
		text := "of diameter " + size(list[0])
		if list[0].Kind != "" {
			text += ", " + list[0].Kind
		}
		return text
	}
	parts := []string{"openers " + size(list[0])}
	for i, f := range list[1:] {
		head := "closers "
		if len(list) > 2 {
			head = shim.Sides[i].String() + " closers "
		}
		parts = append(parts, head+size(f))
	}
	for i, f := range list {
		if f.Kind != "" && f.Kind != shim.CloserKind {
			parts[i] += " (" + f.Kind + ")"
		}
	}
	return "of diameter: " + strings.Join(parts, ", ")
}

// unitWord is the unit in a sentence.
func unitWord(u shim.Unit) string { return u.Example("mm", "inches") }

// sheetHead draws boxes to write into, and the position at which to measure.
func sheetHead(e *shim.Engine, info Info, at map[shim.Valve]int) *head {
	h := &head{engine: e, units: info.units(e).Clearance, intake: info.intake(e), row: 10.6, whole: onePage, prefix: "sheet"}
	stacked := h.double()
	if stacked {
		h.row = 16.4
	}
	clearance, size, loaded := "clearance", "shim", "loaded gap"
	if u := info.units(e); u.Mixed() {
		clearance, size = clearance+", "+u.Clearance.String(), size+", "+u.Size.String()
	}
	turn := func(v shim.Valve) string {
		if at[v] == 0 {
			return ""
		}
		return "crank " + strconv.Itoa(at[v])
	}
	h.about = func(v shim.Valve) string {
		text := v.String() + ": boxes for clearance and shim"
		if at[v] > 0 {
			text += ", crank position " + strconv.Itoa(at[v])
		}
		return text + "."
	}
	h.plot = func(d *drawing, p place) {
		const tag = 15.0
		name := tag
		if stacked {
			name = 11.5
		}
		x, w := p.span(0.6, name)
		lines := []string{nameAt(p.valve)}
		if p.valve.Closer { // the name that is typed
			lines = []string{p.valve.Other().String() + ".", nameAt(p.valve)}
		}
		for i, text := range lines {
			y := p.y + p.height/2 + 0.2 - 3.4*float64(len(lines)-1-i) // above the crank position
			d.text("strong", "middle", x+w/2, y, fitting(text, 3.8, w-0.8), w, text)
		}
		d.text("plain", "middle", x+w/2, p.y+p.height/2+3.7, 2.7, w, turn(p.valve))
		box := func(x, y, w, h float64, caption string) {
			d.rect("box", x, y, w, h)
			d.text("plain", "start", x+0.8, y+2.7, 2.5, w-1, caption)
		}
		// A closer's clearance may be measured as the loaded gap: which one it is, is ticked.
		gap := func(x, y, w, h float64) {
			box(x, y, w, h, clearance)
			if p.valve.Closer {
				d.rect("box", x+0.8, y+h-3, 2.2, 2.2)
				d.text("plain", "start", x+3.6, y+h-1.1, 2.5, w-4, loaded)
			}
		}
		x, w = p.span(name+0.4, p.width)
		if stacked {
			gap(x, p.y+0.4, w, 7.8)
			box(x, p.y+8.2, w, 7.8, size)
			return
		}
		gap(x, p.y+0.5, w*0.54, p.height-1)
		box(x+w*0.54, p.y+0.5, w*0.46, p.height-1, size)
	}
	return h
}
