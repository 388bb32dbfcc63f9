package main

import (
	"fmt"
	"strconv"
	"strings"

	"shimwright/shim"
	"shimwright/shim/recheck"
	"shimwright/shim/report"
)

// tell writes a line of talk.
func (w *walk) tell(format string, args ...any) {
	fmt.Fprintf(w.say, format+"\n", args...)
}

// refuse says why an entry was not taken.
func (w *walk) refuse(message, way string) {
	w.tell("  not taken: %s", message)
	if way != "" {
		w.tell("  hint: %s", way)
	}
}

// begin says what is to be done.
func (w *walk) begin() {
	units := w.engine.Units.String()
	if w.engine.Units == shim.IN {
		units = "inches"
	}
	w.tell("%s: clearances in %s, engine cold. ? for help.", w.engine.Name, units)
	for _, caution := range shim.Cautions[:2] {
		w.tell("%s", caution)
	}
	if w.positions == nil && len(w.steps) > 0 && !w.steps[0].shims {
		w.tell("The engine file has no firing order, so the valves come in engine order: see that each lobe points well away from its valve before you measure it.")
	}
	if w.saved != nil {
		clearances, shims := w.missing()
		total := len(w.check.Measurements)
		w.tell("%s has %d of %d clearances and %d of %d shims.", w.name, total-len(clearances), total, total-len(shims), total)
	}
	for _, s := range w.suspicions() {
		w.told[suspicion{s.Valve, s.Reason}] = true
		w.tell("look again at %s: %s", s.Valve, s.What(w.engine.Units))
	}
	if w.done() {
		w.tell("Nothing is left to ask for; --only in1a,ex2b measures valves again.")
	}
}

// prompt is what is asked for, empty off a terminal.
func (w *walk) prompt() string {
	w.heading()
	s := w.steps[w.at]
	if !w.terminal {
		return ""
	}
	m, u := w.check.Measurements[s.valve], w.engine.Units
	var facts []string
	if w.asked != nil {
		return fmt.Sprintf("%s? ", m.Valve)
	}
	stands := m.Reading.Format(u)
	if s.shims {
		stands = sizes(m, u)
		facts = append(facts, "shim")
	} else {
		facts = append(facts, limitsText(w.limits(s), u))
		if s.position > 0 {
			for _, v := range w.positions[s.position-1].Doubtful {
				if at, _ := w.engine.Find(v); at == s.valve {
					facts = append(facts, "close to its lobe")
				}
			}
		}
	}
	if w.last != nil {
		before := w.last[s.valve].Reading.Format(u)
		if s.shims {
			before = sizes(w.last[s.valve], u)
		}
		if before != "" {
			facts = append(facts, "last "+before)
		}
	}
	if stands != "" {
		facts = append(facts, "now "+stands)
	}
	return fmt.Sprintf("%s (%s): ", m.Valve, strings.Join(facts, ", "))
}

// heading says where the step is taken, where that changes.
func (w *walk) heading() {
	s := w.steps[w.at]
	if w.shown == s.place {
		return
	}
	w.shown = s.place
	switch {
	case s.shims && s.camshaft != "":
		w.tell("\nShims, camshaft %s: the size on each shim, or mic and what it measures", s.camshaft)
	case s.shims:
		w.tell("\nShims: the size on each shim, or mic and what it measures")
	case s.position > 0:
		p := w.positions[s.position-1]
		w.tell("\nPosition %d of %d, crank %s", s.position, len(w.positions), report.Degrees(p.Degrees))
		if p.Further > 0 {
			w.tell("turn on %s in the running direction", report.Degrees(p.Further))
		}
		w.tell("%s", p.Mark)
	}
}

