package main

import (
	"context"
	"fmt"
	"io"
	"strconv"
	"strings"
	"time"

	"github.com/spf13/cobra"

	"shimwright/inventory"
	"shimwright/shim"
	"shimwright/shim/report"
)

func newGauge(a *app) *cobra.Command {
	return newGroup("gauge", "Keep the shop's gauge sets and when they are to be calibrated",
		`gauge keeps the sets of feeler gauges and micrometers that the shop measures with:
their number, when they are to be calibrated again, and how finely they tell. A check
may name the set that it was made with (job read --gauges); how sure it is then goes
by that set, and a set out of date is a caution.`,
		newGaugeAdd(a), newGaugeEdit(a), newGaugeRetire(a), newGaugeList(a))
}

// gaugeFlags are what is said of a set; empty is not said.
type gaugeFlags struct{ number, calibrated, due, step, leaf, stamp, used, mic, note string }

func (g *gaugeFlags) add(cmd *cobra.Command) {
	flags := cmd.Flags()
	flags.StringVar(&g.number, "number", "", "its number, as engraved or on its certificate")
	flags.StringVar(&g.calibrated, "calibrated", "", "`DAY` when it was last calibrated, like 2026-03-01")
	flags.StringVar(&g.due, "due", "", "`DAY` when it is to be calibrated again")
	flags.StringVar(&g.step, "step", "", "from one leaf to the next, in `MM` (or .001in)")
	flags.StringVar(&g.leaf, "leaf", "", "error limit of a leaf, plus or minus, in `MM`")
	flags.StringVar(&g.stamp, "stamp", "", "error limit of the mark on a new shim, in `MM`")
	flags.StringVar(&g.used, "used", "", "error limit of the mark on a used shim, in `MM`")
	flags.StringVar(&g.mic, "mic", "", "error limit of the micrometer, in `MM`")
	flags.StringVar(&g.note, "note", "", "any other note")
}

// onto writes what was said into a set.
func (g *gaugeFlags) onto(set *inventory.Gauge) error {
	for _, f := range []struct {
		said string
		to   *string
	}{{g.number, &set.Number}, {g.note, &set.Note}} {
		if f.said != "" {
			*f.to = f.said
		}
	}
	for _, f := range []struct {
		name, said string
		to         *time.Time
	}{{"calibrated", g.calibrated, &set.Calibrated}, {"due", g.due, &set.Due}} {
		if f.said == "" {
			continue
		}
		at, err := time.ParseInLocation(time.DateOnly, f.said, time.Local)
		if err != nil {
			return wrong("write it like 2026-03-01", "--%s: %q is not a date", f.name, f.said)
		}
		if err := inventory.OnTime(at); err != nil {
			return err
		}
		*f.to = at
	}
	figures := []struct {
		name, said string
		to         *shim.Length
	}{{"step", g.step, &set.Spec.Step}, {"leaf", g.leaf, &set.Spec.Leaf}, {"stamp", g.stamp, &set.Spec.Stamp}, {"used", g.used, &set.Spec.Used}, {"mic", g.mic, &set.Spec.Mic}}
	for _, f := range figures {
		if f.said == "" {
			continue
		}
		if set.Spec == (shim.Gauge{}) {
			set.Spec = shim.UsualGauge // what is not said is as usual
		}
		text, u := shim.CutUnit(strings.ReplaceAll(f.said, ",", "."), shim.MM)
		l, err := u.Parse(text)
		if err != nil {
			return wrong("write it in mm, like 0.01, or with its unit, like .001in", "--%s: %s", f.name, err)
		}
		*f.to = l
	}
	if g.step != "" && set.Spec.Step == 0 {
		return wrong("the distance between neighbouring leaves", "--step: no set has leaves 0 apart")
	}
	return nil
}

// gaugeNamed finds a set by its name or number in the list, one not retired.
func gaugeNamed(ctx context.Context, shop *inventory.Shop, text string) (inventory.Gauge, error) {
	all, err := shop.Gauges(ctx)
	if err != nil {
		return inventory.Gauge{}, err
	}
	id, _ := strconv.ParseInt(strings.TrimSpace(text), 10, 64)
	for _, byName := range []bool{true, false} {
		for _, g := range all {
			if byName && inventory.TagKey(g.Name) == inventory.TagKey(text) || !byName && g.ID == id {
				if g.Retired {
					return g, wrong("see shimwright gauge list", "gauge set %q is retired", g.Name)
				}
				return g, nil
			}
		}
	}
	return inventory.Gauge{}, wrong("see shimwright gauge list, or add it with shimwright gauge add", "there is no gauge set %q", text)
}

func newGaugeAdd(a *app) *cobra.Command {
	o := &gaugeFlags{}
	cmd := &cobra.Command{
		Use:   "add NAME",
		Short: "Add a gauge set",
		Long: `add keeps a set of feeler gauges, with its micrometer if it has one. What is said of
its errors takes the place of the engine file's [gauge] for checks made with it.`,
		Example: `  shimwright gauge add "set 2" --number FG-0417 --due 2027-02-01
  shimwright gauge add fine --step 0.01 --leaf 0.003 --mic 0.002`,
		Args: exactly(1, "a name"),
		RunE: func(cmd *cobra.Command, args []string) error { return runGaugeAdd(cmd, a, o, args) },
	}
	o.add(cmd)
	return cmd
}

