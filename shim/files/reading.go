package files

import (
	"fmt"
	"strings"

	"shimwright/shim"
)

// plausible reports a reading that cannot be with the limits of its valve.
// Where each may be one by itself it counts them, to see a job in inches. The
// reading was written in the unit.
func (c *checkReader) plausible(r shim.Reading, v shim.Valve, subject string, g *group, e *engine, u shim.Unit) {
	limits := e.TrainOf(v).Limits
	if err := limits.ImplausibleReading(r, c.options.gauge(e.Engine), u); err != nil {
		c.faultOf(checkClearance, subject, err)
		return
	}
	number, ok := r.Estimate()
	if !ok || number == 0 {
		return
	}
	if g.numbers++; u == shim.MM && limits.Inches(number) {
		if g.small++; g.small == 1 {
			g.smallLine, g.smallCol = c.at(checkClearance)
		}
	}
}

// gauge is what the check was taken with, as far as it is known.
func (o CheckOptions) gauge(e *shim.Engine) shim.Gauge {
	if o.Gauge != nil {
		return *o.Gauge
	}
	return e.Measures()
}

// takeOff gives a closer's clearance where its row has the loaded gap: less what
// the opener's row has.
func (c *checkReader) takeOff(row checkRow, m *shim.Measurement, opener *shim.Measurement, g *group, e *engine) {
	line, column, subject := int(row.line), int(row.column), m.Valve.String()
	if at, has := e.Find(m.Valve); has && (opener == nil || opener.Reading.Kind == shim.Unread) && c.options.Unloaded != nil {
		if r, known := c.options.Unloaded(e.Valves()[at]); known {
			opener = &r
		}
	}
	if opener == nil || opener.Reading.Kind == shim.Unread {
		c.add(line, column, subject, "the loaded gap has no opener's clearance to take off", "measure "+m.Valve.Other().String()+" too, or the closer directly")
		return
	}
	if !e.AsWarm(m.Temperature, opener.Temperature) {
		c.add(line, column, subject, "the loaded gap was measured with the engine not as warm as for the opener's clearance", "measure both at one temperature, or the closer directly")
		return
	}
	reading, known := shim.LoadedLess(m.Reading, opener.Reading, c.options.gauge(e.Engine))
	clearance, _ := reading.Estimate()
	switch {
	case !known:
		c.add(line, column, subject, "the closer's clearance needs a figure for both gaps, loaded and unloaded", "measure both with leaves that go, or the closer directly")
	case clearance < 0:
		u := e.Units.Clearance
		c.add(line, column, subject, fmt.Sprintf("the loaded gap of %s is smaller than the opener's clearance of %s", m.Reading.Format(u), opener.Reading.Format(u)), "measure both again: the valve free, then pressed down onto its closer")
	default:
		m.Reading = reading
		if c.options.Build && (m.Size() != 0 || !c.options.AllowNoShims) {
			if err := e.TrainOf(m.Valve).ImplausibleSetUp(reading, m.Size(), e.Units.Clearance); err != nil {
				c.add(line, column, subject, err.Error(), shim.HintOf(err))
			}
		}
		if g.numbers++; c.in(checkLoaded, e.Units.Clearance) == shim.MM && e.TrainOf(m.Valve).Inches(clearance) {
			g.small++
		}
	}
}

// dashes are what a bracket may be written with; a word processor makes the
// longer ones.
var dashes = strings.NewReplacer("‐", "-", "‑", "-", "‒", "-", "–", "-", "—", "-", "−", "-")

// reading is the cell as a reading, false where it cannot be one. The unit is that
// of the file, for a column that does not state its own. One behind the cell is that
// of every figure before it that has none.
func (c *checkReader) reading(column int, cell, subject string, u shim.Unit) (shim.Reading, bool) {
	if cell == "" {
		return shim.Reading{}, true
	}
	return c.readingIn(column, cell, subject, c.in(column, u))
}

