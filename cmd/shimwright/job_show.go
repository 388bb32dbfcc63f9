package main

import (
	"context"
	"fmt"
	"io"
	"slices"
	"strings"

	"github.com/spf13/cobra"

	"shimwright/inventory"
	"shimwright/inventory/work"
	"shimwright/shim"
	"shimwright/shim/report"
)

type jobShowOptions struct {
	output *choice
}

func newJobShow(a *app) *cobra.Command {
	o := &jobShowOptions{}
	cmd := &cobra.Command{
		Use:   "show JOB",
		Short: "Show everything about a job",
		Long: `show prints everything about a job: its details, readings, current plan and what is
left of it, reserved shims, orders, movements and the next step. CSV has the
movements. HTML is the job card of the current plan, with the readings after the
fit, for printing.`,
		Example: `  shimwright job show 12
  shimwright job show 12 --output json
  shimwright job show 12 --output html > card.html`,
		Args:              exactly(1, "a job number or tag"),
		ValidArgsFunction: a.completeJobs(),
		RunE:              func(cmd *cobra.Command, args []string) error { return runJobShow(cmd, a, o, args) },
	}
	o.output = addChoice(cmd, "output", "form of the output", "table", "json", "csv", "markdown", "html")
	return cmd
}

func runJobShow(cmd *cobra.Command, a *app, o *jobShowOptions, args []string) error {
	return a.withShop(cmd, func(ctx context.Context, shop *inventory.Shop) error {
		f, err := fileNamed(ctx, shop, args[0], true)
		if err != nil {
			return err
		}
		if o.output.value == "html" {
			if err := a.toScreen("shimwright job show … --output html > card.html"); err != nil {
				return err
			}
			return a.printCard(ctx, shop, f)
		}
		engines, err := shop.Engines(ctx, inventory.Page{})
		if err != nil {
			return err
		}
		return a.list(shownJob{jobFile(f), outdated(engines, f)}, o.output.value)
	})
}

// A shownJob is a job with a line about its engine file if there is a newer one.
type shownJob struct {
	jobFile
	outdated string
}

func (s shownJob) document() *report.Document {
	d := s.jobFile.document()
	if s.outdated != "" {
		lines := &d.Sections[0].Lines
		*lines = slices.Insert(*lines, 1, s.outdated)
	}
	return d
}

// outdated says that a job uses an older version of its engine file, and how
// the newest differs.
func outdated(engines []inventory.Engine, f inventory.File) string {
	place := work.Editions(engines)[f.Engine.ID]
	if !place.Older() {
		return ""
	}
	newest := work.Newest(engines, f.Engine.Spec.Name, f.Engine.Spec.State)
	text := fmt.Sprintf("Engine file: %s; the newest has %s.", editionText(place), differs(&f.Engine.Spec, &newest.Spec))
	switch {
	case f.Job.State.Final():
	case !inventory.SameParts(&f.Engine.Spec, &newest.Spec):
		text += " This job keeps its own: the newest has other valves or shims."
	default:
		text += fmt.Sprintf(" To use it: shimwright job edit %d --engine %q", f.Job.ID, newest.Spec.Name)
	}
	return text
}

// A jobFile is a job as it is printed.
type jobFile inventory.File

