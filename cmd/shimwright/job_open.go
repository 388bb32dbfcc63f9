package main

import (
	"bytes"
	"context"
	"fmt"
	"io"
	"os"
	"slices"
	"strconv"
	"strings"
	"time"

	"github.com/spf13/cobra"

	"shimwright/inventory"
	"shimwright/inventory/work"
	"shimwright/shim"
	"shimwright/shim/files"
)

type jobOpenOptions struct {
	engine, tag, meter, note, date string
	meterNew, reset                string
	warmth                         warmth
	yes, build                     bool
	output                         *choice
}

func newJobOpen(a *app) *cobra.Command {
	o := &jobOpenOptions{}
	cmd := &cobra.Command{
		Use:   "open --engine ENGINE.toml",
		Short: "Open a job",
		Long: `open starts a job and prints its number. Give an engine file, or the name or
number of a model the shop knows. The shop keeps the file's text, so a job always
shows the limits it was done to.

The tag says whose machine it is: a plate, an order number. Case, spaces and
dashes make no difference. If the machine was here before, open names that job:
you can plan on its shims before teardown (job plan --last). open asks if the
meter reads less than on an earlier visit, or far more than its pace gives.

--build opens a fresh build, after head work: what is in are set-up shims of the
bench set, or none. They go back there, the box's record knows none of them, and
every valve gets a shim of its own.

Engine files with the same name are versions of one model. A name means the
newest version; open asks before it uses an older file.`,
		Example: `  shimwright job open --engine engine.toml --tag "AB 123" --meter "24,310 km"
  shimwright job open --engine "Sandpiper 720 twin" --tag "AB 123"
  shimwright job open --engine engine.toml --tag "AB 123" --build`,
		Args: exactly(0, "no arguments"),
		RunE: func(cmd *cobra.Command, args []string) error { return runJobOpen(cmd, a, o, args) },
	}
	flags := cmd.Flags()
	flags.StringVarP(&o.engine, "engine", "e", "", "engine `FILE` (TOML), or the name or number of a model the shop knows")
	flags.StringVar(&o.tag, "tag", "", "whose machine it is: a plate, an order number")
	flags.StringVar(&o.meter, "meter", "", "odometer or hour meter reading, with the unit")
	flags.StringVar(&o.meterNew, "meter-new", "", "another meter is in since the last visit: what the old one `READ` at the end, or unknown")
	flags.StringVar(&o.reset, "reset", "", "`WHAT` was done that wear cannot be followed across: \"seats cut\", \"new head\"")
	flags.BoolVar(&o.build, "build", false, "a fresh build: what is in are set-up shims of the bench set, or none")
	flags.StringVar(&o.note, "note", "", "any other note")
	flags.BoolVar(&o.yes, "yes", false, "do not ask about the meter reading or an older version of the engine file")
	flags.StringVar(&o.date, "date", "", "`DAY` of arrival, like 2026-03-01 (default: now)")
	o.warmth.addState(cmd)
	o.output = addChoice(cmd, "output", "form of the output", "table", "json")
	completesFlag(cmd, "engine", a.completeEngines)
	return cmd
}

// completeEngines completes models the shop knows, and files.
func (a *app) completeEngines(cmd *cobra.Command, args []string, begun string) ([]string, cobra.ShellCompDirective) {
	words, _ := a.fromShop(func(ctx context.Context, shop *inventory.Shop, _ []string) ([]string, error) {
		engines, err := shop.Engines(ctx, inventory.Page{})
		var words []string
		for _, e := range engines {
			words = append(words, fmt.Sprintf("%s\tengine %d", strings.Join(strings.Fields(e.Spec.Name), " "), e.ID))
		}
		return words, err
	})(cmd, args, begun)
	return words, cobra.ShellCompDirectiveDefault
}

// day is the day the machine arrived; zero means now.
func (o *jobOpenOptions) day(now time.Time) (time.Time, error) {
	if o.date == "" {
		return time.Time{}, nil
	}
	day, err := time.ParseInLocation(time.DateOnly, o.date, time.Local)
	switch {
	case err != nil:
		return day, wrong("write it like "+now.Format(time.DateOnly), "%q is not a date", o.date)
	case day.After(now):
		return day, wrong("give the day the machine arrived", "%s is in the future", o.date)
	}
	return day, inventory.OnTime(day) // here, because OpenJob takes a zero date for none
}

