package main

import (
	"fmt"
	"strconv"
	"strings"

	"shimwright/shim"
	"shimwright/shim/model"
	"shimwright/shim/report"
)

// modelPart names the part of the engine that a question is about.
func modelPart(p model.Part) string {
	if p.Closer {
		return p.Side.String() + " closer"
	}
	return p.Side.String()
}

// limitsWithUnit writes limits as the file has them: in mm with all decimals.
func limitsWithUnit(l shim.Limits, u shim.Unit) string {
	if u == shim.MM {
		return u.FormatAtLeast(l.Tight, 2) + "-" + u.FormatAtLeast(l.Loose, 2) + " mm"
	}
	return report.Limits(u, l) + " " + u.String()
}

// typedLimits are a valve's limits in mm where they have no exact decimals in
// inches: they were typed in mm.
func typedLimits(e *shim.Engine, v shim.Valve) string {
	const exact = 6 // decimals
	l, u := e.TrainOf(v).Limits, e.Units.Clearance
	if !u.Exact(l.Tight, exact) || !u.Exact(l.Loose, exact) {
		u = shim.MM
	}
	if u == shim.MM { // to the last decimal: limits typed in inches are in no whole micrometres
		return u.Show(l.Tight, 2, exact) + "-" + u.Show(l.Loose, 2, exact) + " mm"
	}
	return limitsWithUnit(l, u)
}

func rangeLine(r shim.Range, u shim.Unit) string {
	line := fmt.Sprintf("%s, %s to %s %s in steps of %s", shim.Count(len(r.Sizes()), "size", "sizes"), sizeText(r.From, u), sizeText(r.To, u), u, inUnit(u, r.Step))
	if r.From == r.To {
		line = "1 size, " + sizeText(r.From, u) + " " + u.String()
	}
	if r.Priced {
		line += ", " + r.Price.String() + " a piece"
	}
	return line
}

// modelLines says all that an engine file says of a model, with the picture of
// its head.
func modelLines(e *shim.Engine) []string {
	lines := append([]string{e.Name}, model.Picture(e)...)
	add := func(format string, args ...any) { lines = append(lines, fmt.Sprintf(format, args...)) }
	add("Cylinders: %d%s", e.Cylinders, modelBanks(e))
	switch {
	case len(e.FiringOrder) == 0:
		add("Firing order: not stated")
	case e.Cylinders > 1:
		line := "Firing order: " + joinedBy(e.FiringOrder, strconv.Itoa, "-")
		if len(e.FiringIntervals) > 0 {
			line += ", " + joinedBy(e.FiringIntervals, plainDegrees, ", ") + " degrees to the next"
		} else {
			line += ", even"
		}
		add("%s", line)
	}
	add("Intake side in drawings: %s", e.IntakeSide)
	access := "under the buckets, a camshaft out to change them"
	if e.Access == shim.ByValve {
		access = "on top, changed with the camshafts in place"
	}
	add("Shims: %s", access)
	switch off := e.DepressOffset; {
	case off > 0:
		add("Tappets are pressed with the crank turned on %s degrees from firing TDC", plainDegrees(off))
	case off < 0:
		add("Tappets are pressed with the crank %s degrees before firing TDC (%s)", plainDegrees(-off), plainDegrees(off))
	}
	cams := "one a side"
	if e.SharedCams {
		cams = "one shared by intake and exhaust"
	}
	add("Camshafts: %s", cams)
	add("Units: clearances %s, shims %s", e.Units.Clearance, e.Units.Size)
	add("Limits are for a %s engine", e.State)
	if e.Interval != (shim.Meter{}) {
		add("Check every %s", e.Interval)
	}
	if e.Readings != shim.Mean {
		add("Two readings of a valve: the %s counts", e.Readings)
	}
	if b := e.Before; b != nil {
		add("Before measuring:")
		for _, step := range b.Steps(e.State) {
			add("  - %s", step)
		}
		for _, c := range b.Corrections {
			way := "larger"
			if c.By < 0 {
				way = "smaller"
			}
			add("  at %s a clearance is %s %s %s", c.At, inUnit(e.Units.Clearance, c.By.Abs()), e.Units.Clearance, way)
		}
	}
	for _, side := range shim.Sides {
		lines = append(lines, modelTrain(e, side)...)
	}
	lines = append(lines, modelShims("Shims", e.Families()[0], e.Catalogue, e.Marks, e.Units.Size)...)
	for _, side := range shim.Sides {
		if t := e.Train(side); t.Valves > 0 && t.Closer != nil {
			c := t.Closer
			lines = append(lines, modelShims("Shims of "+side.String()+" closers", c.Family, c.Catalogue, c.Marks, e.Units.Size)...)
		}
	}
	return append(lines, modelGauge(e))
}

func modelBanks(e *shim.Engine) string {
	if len(e.Banks) == 0 {
		return ""
	}
	return "; banks " + joinedBy(e.Banks, func(bank []int) string { return joinedBy(bank, strconv.Itoa, " ") }, " / ")
}

