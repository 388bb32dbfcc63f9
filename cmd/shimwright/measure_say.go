package main

import (
	"fmt"
	"io"
	"slices"
	"strconv"
	"strings"

	"shimwright/shim"
	"shimwright/shim/recheck"
	"shimwright/shim/report"
	"shimwright/shim/walk"
)

// A measureTalk prints a walk for a person.
type measureTalk struct {
	*walk.Walk
	file *checkFile
	say  io.Writer
	// before is what is left to do before the first valve.
	before []ahead
}

// line handles one typed line and prints the result. An error ends the walk.
func (t *measureTalk) line(text string) error {
	if len(t.before) > 0 {
		return t.ahead(text)
	}
	came, err := t.Type(text)
	for _, event := range came {
		t.event(event)
	}
	return err
}

// event prints one result of a line.
func (t *measureTalk) event(event walk.Event) {
	u := t.Engine.Units
	switch e := event.(type) {
	case walk.First:
		t.tell("this is the first valve")
	case walk.List:
		t.list()
	case walk.Help:
		t.help()
	case walk.Heading:
		t.heading(walk.Place(e))
	case walk.Refused:
		t.tell("  not accepted: %s", e.Message)
		if e.Hint != "" {
			t.tell("  hint: %s", e.Hint)
		}
	case walk.Guess:
		guessed, unit := e.As.Reading.Format(u.Clearance), u.Clearance
		if e.Shims {
			guessed, unit = sizes(e.As, u.Size, ""), u.Size
		}
		t.tell("  %s: %s %s? y or n", e.Typed, guessed, unit)
	case walk.Taken:
		t.taken(e)
	case walk.Doubt:
		s := recheck.Suspicion(e)
		t.tell("  check %s again: %s", s.Valve, s.What(u))
		t.tell("  hint: %s", s.Hint())
	case walk.KeepOrAgain:
		t.tell("  press Enter to keep it, or type it again")
	case walk.Dropped:
		t.tell("  measure %s again too: the new reading of %s cannot be taken off its loaded gap", e.Closer, e.Closer.Other())
	case walk.MeasureThird:
		t.tell("  measure once more and type the two that agree, or press Enter to keep both")
	case walk.TryLeaf:
		t.tell("  try that leaf and type the reading again, or press Enter to keep it")
	}
}

// tell writes a line of talk.
func (t *measureTalk) tell(format string, args ...any) {
	fmt.Fprintf(t.say, format+"\n", args...)
}

// begin prints the heading.
func (t *measureTalk) begin() {
	u := t.Engine.Units
	units := unitWord(u.Clearance)
	if u.Mixed() {
		units += ", shims in " + unitWord(u.Size)
	}
	t.tell("%s: clearances in %s, engine %s. ? for help.", t.Engine.Name, units, t.Engine.State)
	cautions, _ := shim.CautionsFor(t.Engine)
	for _, caution := range cautions[:2] {
		t.tell("%s", caution)
	}
	t.announce()
	if t.Positions == nil {
		t.tell("The engine file has no firing order, so the valves come in engine order. Before you measure a valve, turn its lobe well away from it.")
	}
	if t.file.saved != nil {
		clearances, shims := t.Missing()
		total := len(t.Measurements)
		t.tell("%s has %d of %d clearances and %d of %d shims.", t.file.name, total-len(clearances), total, total-len(shims), total)
	}
	for _, s := range t.Suspicions() {
		t.tell("check %s again: %s", s.Valve, s.What(t.Engine.Units))
	}
	if t.Done() {
		t.tell("Every valve has been measured. To measure some again: --only in1a,ex2b.")
	}
}

