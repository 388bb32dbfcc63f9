package main

import (
	"context"
	"fmt"
	"io"
	"math"
	"slices"
	"strings"

	"github.com/spf13/cobra"

	"shimwright/inventory"
	"shimwright/inventory/work"
	"shimwright/shim"
	"shimwright/shim/report"
	"shimwright/shim/wear"
)

type machineShowOptions struct {
	output *choice
	charts bool
	out    string
}

func newMachineShow(a *app) *cobra.Command {
	o := &machineShowOptions{}
	cmd := &cobra.Command{
		Use:   "show MACHINE",
		Short: "Show a machine's visits, its valves and when to look again",
		Long: `show prints one machine: its visits, and for each valve what the last visit found
and left, the shim that is in it, the stack (clearance and shim) and how far that
moved since the visit before.

With three checks or more it says when the first valve is likely to leave its
limits, which valves to watch, and when to check: never later than the maker says
(interval in the engine file). Where the wear is not settled it says so.

--charts adds a small chart of each valve: its clearance over the meter, as it would
be with the shim that is in now. The page of --output html has them too.`,
		Example: `  shimwright machine show 3
  shimwright machine show "AB 123" --charts
  shimwright machine show "AB 123" --output html --out record.html`,
		Args:              exactly(1, "a machine's number, or its tag or part of it"),
		ValidArgsFunction: a.completeMachines,
		RunE:              func(cmd *cobra.Command, args []string) error { return runMachineShow(cmd, a, o, args) },
	}
	o.output = addChoice(cmd, "output", "output format", "table", "json", "csv", "markdown", "html")
	cmd.Flags().BoolVar(&o.charts, "charts", false, "draw each valve's clearance over the meter")
	addOut(cmd, &o.out)
	return cmd
}

func runMachineShow(cmd *cobra.Command, a *app, o *machineShowOptions, args []string) error {
	if o.out != "" && o.output.value != "html" {
		return wrong("add --output html, or leave --out out", "--out is for the page of --output html")
	}
	return a.withShop(cmd, func(ctx context.Context, shop *inventory.Shop) error {
		id, err := machineLike(ctx, shop, args[0])
		if err != nil {
			return err
		}
		s, err := work.See(ctx, shop, id)
		if err != nil {
			return err
		}
		sheet := machineSheet{s, o.charts}
		if o.output.value == "html" {
			return a.writeOut(o.out, sheet.page)
		}
		return a.list(sheet, o.output.value)
	})
}

// A machineSheet is all that is known of a machine.
type machineSheet struct {
	*work.Sight
	drawn bool // whether with charts
}

// meterStep is what a forecast of a meter is rounded to.
var meterStep = map[shim.MeterKind]float64{shim.Kilometres: 500, shim.Miles: 250, shim.Hours: 1}

// meterBefore writes when something is to be expected by, rounded down; finely
// where little is left since the last check.
func meterBefore(x, last float64, kind shim.MeterKind) string {
	step := meterStep[kind]
	if rounded := step * math.Floor(x/step); rounded > last {
		return exactMeter(rounded, kind)
	}
	return exactMeter(max(last, math.Floor(x)), kind)
}

// meterAfter writes when something is to be expected at the latest, rounded up.
func meterAfter(x float64, kind shim.MeterKind) string {
	step := meterStep[kind]
	return exactMeter(step*math.Ceil(x/step), kind)
}

func exactMeter(x float64, kind shim.MeterKind) string {
	return shim.MeterOf(x, kind).String()
}

// inTen says a chance as people say it.
func inTen(p float64) string {
	switch n := int(math.Round(10 * p)); {
	case p >= 0.995:
		return "almost certain"
	case n >= 10:
		return "more than 9 in 10"
	case n <= 0:
		return "less than 1 in 10"
	default:
		return fmt.Sprintf("%d in 10", n)
	}
}