func (c *checkReader) readingIn(column int, cell, subject string, u shim.Unit) (shim.Reading, bool) {
	if r, found := c.readings[u][cell]; found {
		return r, true
	}
	known := c.readings[u]
	text, u := c.figure(dashes.Replace(cell), u)
	if one, other, twice := strings.Cut(text, "/"); twice {
		r, ok := c.twice(column, strings.TrimSpace(one), strings.TrimSpace(other), cell, subject, u)
		if ok {
			remember(known, cell, r)
		}
		return r, ok
	}
	var r shim.Reading
	ok := true
	length := func(text string) (l shim.Length) {
		if !ok {
			return 0
		}
		if l, ok = c.leaf(column, text, cell, subject, u); !ok {
			return 0
		}
		return l
	}
	switch {
	case text[0] == '<':
		r.Kind, r.High = shim.Below, length(text[1:])
		if ok && r.High == 0 {
			c.fault(column, subject, "no leaf has a thickness of 0", "write the thickness of the leaf that does not go, like <0.05")
			ok = false
		}
	case text[0] == '>':
		r.Kind, r.Low = shim.Above, length(text[1:])
	default:
		// A dash in front is a sign.
		if dash := strings.IndexByte(text[1:], '-') + 1; dash > 0 {
			r.Kind, r.Low, r.High = shim.Bracket, length(text[:dash]), length(text[dash+1:])
			if ok && r.Low >= r.High {
				c.fault(column, subject, quoted(cell)+" is the wrong way round", "write the leaf that goes first, then the thicker one that does not, like 0.15-0.18")
				ok = false
			}
		} else {
			r = shim.ReadingOf(length(text))
		}
	}
	if ok {
		remember(known, cell, r)
	}
	return r, ok
}

// twice is a cell with two readings of the valve.
func (c *checkReader) twice(column int, one, other, cell, subject string, u shim.Unit) (shim.Reading, bool) {
	if one == "" || other == "" || strings.Contains(other, "/") {
		c.fault(column, subject, quoted(cell)+" is not a pair of readings", "write two readings of the valve like 0.15/0.16")
		return shim.Reading{}, false
	}
	first, ok := c.readingIn(column, one, subject, u)
	if !ok {
		return first, false
	}
	second, ok := c.readingIn(column, other, subject, u)
	if !ok {
		return second, false
	}
	r, err := first.And(second)
	if err != nil {
		c.faultOf(column, subject, err)
	}
	return r, err == nil
}

// leaf is one figure of a clearance.
func (c *checkReader) leaf(column int, text, cell, subject string, u shim.Unit) (shim.Length, bool) {
	text, u = c.figure(strings.TrimSpace(text), u)
	l, err := u.Parse(c.decimal(text))
	if err != nil {
		c.number(column, subject, cell, err, "write a clearance like 0.15, 0.15-0.18, <0.05 or >0.60, "+c.unitHint())
		return 0, false
	}
	if err := c.limits.ImplausibleClearance(l, u); err != nil && !(c.options.Build && l >= 0 && l <= shim.MaxSetUpGap) {
		if cell := c.cell(checkShim); l > 0 && (cell == "" || c.zero(cell, u)) {
			c.fault(column, subject, err.Error(), hints(shim.HintOf(err), "measured without a shim in a fresh build? Then plan it with --build"))
			return 0, false
		}
		c.faultOf(column, subject, err)
		return 0, false
	}
	return l, true
}

// zero reports whether the cell says that there is none.
func (c *checkReader) zero(cell string, u shim.Unit) bool {
	figure, u := c.figure(cell, u)
	l, err := u.Parse(c.decimal(figure))
	return cell != "" && err == nil && l == 0
}

// readingText writes a reading so that it is read the same.
func readingText(r shim.Reading, u shim.Unit) string {
	if first, second, twice := r.Twice(); twice {
		return readingText(first, u) + "/" + readingText(second, u)
	}
	switch r.Kind {
	case shim.Single:
		return exact(r.Low, u)
	case shim.Bracket:
		return exact(r.Low, u) + "-" + exact(r.High, u)
	case shim.Below:
		return "<" + exact(r.High, u)
	case shim.Above:
		return ">" + exact(r.Low, u)
	}
	return ""
}