// prompt returns the question, empty if nobody is at the keyboard.
func (t *measureTalk) prompt() string {
	if len(t.before) > 0 {
		return t.before[0].prompt(t.Engine)
	}
	if place, changed := t.Heading(); changed {
		t.heading(place)
	}
	if !t.Attended {
		return ""
	}
	asks, u := t.Asks(), t.Engine.Units
	m := asks.Now
	if asks.Question {
		return fmt.Sprintf("%s? ", m.Valve)
	}
	show := func(m shim.Measurement) string { return m.Reading.Format(u.Clearance) }
	facts := []string{limitsText(asks.Limits, u.Clearance)}
	if asks.Shims {
		show = func(m shim.Measurement) string { return t.shim(m) }
		facts = []string{"shim"}
	}
	if asks.Close {
		facts = append(facts, "close to its lobe")
	}
	if t.Last != nil {
		if before := show(t.Last[asks.Valve]); before != "" {
			facts = append(facts, "last "+before)
		}
	}
	if stands := show(m); stands != "" {
		facts = append(facts, "now "+stands)
	}
	return fmt.Sprintf("%s (%s): ", m.Valve, strings.Join(facts, ", "))
}

// heading says where to measure next.
func (t *measureTalk) heading(at walk.Place) {
	switch {
	case at.Shims && at.Camshaft != "":
		t.tell("\nShims, camshaft %s: type the size on each shim, or mic and the micrometer reading", at.Camshaft)
	case at.Shims:
		t.tell("\nShims: type the size on each shim, or mic and the micrometer reading")
	case at.Position > 0:
		p := t.Positions[at.Position-1]
		t.tell("\nPosition %d of %d, crank %s", at.Position, len(t.Positions), report.Degrees(p.Degrees))
		if p.Further > 0 {
			t.tell("turn %s further in the running direction", report.Degrees(p.Further))
		}
		t.tell("%s", p.Mark)
	}
}

// taken prints the verdict on a saved reading.
func (t *measureTalk) taken(e walk.Taken) {
	m, limits, u := e.As, e.Limits, t.Engine.Units
	typed := m.Reading
	m, _ = t.Engine.AtLimits(m)
	if e.Shims {
		words := t.shim(m)
		if t.Build && m.Size() == 0 {
			words = "none"
		}
		t.tell("  %-*s shim %s", t.nameWidth(), m.Valve, words)
		return
	}
	verdict, more := "ok", ""
	if limits.Undecided(m.Reading) {
		verdict, more = "ok?", "; "+limits.Deciding(m.Reading, u.Clearance)
	}
	switch limits.Judge(m.Reading) {
	case shim.Tight:
		verdict = "TIGHT"
	case shim.Loose:
		verdict = "LOOSE"
	case shim.Unmeasured:
		verdict, more = "?", "; no number yet"
		if limits.Outside(m.Reading) {
			verdict = map[shim.ReadingKind]string{shim.Below: "TIGHT", shim.Above: "LOOSE"}[m.Reading.Kind]
		}
	}
	if m.Valve.Closer && limits.NoPlay(m.Reading) {
		more += "; no play: put it right first, then measure it and " + m.Valve.Other().String() + " again"
	}
	if m.Reading.Converted() {
		more += "; counts as " + m.Reading.AsCounted().Format(u.Clearance) + " by the maker's table"
	}
	if t.Build { // the gap of a set-up shim, or of none, says nothing of the limits
		t.tell("  %-*s %s", t.nameWidth(), m.Valve, typed.Format(u.Clearance))
		return
	}
	t.tell("  %-*s %-10s %-5s  limits %s%s", t.nameWidth(), m.Valve, typed.Format(u.Clearance), verdict, limitsText(limits, u.Clearance), more)
}