func runJobOpen(cmd *cobra.Command, a *app, o *jobOpenOptions, _ []string) error {
	return a.withBooking(cmd, func(ctx context.Context, shop *inventory.Shop) error {
		opening := inventory.Opening{Tag: o.tag, Meter: o.meter, Note: o.note, Build: o.build, MeterNew: o.meterNew, Reset: o.reset}
		var err error
		if opening.Date, err = o.day(a.now()); err != nil {
			return err
		}
		if opening.Spec, opening.Source, err = a.engineOf(ctx, shop, o.engine); err != nil {
			return err
		}
		in, err := o.warmth.engine(&opening.Spec)
		if err != nil {
			return err
		}
		opening.Spec = *in
		engines, err := shop.Engines(ctx, inventory.Page{})
		if err != nil {
			return err
		}
		if err := a.takesOlder(engines, &opening.Spec, opening.Source, o.engine, o.yes); err != nil {
			return err
		}
		jobs, err := shop.Jobs(ctx, inventory.JobFilter{})
		if err != nil {
			return err
		}
		news := newVersion(engines, jobs, &opening.Spec, opening.Source)
		if err := a.doubtMeter(ctx, shop, inventory.Job{Name: opening.Spec.Name, Tag: o.tag, Meter: o.meter, MeterNew: o.meterNew, Opened: opening.Date}, o.yes); err != nil {
			return err
		}
		f, last, err := work.Open(ctx, shop, opening)
		if err != nil {
			return err
		}
		job := f.Job
		if o.output.value == "json" {
			return a.write(func(w io.Writer) error { return writeJSON(visibleJSON{w}, jobForm(job, f.Engine.Spec.State)) })
		}
		opened := fmt.Sprintf("Job %d opened: %s.", job.ID, about(job))
		if place, _ := work.EditionOf(engines, &opening.Spec, opening.Source, ""); place.Older() {
			opened = fmt.Sprintf("Job %d opened: %s, with %s of its model.", job.ID, about(job), editionText(place))
		}
		before := hereBefore(job, last)
		if job.Build {
			before = "Fresh build: enter what you measure over the set-up shims, or 0 as the shim where there is none."
		}
		return a.tell(said(append(append([]string{opened}, news...), before, nextLine(f))...))
	})
}

// hereBefore says when the machine was last here, and where its shims are known
// from.
func hereBefore(job inventory.Job, last *work.Visit) string {
	if last == nil {
		return ""
	}
	if v := last.Elsewhere; v != nil {
		text := "This machine was elsewhere: " + elsewhereText(v) + "."
		if last.Job != nil {
			text = fmt.Sprintf("This machine was here before: job %d, closed %s; and elsewhere since: %s.", last.Job.ID, day(last.Job.Changed), elsewhereText(v))
		}
		if sources := knownFrom(last.Known); sources != "" {
			text += " Its shims are known from " + sources + "."
		}
		return text + fmt.Sprintf(" See shimwright machine show %d.", job.Machine)
	}
	text := fmt.Sprintf("This machine was here before: job %d, closed %s.", last.Job.ID, day(last.Job.Changed))
	if sources := knownFrom(last.Known); sources != "" {
		text += " Its shims are known from " + sources + "."
	}
	return text + fmt.Sprintf(" Before teardown, enter clearances only and plan on those shims: shimwright job plan %d --last %d", job.ID, last.Job.ID)
}

// elsewhereText says which shop a machine was in, when, and what its meter read.
func elsewhereText(v *inventory.Visit) string {
	text := fmt.Sprintf("%s, %s", shopOf(v.Imported), day(v.Job.Opened))
	if v.Job.Meter != "" {
		text += ", " + v.Job.Meter
	}
	return text
}