// modelTrain says what the maker asks of a side.
func modelTrain(e *shim.Engine, side shim.Side) []string {
	t := e.Train(side)
	if t.Valves == 0 {
		return []string{"No " + side.String() + " valves to adjust"}
	}
	var lines []string
	add := func(format string, args ...any) { lines = append(lines, fmt.Sprintf(format, args...)) }
	u, z := e.Units.Clearance, e.Units.Size
	limits := func(v shim.Valve) {
		t := e.TrainOf(v)
		add("Limits %s: %s", modelPart(model.Part{Side: v.Side, Closer: v.Closer}), limitsWithUnit(t.Limits, u))
		add("  aim %s: %s %s", t.AimAt, inUnit(u, t.Aim()), u)
		switch {
		case t.Ratio.Over != 0:
			add("  rocker ratio %s, measured at the cam", t.Ratio.Over)
		case t.Ratio.Times != shim.One:
			add("  ratio %s: what a shim takes for its thickness", t.Ratio.Times)
		case !v.Closer:
			add("  a shim takes its whole thickness: no rocker, or measured at the valve")
		}
		if a := t.Allowance; a != (shim.Allowance{}) {
			add("  allowance for a fresh build %s %s, give or take %s", plus(a.By, u), u, inUnit(u, a.Doubt))
		}
	}
	limits(shim.Valve{Side: side, Cylinder: 1})
	if l := t.OtherLimits; l != nil {
		add("  for a %s engine: %s", e.State.Other(), limitsWithUnit(*l, u))
	}
	if t.Timing != nil {
		opens, closes := "top", "bottom"
		if side == shim.Exhaust {
			opens, closes = closes, opens
		}
		add("  opens %s degrees before %s, closes %s after %s", plainDegrees(t.Timing.Opens), opens, plainDegrees(t.Timing.Closes), closes)
	}
	if g := t.StemGrindMax; g != nil && *g == 0 {
		add("  off a stem tip: nothing may be taken")
	} else if g != nil {
		add("  off a stem tip: at most %s %s", inUnit(z, *g), z)
	}
	if p := t.ShimProudMin; p != 0 {
		add("  a shim stands at least %s %s above its spring cup", inUnit(z, p), z)
	}
	if t.Closer != nil {
		limits(shim.Valve{Side: side, Cylinder: 1, Closer: true})
	}
	return lines
}

// inUnit is a length as the trade writes it: no zero before the point of inches.
func inUnit(u shim.Unit, l shim.Length) string {
	text := u.Format(l)
	if sign, rest, found := strings.Cut(text, "0."); found && u == shim.IN && (sign == "" || sign == "-") {
		return sign + "." + rest
	}
	return text
}

func plus(l shim.Length, u shim.Unit) string {
	if l > 0 {
		return "+" + inUnit(u, l)
	}
	return inUnit(u, l)
}

// modelShims says what shims of a family there are.
func modelShims(head string, f shim.Family, sale []shim.Range, marks shim.MarkList, u shim.Unit) []string {
	line := head + ": diameter " + inUnit(u, f.Diameter) + " " + u.String()
	if f.Kind != "" {
		line += ", family " + f.Kind
	}
	lines := []string{line}
	for _, r := range sale {
		lines = append(lines, "  on sale: "+rangeLine(r, u))
	}
	if len(sale) == 0 {
		lines = append(lines, "  on sale: none stated")
	}
	if n := len(marks); n > 0 {
		at := func(m shim.Mark) string { return m.Text + " = " + sizeText(m.Size, u) }
		some := joinedBy(marks[:min(n, 3)], at, ", ")
		if n > 3 {
			some += ", ..., " + at(marks[n-1])
		}
		lines = append(lines, fmt.Sprintf("  %s: %s", shim.Count(n, "mark", "marks"), some))
	}
	return lines
}

// modelGauge says what is measured with.
func modelGauge(e *shim.Engine) string {
	g, what := e.Gauge, "Gauge: "
	if g == nil {
		g, what = &shim.UsualGauge, "Gauge: not stated, so the usual one: "
	}
	c, z := e.Units.Clearance, e.Units.Size
	mark := fmt.Sprintf("a shim within %s %s of its mark", inUnit(z, g.Stamp), z)
	if used := g.Used; used != 0 && used != g.Stamp {
		mark = fmt.Sprintf("a new shim within %s %s of its mark, a used one within %s", inUnit(z, g.Stamp), z, inUnit(z, used))
	}
	return fmt.Sprintf("%sleaves %s %s apart, each within %s; %s; micrometer within %s", what,
		inUnit(c, g.Step), c, inUnit(c, g.Leaf), mark, inUnit(z, g.Mic))
}

func plainDegrees(d float64) string { return strconv.FormatFloat(d, 'f', -1, 64) }

// joinedBy is a list as text.
func joinedBy[T any](list []T, text func(T) string, between string) string {
	parts := make([]string, len(list))
	for i, of := range list {
		parts[i] = text(of)
	}
	return strings.Join(parts, between)
}