func runGaugeAdd(cmd *cobra.Command, a *app, o *gaugeFlags, args []string) error {
	set := inventory.Gauge{Name: args[0]}
	if err := o.onto(&set); err != nil {
		return err
	}
	return a.withBooking(cmd, func(ctx context.Context, shop *inventory.Shop) error {
		set, err := shop.PutGauge(ctx, set)
		if err != nil {
			return err
		}
		return a.tell(said(fmt.Sprintf("Gauge set %d, %s, is kept%s.", set.ID, set.Name, dueText(set, a.now())), fmt.Sprintf("Name it with a check: shimwright job read JOB CHECK.csv --gauges %s", argument(set.Name))))
	})
}

// dueText says when a set is to be calibrated.
func dueText(g inventory.Gauge, now time.Time) string {
	switch {
	case g.Due.IsZero():
		return ""
	case g.OutOfDate(now):
		return fmt.Sprintf("; OUT OF DATE since %s", day(g.Due))
	}
	return fmt.Sprintf("; to be calibrated by %s", day(g.Due))
}

func newGaugeEdit(a *app) *cobra.Command {
	o := &gaugeFlags{}
	cmd := &cobra.Command{
		Use:               "edit NAME",
		Short:             "Change what is known of a gauge set, as after a calibration",
		Long:              `edit changes what is said; the rest stays.`,
		Example:           `  shimwright gauge edit "set 2" --calibrated 2027-01-20 --due 2028-01-20`,
		Args:              exactly(1, "a gauge set"),
		ValidArgsFunction: a.completeGauges,
		RunE:              func(cmd *cobra.Command, args []string) error { return runGaugeEdit(cmd, a, o, args) },
	}
	o.add(cmd)
	return cmd
}

func runGaugeEdit(cmd *cobra.Command, a *app, o *gaugeFlags, args []string) error {
	if *o == (gaugeFlags{}) {
		return wrong("give --due or another flag", "nothing to change")
	}
	return a.withBooking(cmd, func(ctx context.Context, shop *inventory.Shop) error {
		set, err := gaugeNamed(ctx, shop, args[0])
		if err != nil {
			return err
		}
		if err := o.onto(&set); err != nil {
			return err
		}
		if set, err = shop.PutGauge(ctx, set); err != nil {
			return err
		}
		return a.tell(said(fmt.Sprintf("Gauge set %d, %s: changed%s.", set.ID, set.Name, dueText(set, a.now()))))
	})
}

func newGaugeRetire(a *app) *cobra.Command {
	return &cobra.Command{
		Use:               "retire NAME",
		Short:             "Take a gauge set out of use",
		Long:              `retire keeps the set for the checks that were made with it; new checks cannot name it.`,
		Example:           `  shimwright gauge retire "set 2"`,
		Args:              exactly(1, "a gauge set"),
		ValidArgsFunction: a.completeGauges,
		RunE:              func(cmd *cobra.Command, args []string) error { return runGaugeRetire(cmd, a, args) },
	}
}

func runGaugeRetire(cmd *cobra.Command, a *app, args []string) error {
	return a.withBooking(cmd, func(ctx context.Context, shop *inventory.Shop) error {
		set, err := gaugeNamed(ctx, shop, args[0])
		if err != nil {
			return err
		}
		set.Retired = true
		if set, err = shop.PutGauge(ctx, set); err != nil {
			return err
		}
		return a.tell(said(fmt.Sprintf("Gauge set %d, %s, is out of use.", set.ID, set.Name)))
	})
}

// completeGauges completes the sets in use by name.
func (a *app) completeGauges(cmd *cobra.Command, args []string, begun string) ([]string, cobra.ShellCompDirective) {
	return a.fromShop(func(ctx context.Context, shop *inventory.Shop, _ []string) ([]string, error) {
		all, err := shop.Gauges(ctx)
		var words []string
		for _, g := range all {
			if !g.Retired {
				words = append(words, fmt.Sprintf("%s\t%s", g.Name, g.Number))
			}
		}
		return words, err
	})(cmd, args, begun)
}

type gaugeListOptions struct{ output *choice }

func newGaugeList(a *app) *cobra.Command {
	o := &gaugeListOptions{}
	cmd := &cobra.Command{
		Use:     "list",
		Short:   "List the gauge sets and when they are to be calibrated",
		Long:    `list prints all sets, those out of use last.`,
		Example: `  shimwright gauge list`,
		Args:    exactly(0, "no arguments"),
		RunE:    func(cmd *cobra.Command, args []string) error { return runGaugeList(cmd, a, o, args) },
	}
	o.output = addOutput(cmd)
	return cmd
}

