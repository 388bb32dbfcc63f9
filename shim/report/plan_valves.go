package report

import (
	"fmt"
	"math"
	"slices"
	"strconv"
	"strings"

	"shimwright/shim"
	"shimwright/shim/doubt"
	"shimwright/shim/plan"
	"shimwright/shim/report/reason"
)

// The columns of the table of valves.
const (
	colChange = iota
	colValve
	colReading
	colStatus
	colShim
	colAction
	colNew
	colExpected
	colToLimit
	colSure
	colBin
)

// mostSpaced is how many rows both lists of a job may have before the blank lines
// between cylinders are left out: a six of 24 valves has to fit on one and a half
// screens of 50 lines.
const mostSpaced = 36

// addValves lists the valves of a job, cylinder by cylinder.
func addValves(d *Document, p *plan.Plan, i int, o Options) {
	j := &p.Jobs[i]
	u := j.Units
	t := &Table{
		Kind:   "valves",
		Header: []string{"", "valve", "reading", "status", "shim", "action", "new shim", "expected", "to limit", "sure"},
		Right:  []int{colShim, colNew, colExpected, colToLimit, colSure},
		Strong: map[int]bool{colStatus: true, colAction: true},
	}
	s := Section{Table: t}
	spaced := len(j.Valves)+len(j.Moves) <= mostSpaced
	near, binned := false, false
	for k := range j.Valves {
		v := &j.Valves[k]
		if spaced && k > 0 && j.Valves[k-1].Valve.Cylinder != v.Valve.Cylinder {
			t.Breaks = append(t.Breaks, k)
		}
		row := valveRow(p, j, v, o.Doubt)
		if o.Bin != nil && v.Action == plan.Box {
			row[colBin] = o.Bin(i, v)
		}
		binned = binned || row[colBin] != ""
		t.Rows = append(t.Rows, row)
		near = near || v.Near
		if v.Reason != nil {
			s.Notes = append(s.Notes, v.Valve.String()+": "+reason.Text(v, bare{u.Clearance}, bare{u.Size}, j.Engine.MarksOf(v.Valve)...)+".")
		}
	}
	if binned {
		t.Header = append(t.Header, "bin")
	} else {
		for k := range t.Rows {
			t.Rows[k] = t.Rows[k][:colBin]
		}
	}
	if note := bindNote(j); note != "" {
		s.Notes = append(s.Notes, note)
	}
	if near {
		s.Notes = append(s.Notes, nearNote(p, u.Clearance))
	}
	s.Notes = append(s.Notes, buildNotes(j)...)
	s.Notes = append(s.Notes, sureNote(j, o.Doubt))
	narrowValves(t, binned)
	d.add(s)
}

// narrowValves adds the forms of the table for narrow screens: first with short
// headers, then without the columns that one can do without best.
func narrowValves(t *Table, binned bool) {
	header := slices.Clone(t.Header)
	header[colNew], header[colExpected] = "new", "expect"
	columns := []int{colChange, colValve, colReading, colStatus, colShim, colAction, colNew, colExpected, colToLimit, colSure}
	if binned {
		columns = append(columns, colBin)
	}
	t.Narrower = append(t.Narrower, t.pick(header, columns...))
	var left []string
	for _, column := range []int{colToLimit, colShim, colSure, colReading} {
		columns = slices.DeleteFunc(columns, func(c int) bool { return c == column })
		left = append(left, t.Header[column])
		n := t.pick(header, columns...)
		n.leftOut(left)
		if !slices.Contains(columns, colSure) {
			n.Unsaid = "sure: "
		}
		t.Narrower = append(t.Narrower, n)
	}
	last := *t.Narrower[len(t.Narrower)-1]
	last.Header, last.Rows = slices.Clone(last.Header), slices.Clone(last.Rows)
	action := slices.Index(columns, colAction)
	for i, row := range last.Rows {
		row = slices.Clone(row)
		row[action] = strings.TrimPrefix(row[action], "swap ")
		if binned {
			row[action] = strings.TrimSpace(row[action] + " " + row[len(row)-1])
			row = row[:len(row)-1]
		}
		last.Rows[i] = row
	}
	if binned {
		last.Header = last.Header[:len(last.Header)-1]
	}
	t.Narrower = append(t.Narrower, &last)
}