// judge says how the valve stands, once it is saved.
func (w *walk) judge(s step) {
	m, u := w.check.Measurements[s.valve], w.engine.Units
	if s.shims {
		w.tell("  %-5s shim %s", m.Valve, sizes(m, u))
		return
	}
	limits := w.limits(s)
	verdict, more := "ok", ""
	if limits.Undecided(m.Reading) {
		verdict, more = "ok?", "; "+limits.Deciding(m.Reading, u)
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
	w.tell("  %-5s %-10s %-5s  limits %s%s", m.Valve, m.Reading.Format(u), verdict, limitsText(limits, u), more)
}

// ask puts the question whether a guess is right.
func (w *walk) ask(typed string) {
	s, u := w.steps[w.at], w.engine.Units
	guessed := w.asked.m.Reading.Format(u)
	if s.shims {
		guessed = sizes(w.asked.m, u)
	}
	w.tell("  %s: %s %s? y or n", strings.TrimSpace(typed), guessed, u)
}

// doubt names a figure that looks wrong.
func (w *walk) doubt(s recheck.Suspicion) {
	w.tell("  look again at %s: %s", s.Valve, s.What(w.engine.Units))
	w.tell("  hint: %s", s.Hint())
}

func (w *walk) help() {
	one, two, thin, thick := ".15 or 0,15", ".15-.18 or .15 .18", "<.05", ">.6"
	if w.engine.Units == shim.IN {
		one, two, thin, thick = ".006", ".006-.007 or .006 .007", "<.002", ">.025"
	}
	for _, row := range [][2]string{
		{one, "the leaf that drags"},
		{two, "two leaves: the first goes, the second does not"},
		{thin + ", " + thick, "the thinnest leaf does not go, the thickest falls through"},
		{"2.450, mic 2.447", "a shim by its mark, by micrometer; 2.450 mic 2.447 for both"},
		{"back, skip", "the valve before, the next one"},
		{"list", "what is in the file so far"},
		{"quit", "stop here; called again, measure goes on from here"},
	} {
		w.tell("  %-24s %s", row[0], row[1])
	}
}

// list shows what is in the file so far.
func (w *walk) list() {
	u := w.engine.Units
	for _, m := range w.check.Measurements {
		w.tell("  %-5s %-10s %s", m.Valve, m.Reading.Format(u), sizes(m, u))
	}
}

// missing lists the valves without a clearance, and those without a shim.
func (w *walk) missing() (clearances, shims []string) {
	for _, m := range w.check.Measurements {
		if m.Reading.Kind == shim.Unread {
			clearances = append(clearances, m.Valve.String())
		}
		if m.Size() == 0 {
			shims = append(shims, m.Valve.String())
		}
	}
	return clearances, shims
}

// summary says what is saved, what looks wrong, what is missing and what comes next.
func (w *walk) summary(engine string) {
	if w.saved == nil {
		w.tell("Nothing was typed; no file was written.")
		return
	}
	if w.typed {
		for _, s := range w.suspicions() {
			w.tell("look again at %s: %s", s.Valve, s.What(w.engine.Units))
		}
	}
	clearances, shims := w.missing()
	total := len(w.check.Measurements)
	w.tell("%s: %d of %d clearances, %d of %d shims", w.name, total-len(clearances), total, total-len(shims), total)
	if len(clearances) > 0 {
		w.tell("missing clearances: %s", several(clearances))
	}
	if len(shims) > 0 {
		w.tell("missing shims: %s", several(shims))
	}
	if len(clearances)+len(shims) > 0 {
		w.tell("go on: %s", w.resume)
	}
	if len(clearances) == 0 {
		w.tell("next: shimwright solve %s %s", argument(engine), argument(w.name))
	}
}

// several names valves, not a flood of them.
func several(names []string) string {
	const most = 12
	if more := len(names) - most; more > 0 {
		return strings.Join(names[:most], " ") + " and " + strconv.Itoa(more) + " more"
	}
	return strings.Join(names, " ")
}

// sizes is a shim's size as it is typed.
func sizes(m shim.Measurement, u shim.Unit) string {
	var parts []string
	if m.Stamp != 0 {
		parts = append(parts, u.FormatAtLeast(m.Stamp, 2))
	}
	if m.Mic != 0 {
		parts = append(parts, "mic "+u.FormatAtLeast(m.Mic, 2))
	}
	return strings.Join(parts, " ")
}

// limitsText has hundredths, or thousandths of an inch, as plans have.
func limitsText(l shim.Limits, u shim.Unit) string {
	decimals := 2
	if u == shim.IN {
		decimals = 3
	}
	return u.FormatAtLeast(l.Tight, decimals) + "-" + u.FormatAtLeast(l.Loose, decimals)
}