func runGaugeList(cmd *cobra.Command, a *app, o *gaugeListOptions, _ []string) error {
	return a.withShop(cmd, func(ctx context.Context, shop *inventory.Shop) error {
		all, err := shop.Gauges(ctx)
		if err != nil {
			return err
		}
		l := gaugeListing{now: a.now()}
		for _, retired := range []bool{false, true} {
			for _, g := range all {
				if g.Retired == retired {
					l.sets = append(l.sets, g)
				}
			}
		}
		return a.list(l, o.output.value)
	})
}

// A gaugeListing is the shop's gauge sets.
type gaugeListing struct {
	sets []inventory.Gauge
	now  time.Time
}

func gaugeState(g inventory.Gauge, now time.Time) string {
	switch {
	case g.Retired:
		return "out of use"
	case g.OutOfDate(now):
		return "OUT OF DATE"
	}
	return "in use"
}

func dayOr(t time.Time) string {
	if t.IsZero() {
		return ""
	}
	return day(t)
}

func (l gaugeListing) document() *report.Document {
	if len(l.sets) == 0 {
		return &report.Document{Sections: []report.Section{said("No gauge sets. Add one with shimwright gauge add.")}}
	}
	t := &report.Table{Header: []string{"set", "name", "number", "state", "calibrated", "due", "leaves apart", "note"}, Right: []int{0}, Strong: map[int]bool{3: true}}
	for _, g := range l.sets {
		step := ""
		if g.Spec.Step != 0 {
			step = g.Spec.Step.String()
		}
		t.Rows = append(t.Rows, []string{fmt.Sprint(g.ID), g.Name, g.Number, gaugeState(g, l.now), dayOr(g.Calibrated), dayOr(g.Due), step, g.Note})
	}
	return &report.Document{Sections: []report.Section{{Table: t}}}
}

type gaugeLine struct {
	Set        int64       `json:"set"`
	Name       string      `json:"name"`
	Number     string      `json:"number"`
	State      string      `json:"state"`
	Calibrated string      `json:"calibrated"`
	Due        string      `json:"due"`
	Step       shim.Length `json:"step_mm"`
	Leaf       shim.Length `json:"leaf_mm"`
	Stamp      shim.Length `json:"stamp_mm"`
	Used       shim.Length `json:"used_mm"`
	Mic        shim.Length `json:"mic_mm"`
	Note       string      `json:"note"`
}

func (l gaugeListing) form(g inventory.Gauge) gaugeLine {
	return gaugeLine{g.ID, g.Name, g.Number, strings.ToLower(gaugeState(g, l.now)), dayOr(g.Calibrated), dayOr(g.Due), g.Spec.Step, g.Spec.Leaf, g.Spec.Stamp, g.Spec.Used, g.Spec.Mic, g.Note}
}

func (l gaugeListing) json(w io.Writer) error {
	out := struct {
		Sets []gaugeLine `json:"gauge_sets"`
	}{[]gaugeLine{}}
	for _, g := range l.sets {
		out.Sets = append(out.Sets, l.form(g))
	}
	return writeJSON(w, out)
}

func (l gaugeListing) csv(w io.Writer) error {
	rows := [][]string{{"set", "name", "number", "state", "calibrated", "due", "step_mm", "leaf_mm", "stamp_mm", "used_mm", "mic_mm", "note"}}
	for _, g := range l.sets {
		x := l.form(g)
		rows = append(rows, []string{fmt.Sprint(x.Set), x.Name, x.Number, x.State, x.Calibrated, x.Due, x.Step.String(), x.Leaf.String(), x.Stamp.String(), x.Used.String(), x.Mic.String(), x.Note})
	}
	return writeCSV(w, rows)
}

// addGauges adds the flag that names the set a check was made with.
func addGauges(cmd *cobra.Command, a *app, name *string, yes *bool) {
	cmd.Flags().StringVar(name, "gauges", "", "gauge `SET` that was used, by its name: see shimwright gauge list")
	cmd.Flags().BoolVar(yes, "yes", false, "do not ask about a gauge set whose calibration is out of date")
	completesFlag(cmd, "gauges", a.completeGauges)
}

// gaugesFor is the set that a check names, the zero set for none. One out of date
// is asked about.
func (a *app) gaugesFor(ctx context.Context, shop *inventory.Shop, name string, yes bool) (inventory.Gauge, error) {
	if name == "" {
		return inventory.Gauge{}, nil
	}
	set, err := gaugeNamed(ctx, shop, name)
	if err != nil || !set.OutOfDate(a.now()) {
		return set, err
	}
	return set, a.confirm([]doubtful{{fmt.Sprintf("gauge set %s was to be calibrated by %s", set.Name, day(set.Due)), "use another one, or book its calibration: shimwright gauge edit"}}, yes)
}

// gaugesUsed lists the sets that a job was measured with, one that was out of date
// then as a caution.
func gaugesUsed(f inventory.File) (lines []string) {
	for _, g := range f.Gauges {
		line := "Measured with gauge set " + g.Name
		if g.Number != "" {
			line += " (" + g.Number + ")"
		}
		for _, c := range f.Checks {
			if c.Gauge == g.ID && g.OutOfDate(c.Time) {
				line = "CAUTION: measured with gauge set " + g.Name + ", which was to be calibrated by " + day(g.Due)
			}
		}
		lines = append(lines, line+".")
	}
	return lines
}