// knownFrom says which jobs the shims are known from, and for which valves if
// there are several: "job 1, 2026-03-01 (in1a, in1b), job 2, 2026-06-01 (ex1a)".
func knownFrom(known []inventory.Known) string {
	var order []string
	valves := map[string][]shim.Valve{}
	for _, k := range known {
		source := fmt.Sprintf("job %d, %s", k.Job, day(k.Time))
		switch {
		case k.Elsewhere != nil:
			source = fmt.Sprintf("%s, %s", shopOf(k.Elsewhere), day(k.Time))
		case k.Job == 0:
			source = "nowhere"
		}
		if valves[source] == nil {
			order = append(order, source)
		}
		valves[source] = append(valves[source], k.Valve)
	}
	if len(order) == 1 {
		if order[0] == "nowhere" {
			return ""
		}
		return order[0]
	}
	for i, source := range order {
		order[i] += " (" + valveNames(valves[source]) + ")"
	}
	return strings.Join(order, "; ")
}

// doubtMeter asks for confirmation where a job's meter can hardly be right.
func (a *app) doubtMeter(ctx context.Context, shop *inventory.Shop, job inventory.Job, yes bool) error {
	list, err := work.DoubtMeter(ctx, shop, job, a.now())
	if err != nil {
		return err
	}
	var doubts []doubtful
	for _, d := range list {
		if d.Kind == work.MeterUnknown {
			doubts = append(doubts, doubtful{fmt.Sprintf("%q is not what a meter reads, so nothing says how far the engine had run", job.Meter), "write it like \"24,310 km\", \"15,106 mi\" or \"1,203.5 h\""})
			continue
		}
		where := fmt.Sprintf("job %d", d.Visit.Job.ID)
		if d.Visit.Imported != nil {
			where = shopOf(d.Visit.Imported)
		}
		was := fmt.Sprintf("%s at %s on %s", d.Visit.Job.Meter, where, day(d.Visit.Job.Opened))
		switch d.Kind {
		case work.MeterBack:
			doubts = append(doubts, doubtful{fmt.Sprintf("the meter reads %s; it read %s", job.Meter, was),
				"check the meter and the tag; a slip at that visit: job edit --meter; if another meter was put in: --meter-new with what the old one read at the end"})
		case work.MeterJump:
			doubts = append(doubts, doubtful{fmt.Sprintf("the meter reads %s; it read %s, and never ran so fast", job.Meter, was), "count the digits, and check the tag"})
		case work.OldMeterBack:
			doubts = append(doubts, doubtful{fmt.Sprintf("the old meter is said to have read %s at the end; it read %s", job.MeterNew, was), "check both; if nobody knows what it read: --meter-new unknown"})
		}
	}
	return a.confirm(doubts, yes)
}

// engineOf finds the named engine: a file, or a model the shop knows.
func (a *app) engineOf(ctx context.Context, shop *inventory.Shop, name string) (shim.Engine, string, error) {
	if name == "" {
		return shim.Engine{}, "", wrong("give an engine file, or a model the shop knows: --engine ENGINE.toml", "no engine given")
	}
	_, missing := os.Stat(name)
	if name == "-" || missing == nil || strings.HasSuffix(strings.ToLower(name), ".toml") {
		return a.engineFile(name)
	}
	engines, err := shop.Engines(ctx, inventory.Page{})
	if err != nil {
		return shim.Engine{}, "", err
	}
	id, _ := strconv.ParseInt(name, 10, 64)
	for _, e := range slices.Backward(engines) {
		if e.ID == id || inventory.SameModel(e.Spec.Name, name) {
			// The shop may know it by a job on the engine in its other state.
			if file, _, err := files.ReadEngine("", strings.NewReader(e.Source)); err == nil && file.State != e.Spec.State {
				return *file, e.Source, nil
			}
			return e.Spec, e.Source, nil
		}
	}
	return shim.Engine{}, "", shim.Fail(nil, "give the engine file: --engine ENGINE.toml", "%s: no such file, and no model the shop knows", name)
}

// engineFile reads an engine file and keeps its text.
func (a *app) engineFile(name string) (shim.Engine, string, error) {
	var text bytes.Buffer
	e, err := readInput(a, name, func(name string, r io.Reader) (*shim.Engine, []files.Fault, error) {
		e, warnings, err := files.ReadEngine(name, io.TeeReader(r, &text))
		if err == nil {
			_, err = io.Copy(&text, r)
		}
		return e, warnings, err
	})
	if err != nil {
		return shim.Engine{}, "", err
	}
	return *e, text.String(), nil
}