func (f jobFile) document() *report.Document {
	j, u, text := f.Job, f.Engine.Spec.Units, ofEngine(&f.Engine.Spec)
	d := &report.Document{Sections: []report.Section{{
		Level: 1, Heading: fmt.Sprintf("Job %d: %s (%s)", j.ID, j.Name, u),
		Lines: said(
			fmt.Sprintf("State: %s%s since %s.", j.State, map[bool]string{true: " anyway"}[j.Anyway], when(j.Changed)),
			fmt.Sprintf("Opened: %s by %s.", when(j.Opened), j.Who),
			labelled("Tag", j.Tag), labelled("Meter", j.Meter), labelled("Note", j.Note), map[bool]string{true: "Fresh build: set-up shims go back to the bench set, and the box's record knows none of them."}[j.Build],
			nextLine(inventory.File(f)),
		).Lines,
	}}}
	var readings []shim.Measurement
	for _, c := range f.Checks {
		readings = append(readings, c.Readings...)
	}
	d.Sections[0].Lines = append(d.Sections[0].Lines, report.Warmth(&f.Engine.Spec, u.Clearance, readings)...)
	d.Sections[0].Lines = append(d.Sections[0].Lines, gaugesUsed(inventory.File(f))...)
	if text := certificatesText(f.Certificates); text != "" {
		d.Sections[0].Lines = append(d.Sections[0].Lines, strings.ToUpper(text[:1])+text[1:]+".")
	}
	if len(f.Edits) > 0 {
		t := &report.Table{Kind: "changes", Header: []string{"day", "field", "old", "new", "who"}}
		for _, e := range f.Edits {
			t.Rows = append(t.Rows, []string{day(e.Time), string(e.Field), e.Old, e.New, e.Who})
		}
		d.Sections = append(d.Sections, report.Section{Level: 2, Heading: "Changes", Table: t})
	}
	d.Sections = append(d.Sections, f.readings()...)
	if f.Plan != nil {
		d.Sections = append(d.Sections, f.current(text))
	}
	if len(f.Holds) > 0 {
		t := &report.Table{Kind: "reserved", Header: []string{"shims", "size", "diameter", "from"}, Right: []int{0, 1, 2}}
		for _, h := range f.Holds {
			t.Rows = append(t.Rows, []string{fmt.Sprint(h.Count), text.counted(h.Lot), report.Family(u.Size, h.Family), pieceText(h.Lot)})
		}
		d.Sections = append(d.Sections, report.Section{Level: 2, Heading: "Reserved", Table: t})
	}
	if len(f.Purchases) > 0 {
		t := &report.Table{Kind: "bought", Header: []string{"size", "needed", "ordered", "arrived", "each", "total"}, Right: []int{0, 1, 2, 3, 4, 5}}
		named := slices.ContainsFunc(f.Purchases, func(p inventory.Purchase) bool { return p.Supplier != "" || p.Part != "" })
		if named {
			t.Header = append(t.Header, "supplier", "part")
		}
		var sum shim.Price
		unknown := false
		for _, p := range f.Purchases {
			each, total := "?", "?"
			if p.Priced {
				cost := p.Price * shim.Price(max(p.Needed, p.Arrived))
				each, total = p.Price.String(), cost.String()
				sum += cost
			} else {
				unknown = unknown || p.Needed > 0 || p.Arrived > 0
			}
			row := []string{text.disc(p.Disc), fmt.Sprint(p.Needed), fmt.Sprint(p.Ordered), fmt.Sprint(p.Arrived), each, total}
			if named {
				row = append(row, p.Supplier, p.Part)
			}
			t.Rows = append(t.Rows, row)
		}
		t.Footer = make([]string, len(t.Header))
		t.Footer[5] = sum.String()
		s := report.Section{Level: 2, Heading: "Bought", Table: t}
		if unknown {
			s.Notes = append(s.Notes, unknownPrice)
		}
		d.Sections = append(d.Sections, s)
	}
	if len(f.Movements) > 0 {
		t := &report.Table{Kind: "movements", Header: []string{"no.", "day", "what", "valve", "shims", "size", "bin", "who", "note"}, Right: []int{0, 4, 5}}
		for _, m := range f.Movements {
			what := string(m.Kind)
			if m.Reverses != 0 {
				what += fmt.Sprintf(", reverses %d", m.Reverses)
			}
			t.Rows = append(t.Rows, []string{fmt.Sprint(m.Seq), day(m.Time), what, valveText(m.Valve), fmt.Sprintf("%+d", m.Count), ofKind(text.lot(m.Lot), m.Family), m.Bin, m.Who, m.Note})
		}
		d.Sections = append(d.Sections, report.Section{Level: 2, Heading: "Movements", Table: t})
	}
	return d
}

// emptyText marks a valve with no shim fitted.
const emptyText = "EMPTY"

// labelled is "Label: text", empty if there is no text.
func labelled(label, text string) string {
	if text == "" {
		return ""
	}
	return label + ": " + text
}

// valveText is a valve's name, empty for the zero valve.
func valveText(v shim.Valve) string {
	if v == (shim.Valve{}) {
		return ""
	}
	return v.String()
}

// maxChecks is the most checks shown side by side in a table.
const maxChecks = 4

// unsettled says which limits the readings after the fit of a fresh build are held
// against; empty where the engine file has no allowance.
func (f jobFile) unsettled(shown []inventory.Check) string {
	if !f.Job.Build || !slices.ContainsFunc(shown, func(c inventory.Check) bool { return c.Kind == inventory.CheckRecheck }) {
		return ""
	}
	u, seen := f.Engine.Spec.Units.Clearance, map[string]bool{}
	var list []string
	for _, s := range f.Seats {
		train, name := f.Engine.Spec.TrainOf(s.Valve), s.Valve.Side.String()
		if s.Valve.Closer {
			name += " closer"
		}
		if settling := train.Settling(); settling != train.Limits && !seen[name] {
			seen[name] = true
			list = append(list, name+" "+report.Limits(u, settling))
		}
	}
	if len(list) == 0 {
		return ""
	}
	return "Readings after the fit are judged before the allowance has settled: " + strings.Join(list, ", ") + "."
}