func (s machineSheet) document() *report.Document {
	m := s.File.Machine
	lines := []string{fmt.Sprintf("Machine %d: %s", m.ID, machineText(m))}
	if once := m.Once(); len(once) > 0 {
		lines = append(lines, "Also: "+strings.Join(once, ", "))
	}
	if m.Number != "" {
		lines = append(lines, "Frame or engine number: "+m.Number)
	}
	if m.Owner != "" {
		lines = append(lines, "Owner: "+m.Owner)
	}
	visits := &report.Table{Header: []string{"job", "state", "opened", "meter", "who", "inside as found", "changed", ""}, Right: []int{0}}
	for i, v := range s.File.Visits {
		found, changed := s.counts(i)
		number := fmt.Sprint(v.Job.ID)
		if v.Imported != nil {
			number = "-"
		}
		visits.Rows = append(visits.Rows, []string{number, string(v.Job.State), day(v.Job.Opened), v.Job.Meter, v.Job.Who, found, changed, s.remark(i)})
	}
	doc := &report.Document{Sections: []report.Section{said(lines...), {Level: 2, Heading: "Visits", Table: visits}}}
	if len(s.File.Visits) == 0 {
		doc.Sections[1] = said("No visits.")
	}
	if len(s.Rows) > 0 {
		doc.Sections = append(doc.Sections, report.Section{Level: 2, Heading: "Valves at the last visit", Table: s.valves()})
	}
	doc.Sections = append(doc.Sections, report.Section{Level: 2, Heading: "Wear", Lines: s.told()})
	if s.drawn {
		doc.Sections = append(doc.Sections, report.ChartSections(chartsOf(s.Sight))...)
	}
	return doc
}

// remark is what is to be said of a visit.
func (s machineSheet) remark(visit int) string {
	var parts []string
	v := s.File.Visits[visit]
	j := v.Job
	if from := v.Imported; from != nil {
		parts = append(parts, fromShop(from))
	}
	if v.Engine.Spec.State == shim.Warm {
		parts = append(parts, "measured warm")
	}
	if j.Build {
		parts = append(parts, "fresh build")
	}
	if j.Reset != "" {
		parts = append(parts, j.Reset)
	}
	if j.MeterNew != "" {
		parts = append(parts, "another meter, the old one read "+j.MeterNew)
	}
	if text := certificatesText(v.Issues()); text != "" {
		parts = append(parts, text)
	}
	for _, g := range v.OutOfDate {
		parts = append(parts, "CAUTION: gauge set "+gaugeText(g)+" was out of date")
	}
	for _, skipped := range s.Trend.Skipped {
		if skipped.Visit == visit && !strings.HasPrefix(skipped.Why, "before") && skipped.Why != "cancelled" {
			parts = append(parts, "not in the trend: "+skipped.Why)
		}
	}
	for _, placed := range s.Trend.Placed {
		if placed.Visit == visit {
			parts = append(parts, placed.Why+", taken as at the last check")
		}
	}
	return strings.Join(parts, "; ")
}

func (s machineSheet) counts(visit int) (found, changed string) {
	v := s.File.Visits[visit]
	inside, read := 0, 0
	for _, m := range v.Found {
		train := v.Engine.Spec.TrainOf(m.Valve)
		if m.Reading.Kind == shim.Unread {
			continue
		}
		if read++; train.Judge(m.Reading) == shim.OK {
			inside++
		}
	}
	if read > 0 && !v.Job.Build {
		found = fmt.Sprintf("%d of %d", inside, read)
	}
	n := 0
	for _, m := range v.Found {
		at := slices.IndexFunc(v.Seats, func(s inventory.Seat) bool { return s.Valve == m.Valve })
		if at >= 0 && m.Size() != 0 && v.Seats[at].Size() != m.Size() {
			n++
		}
	}
	return found, fmt.Sprint(n)
}

func (s machineSheet) valves() *report.Table {
	u := s.Engine().Units
	t := &report.Table{Kind: "wear", Header: []string{"valve", "limits", "found", "left", "shim", "stack", "moved"}, Right: []int{2, 3, 4, 5, 6}}
	for i, r := range s.Rows {
		if i > 0 && r.Valve.Cylinder != s.Rows[i-1].Valve.Cylinder {
			t.Breaks = append(t.Breaks, i)
		}
		limits := r.Limits
		row := []string{r.Valve.String(), u.Clearance.Show(limits.Tight, 2, 3) + "-" + u.Clearance.Show(limits.Loose, 2, 3), r.Found.Format(u.Clearance), r.Left.Format(u.Clearance), "", "", ""}
		if r.Shim.Size() != 0 {
			row[4] = u.Size.Show(r.Shim.Size(), u.Size.Places(), u.Size.Places()+1)
			if r.Shim.Stamp == r.Shim.Size() {
				row[4] = shim.WithMark(row[4], s.Engine().MarksOf(r.Valve).Of(r.Shim.Stamp))
			}
			if r.Shim.Mic != 0 {
				row[4] += " mic"
			}
		}
		if r.Stacked {
			row[5] = u.Clearance.Show(r.Stack, 2, finest(u.Clearance))
		}
		if r.HasMoved {
			row[6] = movedBy(u.Clearance, r.Moved)
		}
		t.Rows = append(t.Rows, row)
	}
	return t
}