func (t *measureTalk) help() {
	u, size := t.Engine.Units.Clearance, t.Engine.Units.Size
	rows := [][2]string{
		{u.Example(".15 or 0,15", ".006"), "the leaf that just drags"},
		{u.Example(".15-.18 or .15 .18", ".006-.007 or .006 .007"), "two leaves: the first goes in, the second does not"},
		{u.Example(".15/.16", ".006/.007"), "two readings of the valve; both are kept"},
		{u.Example("<.05, >.6", "<.002, >.025"), "the thinnest leaf does not go in, the thickest is loose"},
		{size.Example("2.450, mic 2.447", ".098, mic .0979"), "a shim by mark or by micrometer; " + size.Example("2.450 mic 2.447", ".098 mic .0979") + " for both"},
		{".006in, 2.45mm", "a figure in another unit than the engine's"},
		{"back, skip", "go to the valve before, to the next one"},
		{"list", "show what is in the file"},
		{"quit", "stop here; run measure again to continue"},
	}
	if t.Engine.Closers() {
		rows = slices.Insert(rows, 3, [2]string{"loaded " + u.Example(".16", ".006"), "at a closer: the gap, the valve pressed down onto it; less the opener's"})
	}
	for _, row := range rows {
		t.tell("  %-24s %s", row[0], row[1])
	}
}

// nameWidth is the width of the longest valve's name.
func (t *measureTalk) nameWidth() int {
	width := 5
	for _, m := range t.Measurements {
		width = max(width, len(m.Valve.String()))
	}
	return width
}

// list shows what is in the file.
func (t *measureTalk) list() {
	u, width := t.Engine.Units, t.nameWidth()
	for _, m := range t.Measurements {
		t.tell("  %-*s %-10s %s", width, m.Valve, m.Reading.Format(u.Clearance), t.shim(m))
	}
}

// summary prints what is saved, what looks wrong, what is missing and the next step.
func (t *measureTalk) summary(engine string) {
	if t.file.saved == nil {
		t.tell("Nothing was entered; no file was written.")
		return
	}
	if t.file.wrote {
		for _, s := range t.Suspicions() {
			t.tell("check %s again: %s", s.Valve, s.What(t.Engine.Units))
		}
	}
	clearances, shims := t.Missing()
	total := len(t.Measurements)
	t.tell("%s: %d of %d clearances, %d of %d shims", t.file.name, total-len(clearances), total, total-len(shims), total)
	if len(clearances) > 0 {
		t.tell("missing clearances: %s", several(clearances))
	}
	if len(shims) > 0 {
		t.tell("missing shims: %s", several(shims))
	}
	if len(clearances)+len(shims) > 0 {
		t.tell("continue: %s", t.file.resume)
	}
	if len(clearances) == 0 && (!t.Build || len(shims) == 0) {
		next := "next: shimwright solve %s %s"
		if t.Build {
			next += " --build"
		}
		t.tell(next, argument(engine), argument(t.file.name))
	}
}

// several lists valves, up to a limit.
func several(valves []shim.Valve) string {
	const most = 12
	names := make([]string, len(valves))
	for i, v := range valves {
		names[i] = v.String()
	}
	if more := len(names) - most; more > 0 {
		return strings.Join(names[:most], " ") + " and " + strconv.Itoa(more) + " more"
	}
	return strings.Join(names, " ")
}

// unitWord is the unit in a sentence.
func unitWord(u shim.Unit) string { return u.Example("mm", "inches") }

// shim words a valve's shim as it is typed, with its mark.
func (t *measureTalk) shim(m shim.Measurement) string {
	return sizes(m, t.Engine.Units.Size, t.Engine.MarksOf(m.Valve).Of(m.Stamp))
}

// sizes formats a shim's size as it is typed.
func sizes(m shim.Measurement, u shim.Unit, mark string) string {
	var parts []string
	if m.Stamp != 0 {
		parts = append(parts, shim.WithMark(u.FormatAtLeast(m.Stamp, 2), mark))
	}
	if m.Mic != 0 {
		parts = append(parts, "mic "+u.FormatAtLeast(m.Mic, 2))
	}
	return strings.Join(parts, " ")
}

// limitsText formats limits to hundredths, or thousandths of an inch.
func limitsText(l shim.Limits, u shim.Unit) string {
	decimals := 2
	if u == shim.IN {
		decimals = 3
	}
	return u.FormatAtLeast(l.Tight, decimals) + "-" + u.FormatAtLeast(l.Loose, decimals)
}
