package files

import (
	"encoding/csv"
	"io"
	"slices"
	"strconv"

	"shimwright/shim"
)

// WriteCheck writes checks in the form that [ReadCheck] reads, each in the
// units of its engine; where no decimal of an inch writes a clearance or a shim
// exactly, those columns are in mm and say so. The columns mic, loaded, note, job,
// engine, state, temperature_c and mark are written where there is something to put in
// them.
func WriteCheck(w io.Writer, checks []Check) error {
	some := func(holds func(m shim.Measurement) bool) bool {
		return slices.ContainsFunc(checks, func(c Check) bool { return slices.ContainsFunc(c.Measurements, holds) })
	}
	mic := some(func(m shim.Measurement) bool { return m.Mic != 0 })
	loaded := some(func(m shim.Measurement) bool { return m.Reading.Unloaded != shim.Unloaded{} })
	note := some(func(m shim.Measurement) bool { return m.Note != "" })
	job := slices.ContainsFunc(checks, func(c Check) bool { return c.Job != "" })
	engine := slices.ContainsFunc(checks, func(c Check) bool { return c.Engine != checks[0].Engine })

	state := slices.ContainsFunc(checks, func(c Check) bool { return c.Stated })
	temperature := some(func(m shim.Measurement) bool { return m.Temperature != 0 })

	mark := slices.ContainsFunc(checks, func(c Check) bool {
		return slices.ContainsFunc(c.Measurements, func(m shim.Measurement) bool { return c.mark(m) != "" })
	})

	record := func(valve, clearance, size, micCell, loadedCell, noteCell, jobCell, engineCell, stateCell, temperatureCell, markCell string) []string {
		cells := []string{valve, clearance, size}
		for _, cell := range []struct {
			there bool
			text  string
		}{{mic, micCell}, {loaded, loadedCell}, {job, jobCell}, {engine, engineCell}, {state, stateCell}, {temperature, temperatureCell}, {note, noteCell}, {mark, markCell}} {
			if cell.there {
				cells = append(cells, cell.text)
			}
		}
		return cells
	}
	out := csv.NewWriter(w)
	clearances, sizes := "", ""
	if inexact(checks, func(m shim.Measurement) []shim.Length {
		r := m.Reading
		return []shim.Length{r.Low, r.High, r.Second.Low, r.Second.High, r.Unloaded.Low, r.Unloaded.High}
	}, func(p shim.UnitPair) shim.Unit { return p.Clearance }) {
		clearances = "_mm"
	}
	if inexact(checks, func(m shim.Measurement) []shim.Length { return []shim.Length{m.Stamp, m.Mic} }, func(p shim.UnitPair) shim.Unit { return p.Size }) {
		sizes = "_mm"
	}
	_ = out.Write(record("valve", "clearance"+clearances, "shim"+sizes, "mic"+sizes, "loaded"+clearances, "note", "job", "engine", "state", "temperature_c", "mark")) // errors show in Flush
	for _, c := range checks {
		u := c.Of.Units
		if clearances != "" {
			u.Clearance = shim.MM
		}
		if sizes != "" {
			u.Size = shim.MM
		}
		for _, m := range c.Measurements {
			clearance, gap := m.Reading, shim.Reading{}
			if clearance.Unloaded != (shim.Unloaded{}) {
				clearance, gap = gap, clearance
				gap = gap.Loaded()
			}
			_ = out.Write(record(m.Valve.String(), readingText(clearance, u.Clearance), sizeText(m.Stamp, u.Size), sizeText(m.Mic, u.Size), readingText(gap, u.Clearance), shim.SheetText(m.Note), shim.SheetText(c.Job), shim.SheetText(c.Engine), c.Of.State.String(), celsiusText(m.Temperature), shim.SheetText(c.mark(m))))
		}
	}
	out.Flush()
	return out.Error()
}

// mark is what is written on a valve's shim, where it is not the size.
func (c Check) mark(m shim.Measurement) string {
	if m.Stamp == 0 {
		return ""
	}
	return c.Of.MarksOf(m.Valve).Of(m.Stamp)
}

// inexact reports whether one of the lengths of a check in inches has no decimals
// of an inch.
func inexact(checks []Check, lengths func(shim.Measurement) []shim.Length, unit func(shim.UnitPair) shim.Unit) bool {
	for _, c := range checks {
		for _, m := range c.Measurements {
			if unit(c.Of.Units) == shim.IN && slices.ContainsFunc(lengths(m), func(l shim.Length) bool { return l%127 != 0 }) {
				return true
			}
		}
	}
	return false
}

// WriteBox writes the box in the form that [ReadBox] reads, in the given unit.
// The columns mic, diameter, family, bin, note and mark are written where there is
// something to put in them; a nil book has no marks.
func WriteBox(w io.Writer, rows []shim.BoxRow, u shim.Unit, marks *shim.MarkBook) error {
	mic := slices.ContainsFunc(rows, func(r shim.BoxRow) bool { return r.Mic != 0 })
	diameter := slices.ContainsFunc(rows, func(r shim.BoxRow) bool { return r.Diameter != 0 })
	family := slices.ContainsFunc(rows, func(r shim.BoxRow) bool { return r.Kind != "" })
	bin := slices.ContainsFunc(rows, func(r shim.BoxRow) bool { return r.Bin != "" })
	note := slices.ContainsFunc(rows, func(r shim.BoxRow) bool { return r.Note != "" })
	marked := func(r shim.BoxRow) string { return marks.Of(r.Family.Of(r.Stamp)) }
	mark := slices.ContainsFunc(rows, func(r shim.BoxRow) bool { return marked(r) != "" })

	record := func(size, count, micCell, diameterCell, familyCell, binCell, noteCell, markCell string) []string {
		cells := []string{size, count}
		for _, cell := range []struct {
			there bool
			text  string
		}{{mic, micCell}, {diameter, diameterCell}, {family, familyCell}, {bin, binCell}, {note, noteCell}, {mark, markCell}} {
			if cell.there {
				cells = append(cells, cell.text)
			}
		}
		return cells
	}
	out := csv.NewWriter(w)
	_ = out.Write(record("size", "count", "mic", "diameter", "family", "bin", "note", "mark")) // errors show in Flush
	for _, r := range rows {
		_ = out.Write(record(sizeText(r.Stamp, u), strconv.Itoa(r.Count), sizeText(r.Mic, u), sizeText(r.Diameter, u), shim.SheetText(r.Kind), shim.SheetText(r.Bin), shim.SheetText(r.Note), shim.SheetText(marked(r))))
	}
	out.Flush()
	return out.Error()
}

// sizeText is a size that is read the same, empty for one that is not known.
func sizeText(l shim.Length, u shim.Unit) string {
	if l == 0 {
		return ""
	}
	return exact(l, u)
}

// celsiusText is a temperature's cell.
func celsiusText(t shim.Temperature) string {
	if t == 0 {
		return ""
	}
	return t.Celsius()
}