// finest is with how many places movements are shown: half a thousandth of an inch
// is one.
func finest(u shim.Unit) int {
	if u == shim.IN {
		return 4
	}
	return 3
}

func movedBy(u shim.Unit, l shim.Length) string {
	text := u.Show(l, 2, finest(u))
	if l > 0 {
		return "+" + text
	}
	return text
}

// told is the trend in plain lines.
func (s machineSheet) told() []string {
	t, u := s.Trend, s.Unit()
	var lines []string
	if len(t.Outside) > 0 {
		lines = []string{"Outside the limits as it was left: " + valveNames(t.Outside) + "."}
	}
	if len(t.Used) == 0 {
		return append(append(lines, "Cannot tell yet: no visit has readings with shims and a meter reading."), s.untold()...)
	}
	n := len(t.Series.Meters)
	since := ""
	if t.Began != "" {
		since = ", since: " + t.Began
	}
	span := exactMeter(t.Last(), t.Kind)
	if n > 1 {
		span = exactMeter(t.Series.Meters[0], t.Kind) + " to " + span
	}
	if n > 1 && t.Series.Meters[0] < 0 { // another meter is in since
		span = exactMeter(t.Last()-t.Series.Meters[0], t.Kind) + " on more than one meter"
	}
	lines = append(lines, fmt.Sprintf("%s, %s%s", shim.Count(n, "check"), span, since))
	lines = append(lines, s.unfollowed()...)
	if every := s.Engine().Interval; every.Hundredths > 0 && t.Interval == 0 {
		counts := "counts " + string(t.Kind)
		if t.Kind == "" {
			counts = "was written without a unit"
		}
		lines = append(lines, fmt.Sprintf("The maker's interval of %s is not in this: the meter %s.", every, counts))
	}
	if !t.Told() {
		why := "three checks are needed"
		if n >= 3 {
			why = "the readings do not agree on how fast it wears"
		}
		lines = append(lines, "Cannot tell yet when to look again: "+why+".")
		if most := s.movedMost(); most != "" {
			lines = append(lines, most)
		}
		return append(lines, s.untold()...)
	}
	f := t.Forecast
	switch {
	case len(t.Outside) > 0:
	case f.First.P50 <= t.Last():
		lines = append(lines, "A valve is likely outside its limits as it was left.")
	case math.IsInf(f.First.P10, 1):
		lines = append(lines, "No valve is likely to leave its limits in the foreseeable future.")
	default:
		until := "not to be foreseen"
		if !math.IsInf(f.First.P95, 1) {
			until = meterAfter(f.First.P95, t.Kind)
		}
		lines = append(lines, fmt.Sprintf("First valve outside: likely between %s and %s; 1 in 10 before %s", meterBefore(f.First.P5, t.Last(), t.Kind), until, meterBefore(f.First.P10, t.Last(), t.Kind)))
	}
	if watch := s.watch(u); watch != "" {
		lines = append(lines, watch)
	}
	if next := t.Next(); next > t.Last() && len(t.Outside) == 0 {
		all := "All"
		if slices.ContainsFunc(t.Series.Valves, func(v wear.Valve) bool { return len(v.Readings) == 0 }) {
			all = "All the others"
		}
		lines = append(lines, fmt.Sprintf("%s inside at the maker's %s: %s.", all, exactMeter(next, t.Kind), inTen(f.Inside(next))))
	}
	switch by := t.CheckBy(); {
	case by == 0:
	case len(t.Outside) > 0:
		lines = append(lines, "Check by: now.")
	case by == t.Next() && by <= t.Last():
		lines = append(lines, "Check by: now. Some valves were not read since the maker's "+exactMeter(by, t.Kind)+" came up.")
	case by == t.Next():
		lines = append(lines, "Check by: "+exactMeter(by, t.Kind)+", the maker's interval.")
	case by <= t.Last():
		lines = append(lines, "Check by: now. A valve may be outside already.")
	default:
		lines = append(lines, "Check by: "+meterBefore(by, t.Last(), t.Kind)+".")
	}
	if o, some := t.Outlook(); some && o.Due.After(o.Made) {
		lines = append(lines, "At its pace so far that is about "+o.Due.Format("January 2006")+".")
	}
	return append(lines, "The maker's manual has the last word on when to check.")
}

