package paper

import (
	"fmt"
	"strings"

	"shimwright/shim"
	"shimwright/shim/plan"
	"shimwright/shim/report"
)

// cardHead draws each valve as found and as it will be.
func cardHead(j *plan.JobPlan, cylinders []cylinder, intake shim.Placing, id string) *head {
	rows := map[shim.Valve]*valveRow{}
	for _, c := range cylinders {
		for k := range c.Rows {
			rows[c.Rows[k].valve.Valve] = &c.Rows[k]
		}
	}
	h := &head{engine: j.Engine, units: j.Units.Clearance, intake: intake, row: 11.6, whole: movable, prefix: id + "-head"}
	h.over = func(bank int, s shim.Side) string { return camshaft(j, bank, s) }
	h.about = func(name shim.Valve) string {
		r := rows[name]
		text := fmt.Sprintf("%s: found %s, %s, shim %s; %s", name, or(r.Found, "nothing"), r.verdict(), or(r.Shim, "none"), r.Do)
		if r.Changed {
			text += ", new shim " + r.Fit
		}
		if r.noneFits() {
			return text + ", no shim stays in."
		}
		return text + ", to expect " + r.Then + "."
	}
	h.plot = func(d *drawing, p place) { plotValve(d, p, h.double(), h.units, rows[p.valve]) }
	return h
}

// verdict is a verdict as printed in the head.
func verdict(v shim.Verdict, undecided bool) string {
	if undecided {
		return "ok?"
	}
	return map[shim.Verdict]string{shim.OK: "ok", shim.Tight: "TIGHT", shim.Loose: "LOOSE", shim.Unmeasured: "no figure"}[v]
}

// noShim stands in the right box of a valve that no shim fits.
const noShim = "none"

// noneFits reports whether the valve of a fresh build stays without a shim.
func (r *valveRow) noneFits() bool { return r.valve.SetUp && !r.Changed }

// verdict is what the head says of the reading: one over a set-up shim, or over
// none, says nothing of the limits.
func (r *valveRow) verdict() string {
	if r.valve.SetUp {
		return r.Is
	}
	if r.valve.CloserFirst && r.valve.Verdict != shim.Tight {
		return "?"
	}
	return verdict(r.valve.Verdict, r.valve.Undecided)
}

// smallest is the least size of a figure in the head, in mm.
const smallest = 2.3

// leaves ends the lower of two leaves that have no room together; the table has
// both.
const leaves = " +"

// plotValve draws a valve: its name, verdict and action next to the cylinder,
// what was found in the left box, what will be in the right one. The right box
// is heavy where the shim is changed.
func plotValve(d *drawing, p place, narrow bool, u shim.Unit, r *valveRow) {
	tag, size := 16.0, 3.9
	if narrow {
		tag, size = 11.2, 3.3
	}
	x, w := p.span(0.5, tag)
	d.text("strong", "middle", x+w/2, p.y+3.9, fitting(nameAt(p.valve), size, w-0.6), w, nameAt(p.valve))
	d.text("plain", "middle", x+w/2, p.y+7.2, 2.7, w, r.verdict())
	action := r.valve.Action.String()
	if r.valve.MustChange() || r.noneFits() {
		action = r.Do
	}
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
	if reading := r.valve.Reading; reading.Unloaded != (shim.Unloaded{}) { // the table has both gaps
		found = report.Reading(u, r.valve.Limits, reading.Gap())
	}
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
	if r.noneFits() { // the bench set gets its shim back
		d.rect("box", x+box+gap, top, box, height)
		write(x+box+gap, "plain", noShim, "")
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