// nearNote says what an asterisk stands for.
func nearNote(p *plan.Plan, u shim.Unit) string {
	if p.Confidence != 0 {
		return fmt.Sprintf("* inside, but less sure than %g %%.", 100*p.Confidence)
	}
	return "* inside, but nearer to a limit than " + size(u, p.Margin) + " " + u.String() + "."
}

// sureNote says what the share of certainty rests on.
func sureNote(j *plan.JobPlan, doubt bool) string {
	u := j.Units.Clearance
	gauge := "for a feeler gauge in steps of " + size(u, j.Gauge.Step)
	if slices.ContainsFunc(j.Valves, func(v plan.ValvePlan) bool { return v.With != (shim.Gauge{}) }) {
		gauge += ", other leaves where a valve was read with them"
	}
	switch {
	case doubt && !j.GaugeStated:
		gauge += ", as is usual; state your own for better figures"
	case !j.GaugeStated:
		gauge += ", as usual"
	}
	if !doubt {
		return "sure: chance to end inside, " + gauge + "."
	}
	unit := "0.001 mm"
	if u == shim.IN {
		unit = "0.0001 in"
	}
	return "sure: how likely the valve ends inside its limits, and the uncertainty of that clearance (95 %) in " + unit + ", " + gauge + "."
}

func valveRow(p *plan.Plan, j *plan.JobPlan, v *plan.ValvePlan, doubt bool) []string {
	u, sizes := j.Units.Clearance, j.Units.Size
	row := make([]string, colBin+1)
	row[colValve], row[colReading] = v.Valve.String(), Reading(u, v.Limits, v.Reading)
	row[colStatus], row[colAction] = verdictWord(v.Verdict, v.Undecided), do(p, j, v)
	row[colShim], row[colExpected], row[colToLimit] = "?", "?", "?"
	if v.CloserFirst && v.Verdict != shim.Tight {
		row[colStatus] = "?"
	}
	if v.Changed() || v.MustChange() {
		row[colChange] = ">"
	}
	if v.Over != nil {
		row[colReading] = "(" + row[colReading] + ")"
	}
	if v.Installed != 0 {
		row[colShim] = shim.WithMark(size(sizes, v.Installed), j.Mark(v.Valve, v.Installed))
	}
	if v.Changed() {
		row[colNew] = shim.WithMark(size(sizes, v.Size), j.Mark(v.Valve, v.Size))
	}
	if v.SetUp {
		setUpRow(row, v)
	}
	if v.Measured && (!v.SetUp || v.Changed()) {
		row[colExpected], row[colToLimit] = clearance(u, v.Limits, v.Expected), room(u, v.Limits, v.Expected)
		if v.Near {
			row[colExpected] = "*" + row[colExpected]
		}
		if f, ok := j.Forecast(v); ok {
			row[colSure] = short(f.Inside)
			if doubt {
				row[colSure] = sure(u, f)
			}
		}
	}
	return row
}

// sure is how likely the clearance lies inside its limits, and the expanded
// uncertainty in the last place that sizes are written to.
func sure(u shim.Unit, f doubt.Forecast) string {
	unit := shim.Micrometre
	if u == shim.IN {
		unit = shim.Inch / 10_000
	}
	return short(f.Inside) + " ±" + strconv.Itoa(int((f.Expanded+unit/2)/unit))
}

// short is a probability in a cell. It never rounds up to certainty or down to
// none; what is certain is 100%.
func short(p float64) string {
	switch {
	case p >= 1:
		return "100%"
	case p <= 0:
		return "0%"
	case p > 0.99:
		return ">99%"
	case p < 0.01:
		return "<1%"
	}
	return strconv.Itoa(int(min(99, max(1, math.Round(100*p))))) + "%"
}

// do is the action in words.
func do(p *plan.Plan, j *plan.JobPlan, v *plan.ValvePlan) string {
	switch {
	case v.MustChange():
		return "CHANGE"
	case v.Action == plan.Swap:
		return "swap from " + place(p, j, v.From)
	case v.Action == plan.Buy:
		return "BUY"
	case v.SetUp && !v.Changed():
		return "NONE FITS"
	}
	return v.Action.String()
}

// place names a valve, with its job where that is another one.
func place(p *plan.Plan, j *plan.JobPlan, at *plan.Place) string {
	if other := &p.Jobs[at.Job]; other != j {
		return at.Valve.String() + " of " + jobName(other)
	}
	return at.Valve.String()
}