// untold is when to check where the wear does not say it.
func (s machineSheet) untold() (lines []string) {
	if next := s.Trend.Next(); next > 0 {
		lines = append(lines, "The maker's next check: "+exactMeter(next, s.Trend.Kind)+".")
	}
	if len(s.Trend.Outside) > 0 {
		lines = append(lines, "Check by: now.")
	}
	return lines
}

// unfollowed names the valves that the trend says nothing of, or not from the last
// check.
func (s machineSheet) unfollowed() (lines []string) {
	var never, not []shim.Valve
	for _, v := range s.Trend.Series.Valves {
		switch n := len(v.Readings); {
		case slices.Contains(s.Trend.Outside, v.Valve):
		case n == 0:
			never = append(never, v.Valve)
		case v.Readings[n-1].Check < len(s.Trend.Series.Meters)-1:
			not = append(not, v.Valve)
		}
	}
	if never != nil {
		lines = append(lines, "Not in the trend, no reading with a figure over a known shim: "+valveNames(never)+".")
	}
	if not != nil {
		lines = append(lines, "No figure from the last check, so by earlier ones: "+valveNames(not)+".")
	}
	return lines
}

// watch names the valves most likely to be first outside.
func (s machineSheet) watch(u shim.Unit) string {
	var rate shim.Length
	names := watched(s.Trend)
	lined := shim.Length(0)
	for _, v := range s.Trend.Forecast.Valves[:len(names)] {
		if v.Lined {
			rate += v.Rate
			lined++
		}
	}
	switch {
	case len(names) == 0:
		return ""
	case lined == 0:
		return "Watch " + valveNames(names) + "."
	}
	rate /= lined
	way := "closing"
	if rate < 0 {
		way, rate = "opening", -rate
	}
	per := math.Round(s.Trend.Series.Unit)
	if s.Trend.Kind == shim.Miles {
		per = 5000 // the unit is a round figure in km
	}
	rate = shim.Length(math.Round(float64(rate) * per / s.Trend.Series.Unit))
	return fmt.Sprintf("Watch %s (%s about %s %s per %s)", valveNames(names), way, u.Show(rate, 3, finest(u)), u, exactMeter(per, s.Trend.Kind))
}

// movedMost names what moved most since the visit before.
func (s machineSheet) movedMost() string {
	rows := slices.DeleteFunc(slices.Clone(s.Rows), func(r work.ValveRow) bool { return !r.HasMoved || r.Moved == 0 })
	if len(rows) == 0 {
		return ""
	}
	slices.SortStableFunc(rows, func(a, b work.ValveRow) int { return int(max(-1, min(1, b.Moved.Abs()-a.Moved.Abs()))) })
	var parts []string
	for _, r := range rows[:min(3, len(rows))] {
		parts = append(parts, r.Valve.String()+" "+movedBy(s.Unit(), r.Moved))
	}
	return "Moved most since the visit before: " + strings.Join(parts, ", ") + "."
}

func (s machineSheet) csv(w io.Writer) error {
	rows := [][]string{{"valve", "tight_mm", "loose_mm", "found", "left", "stamp_mm", "mic_mm", "stack_mm", "moved_mm"}}
	var marks []string
	for _, r := range s.Rows {
		row := []string{r.Valve.String(), r.Limits.Tight.String(), r.Limits.Loose.String(), r.Found.Format(shim.MM), r.Left.Format(shim.MM), "", "", "", ""}
		for i, l := range []shim.Length{r.Shim.Stamp, r.Shim.Mic} {
			if l != 0 {
				row[5+i] = l.String()
			}
		}
		if r.Stacked {
			row[7] = r.Stack.String()
		}
		if r.HasMoved {
			row[8] = r.Moved.String()
		}
		rows, marks = append(rows, row), append(marks, shimMark(s.Engine(), r.Valve, r.Shim))
	}
	return writeCSV(w, ofEngine(s.Engine()).withMarks(rows, marks))
}
