package main

import (
	"context"
	"fmt"
	"io"
	"slices"
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

// gaugeFlags are what is said of a set; what is said to be empty is emptied.
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

// gaugeFlagNames are the flags that [gaugeFlags] adds.
var gaugeFlagNames = []string{"number", "calibrated", "due", "step", "leaf", "stamp", "used", "mic", "note"}

// onto writes what was said into a set. A figure that is emptied is the usual one again.
func (g *gaugeFlags) onto(cmd *cobra.Command, set *inventory.Gauge) error {
	said := cmd.Flags().Changed
	if said("number") {
		set.Number = g.number
	}
	if said("note") {
		set.Note = g.note
	}
	for _, f := range []struct {
		name, text string
		to         *time.Time
	}{{"calibrated", g.calibrated, &set.Calibrated}, {"due", g.due, &set.Due}} {
		if !said(f.name) {
			continue
		}
		*f.to = time.Time{}
		if f.text == "" {
			continue
		}
		at, err := time.Parse(time.DateOnly, f.text)
		if err != nil {
			return wrong("write it like 2026-03-01", "--%s: %q is not a date", f.name, f.text)
		}
		if err := inventory.OnTime(at); err != nil {
			return err
		}
		*f.to = at
	}
	usual := shim.UsualGauge // what is not said is as usual
	for _, f := range []struct {
		name, text string
		to, usual  *shim.Length
	}{
		{"step", g.step, &set.Spec.Step, &usual.Step}, {"leaf", g.leaf, &set.Spec.Leaf, &usual.Leaf}, {"stamp", g.stamp, &set.Spec.Stamp, &usual.Stamp},
		{"used", g.used, &set.Spec.Used, &usual.Used}, {"mic", g.mic, &set.Spec.Mic, &usual.Mic},
	} {
		if !said(f.name) {
			continue
		}
		if set.Spec == (shim.Gauge{}) {
			set.Spec = usual
		}
		*f.to = *f.usual
		if f.text == "" {
			continue
		}
		text, u := shim.CutUnit(strings.ReplaceAll(f.text, ",", "."), shim.MM)
		l, err := u.Parse(text)
		if err != nil {
			return wrong("write it in mm, like 0.01, or with its unit, like .001in", "--%s: %s", f.name, err)
		}
		*f.to = l
	}
	if said("step") && set.Spec.Step == 0 {
		return wrong("the distance between neighbouring leaves", "--step: no set has leaves 0 apart")
	}
	if set.Spec == usual {
		set.Spec = shim.Gauge{} // it says nothing: the engine file's figures count
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
	if err := o.onto(cmd, &set); err != nil {
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
		return fmt.Sprintf("; OUT OF DATE since %s", dateOr(g.Due))
	}
	return fmt.Sprintf("; to be calibrated by %s", dateOr(g.Due))
}

func newGaugeEdit(a *app) *cobra.Command {
	o := &gaugeFlags{}
	cmd := &cobra.Command{
		Use:   "edit NAME",
		Short: "Change what is known of a gauge set, as after a calibration",
		Long: `edit changes what is said; the rest stays. An empty text empties a field; an empty
figure is the usual one again. Checks keep what was known of the set when they
were made.`,
		Example:           `  shimwright gauge edit "set 2" --calibrated 2027-01-20 --due 2028-01-20`,
		Args:              exactly(1, "a gauge set"),
		ValidArgsFunction: a.completeGauges,
		RunE:              func(cmd *cobra.Command, args []string) error { return runGaugeEdit(cmd, a, o, args) },
	}
	o.add(cmd)
	return cmd
}

func runGaugeEdit(cmd *cobra.Command, a *app, o *gaugeFlags, args []string) error {
	if !slices.ContainsFunc(gaugeFlagNames, cmd.Flags().Changed) {
		return wrong("give --due or another flag", "nothing to change")
	}
	return a.withBooking(cmd, func(ctx context.Context, shop *inventory.Shop) error {
		set, err := gaugeNamed(ctx, shop, args[0])
		if err != nil {
			return err
		}
		if err := o.onto(cmd, &set); err != nil {
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

// dateOr is a date that is kept as one, nothing where it is not known.
func dateOr(t time.Time) string {
	if t.IsZero() {
		return ""
	}
	return t.Format(time.DateOnly)
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
		t.Rows = append(t.Rows, []string{fmt.Sprint(g.ID), g.Name, g.Number, gaugeState(g, l.now), dateOr(g.Calibrated), dateOr(g.Due), step, g.Note})
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
	return gaugeLine{g.ID, g.Name, g.Number, strings.ToLower(gaugeState(g, l.now)), dateOr(g.Calibrated), dateOr(g.Due), g.Spec.Step, g.Spec.Leaf, g.Spec.Stamp, g.Spec.Used, g.Spec.Mic, g.Note}
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
	cmd.Flags().BoolVar(yes, "yes", false, "do not ask: take a shim that is not the one on record, and a gauge set whose calibration is out of date")
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
	return set, a.confirm([]doubtful{{fmt.Sprintf("gauge set %s was to be calibrated by %s", set.Name, dateOr(set.Due)), "use another one, or book its calibration: shimwright gauge edit"}}, yes)
}

// gaugesUsed lists the sets that a job was measured with, one that was out of date
// then as a caution.
func gaugesUsed(f inventory.File) (lines []string) { return gaugesOf(f.Checks) }

// outOfDate are the cautions of gaugesUsed alone.
func outOfDate(f inventory.File) string {
	return strings.Join(slices.DeleteFunc(gaugesUsed(f), func(line string) bool { return !strings.HasPrefix(line, "CAUTION") }), " ")
}

// gaugesOf is [gaugesUsed] of checks.
func gaugesOf(checks []inventory.Check) (lines []string) {
	for _, c := range checks {
		if c.Gauge.ID == 0 {
			continue
		}
		line := fmt.Sprintf("Measured with gauge set %s.", gaugeText(c.Gauge))
		if c.Gauge.OutOfDate(c.Time) {
			line = fmt.Sprintf("CAUTION: measured with gauge set %s, which was to be calibrated by %s.", gaugeText(c.Gauge), dateOr(c.Gauge.Due))
		}
		if !slices.Contains(lines, line) {
			lines = append(lines, line)
		}
	}
	return lines
}

// gaugeText is a set's name with its number.
func gaugeText(g inventory.Gauge) string {
	if g.Number == "" {
		return g.Name
	}
	return g.Name + " (" + g.Number + ")"
}

// gaugeToUse is what a measuring sheet says of the set to use.
func gaugeToUse(g inventory.Gauge, now time.Time) string {
	switch {
	case g.ID == 0:
		return ""
	case g.OutOfDate(now):
		return fmt.Sprintf("CAUTION: gauge set %s was to be calibrated by %s.", gaugeText(g), dateOr(g.Due))
	}
	return fmt.Sprintf("Gauge set: %s.", gaugeText(g))
}