// readings is a table of the valves with the last checks side by side.
func (f jobFile) readings() []report.Section {
	u := f.Engine.Spec.Units
	if len(f.Checks) == 0 {
		return nil
	}
	shown := f.Checks[max(0, len(f.Checks)-maxChecks):]
	t := &report.Table{Kind: "readings", Header: []string{"valve", "limits", "shim now"}, Right: []int{2}}
	var notes []string
	for _, c := range shown {
		t.Header = append(t.Header, fmt.Sprintf("check %d", c.Number))
		line := fmt.Sprintf("Check %d: %s the fit, %s by %s.", c.Number, before(c.Kind), when(c.Time), c.Who)
		notes = append(notes, strings.TrimSpace(line+" "+c.Note))
	}
	if n := len(f.Checks) - len(shown); n > 0 {
		notes = append(notes, fmt.Sprintf("%s more in the JSON output.", shim.Count(n, "earlier check")))
	}
	for _, s := range f.Seats {
		train := f.Engine.Spec.TrainOf(s.Valve)
		limits, held := train.Limits, train.Limits
		if f.Job.Build {
			held = train.Settling()
		}
		family, text := f.Engine.Spec.FamilyOf(s.Valve), ofEngine(&f.Engine.Spec)
		in := text.lot(inventory.Lot{Family: family, Marks: s.Marks})
		switch {
		case s.SetUp && s.Size() == 0:
			in = "none yet"
		case s.SetUp:
			in += ", set-up"
		case s.Temporary != 0:
			in = text.size(family.Of(s.Temporary)) + " for now"
		case s.Empty:
			in = emptyText
		}
		row := []string{s.Valve.String(), report.Limits(u.Clearance, limits), in}
		for _, c := range shown {
			cell := ""
			for _, m := range c.Readings {
				if m.Valve == s.Valve {
					cell = report.Reading(u.Clearance, limits, m.Reading)
					m, _ := f.Engine.Spec.AtLimits(m)
					if f.Job.Build && c.Kind == inventory.CheckBefore {
						continue // over a set-up shim, or without one
					}
					if verdict := held.Judge(m.Reading); verdict == shim.Tight || verdict == shim.Loose {
						cell += " " + strings.ToUpper(verdict.String())
					} else if held.Undecided(m.Reading) {
						cell += " ok?"
					}
				}
			}
			row = append(row, cell)
		}
		t.Rows = append(t.Rows, row)
	}
	if note := f.unsettled(shown); note != "" {
		notes = append(notes, note)
	}
	list := []report.Section{{Level: 2, Heading: "Readings", Table: t, Notes: notes}}
	switch f.Job.State {
	case inventory.StatePlanned, inventory.StateFitting, inventory.StateFitted:
		return list // not fitted or not measured yet
	}
	if len(f.Unproven) > 0 {
		list = append(list, report.Section{Lines: []string{"Not proven: " + joined(f.Unproven) + "."}})
	}
	return list
}

// before is "before" or "after".
func before(k inventory.CheckKind) string {
	if k == inventory.CheckRecheck {
		return "after"
	}
	return "before"
}

// current is the current plan and what is left of it.
func (f jobFile) current(u shimText) report.Section {
	t := &report.Table{Kind: "placements", Header: []string{"valve", "new shim", "from", "shim", ""}, Right: []int{1}}
	for _, p := range work.Placements(inventory.File(f)) {
		family := f.Engine.Spec.FamilyOf(p.Valve)
		done := "fitted"
		switch {
		case p.Progress == work.ToDo:
			done = "to do"
		case p.Progress == work.Empty:
			done = emptyText
		case p.Progress == work.Otherwise:
			done = u.size(family.Of(p.In)) + " fitted instead"
		case p.In != p.Size:
			done = "fitted, measures " + sizeText(p.In, u.Unit)
		}
		piece := ""
		if p.Known {
			piece = pieceText(p.Lot)
		}
		t.Rows = append(t.Rows, []string{p.Valve.String(), u.size(family.Of(p.Size)), origin(p.Placement), piece, done})
	}
	s := report.Section{Level: 2, Heading: fmt.Sprintf("Plan %d, %s by %s", f.Plan.Number, when(f.Plan.Time), f.Plan.Who), Table: t}
	if len(t.Rows) == 0 {
		s.Table, s.Lines = nil, []string{"No shim to change."}
	}
	return s
}

func (f jobFile) json(w io.Writer) error { return writeJSON(w, fileForm(inventory.File(f))) }

func (f jobFile) csv(w io.Writer) error {
	rows := [][]string{{"movement", "batch", "time", "kind", "valve", "count", "diameter_mm", "stamp_mm", "mic_mm", "used", "bin", "price", "who", "note", "reverses"}}
	var families []shim.Family
	var marks []string
	text := ofEngine(&f.Engine.Spec)
	for _, m := range f.Movements {
		families, marks = append(families, m.Family), append(marks, text.on(m.Lot))
		price, reverses := "", ""
		if m.Priced {
			price = m.Price.String()
		}
		if m.Reverses != 0 {
			reverses = fmt.Sprint(m.Reverses)
		}
		rows = append(rows, []string{fmt.Sprint(m.Seq), fmt.Sprint(m.Batch), stamp(m.Time), string(m.Kind), valveText(m.Valve), fmt.Sprint(m.Count),
			m.Diameter.String(), cellOf(m.Stamp), cellOf(m.Mic), fmt.Sprint(m.Used), m.Bin, price, m.Who, m.Note, reverses})
	}
	return writeCSV(w, text.withMarks(withFamilies(rows, families), marks))
}
