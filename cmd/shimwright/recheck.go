package main

import (
	"bytes"
	"errors"
	"fmt"
	"io"
	"slices"
	"strconv"
	"strings"

	"github.com/spf13/cobra"

	"shimwright/shim"
	"shimwright/shim/crank"
	"shimwright/shim/files"
	"shimwright/shim/plan"
	"shimwright/shim/plan/planjson"
	"shimwright/shim/recheck"
	"shimwright/shim/report"
)

type recheckOptions struct {
	engines []string
	gauge   string
	warmth  *warmth
	units   *display
	output  *choice
}

func newRecheck(a *app) *cobra.Command {
	o := &recheckOptions{}
	cmd := &cobra.Command{
		Use:   "recheck [ENGINE.toml] PLAN.json CHECK.csv",
		Short: "Compare readings after fitting with the plan",
		Long: `recheck compares the clearances measured after fitting with those the plan
expects. It says which valve is off by more than gauge and shims explain, the
likeliest cause (shims swapped, a wrong mark, a cam off its base circle, a valve
not seated, a gauge that is off), how sure that is, and what to check first. See
docs/recheck.md.

PLAN.json is the output of solve --output json. The check needs the columns valve
and clearance, and job and engine if the plan has several. The engine file gives
the crank positions, catalogue, ratio, units and gauge; without it lengths are in
mm and the gauge is the plan's. Give several engine files one after another before
the plan, or each with --engine.`,
		Example: `  shimwright solve engine.toml check.csv --output json > plan.json
  shimwright recheck engine.toml plan.json after.csv
  shimwright recheck plan.json after.csv --output markdown`,
		Args: func(cmd *cobra.Command, args []string) error {
			if cmd.Flags().Changed("engine") || len(args) < 2 {
				return exactly(2, "the plan and the check after fitting")(cmd, args)
			}
			return nil
		},
		RunE: func(cmd *cobra.Command, args []string) error { return runRecheck(cmd, a, o, args) },
		ValidArgsFunction: func(cmd *cobra.Command, args []string, _ string) ([]string, cobra.ShellCompDirective) {
			endings := []string{"json", "toml"}
			switch {
			case len(args) > 0 && strings.HasSuffix(args[len(args)-1], ".json"):
				endings = []string{"csv"}
			case cmd.Flags().Changed("engine"):
				endings = []string{"json"}
			}
			return endings, cobra.ShellCompDirectiveFilterFileExt
		},
	}
	flags := cmd.Flags()
	flags.StringArrayVarP(&o.engines, "engine", "e", nil, "engine `FILE` (TOML) of the plan; repeat for each engine")
	completesFlag(cmd, "engine", completeTOML)
	flags.StringVar(&o.gauge, "gauge", "", "gauge `FILE` (TOML) instead of the gauge in the engine file")
	completesFlag(cmd, "gauge", completeTOML)
	o.warmth = addWarmth(cmd)
	o.units = addDisplay(cmd)
	o.output = addChoice(cmd, "output", "form of the output", "table", "json", "csv", "markdown")
	return cmd
}

func runRecheck(_ *cobra.Command, a *app, o *recheckOptions, args []string) error {
	last := len(args) - 2
	o.engines = append(o.engines, args[:last]...)
	planned, check := args[last], args[last+1]
	p, err := o.plan(a, planned)
	if err != nil {
		return err
	}
	gauge, err := a.readGauge(o.gauge)
	if err != nil {
		return err
	}
	state, at, err := o.warmth.read()
	if err != nil {
		return err
	}
	checks, err := readInput(a, check, func(name string, r io.Reader) ([]files.Check, []files.Fault, error) {
		check = name // for messages
		return files.ReadCheck(name, r, modelsOf(p), files.CheckOptions{AllowUnmeasured: true, AllowNoShims: true, Gauge: gauge, State: state, Planned: p.Engines(), Temperature: at})
	})
	if err != nil {
		return err
	}
	c, err := compare(a, p, checks, gauge)
	if err != nil {
		return fmt.Errorf("%s: %w", check, err)
	}
	c.ShowIn(o.units.of(o.output))
	return ends(c.Well(), printComparison(a, c, o.output.value))
}

// plan reads the plan with the given engine files.
func (o *recheckOptions) plan(a *app, name string) (*plan.Plan, error) {
	name, r, err := a.open(name)
	if err != nil {
		return nil, err
	}
	defer r.Close()
	text, err := io.ReadAll(r)
	if err != nil {
		return nil, err
	}
	p, err := planjson.Decode(name, bytes.NewReader(text)) // before the engine files, in case the arguments are in the wrong order
	if err != nil {
		return nil, shim.Fail(nil, "give the output of shimwright solve --output json, then the check after fitting", "%w", err)
	}
	var engines []*shim.Engine
	for _, file := range o.engines {
		e, err := a.readEngine(file)
		if err != nil {
			return nil, err
		}
		engines = append(engines, e)
	}
	if len(engines) > 0 {
		p, err = planjson.Decode(name, bytes.NewReader(text), engines...)
	}
	var other *planjson.OtherEngineError
	if errors.As(err, &other) {
		err = shim.Fail(nil, "give the engine file the plan was made with", "%s: %w", o.engines[slices.Index(engines, other.Engine)], other)
	}
	if err != nil {
		return nil, err
	}
	return p, recheckable(name, p)
}

// recheckable refuses a plan without expected clearances.
func recheckable(name string, p *plan.Plan) error {
	for i := range p.Jobs {
		for k := range p.Jobs[i].Valves {
			if v := &p.Jobs[i].Valves[k]; v.Installed == 0 && !v.SetUp {
				return shim.Fail(nil, "plan again once you have seen the shims, and compare with that plan", "%s: %s: shim not known; a plan from clearances only has no expected clearance", name, v.Valve)
			}
		}
	}
	return nil
}

// modelsOf lists the plan's engines without duplicates.
func modelsOf(p *plan.Plan) []*shim.Engine {
	var list []*shim.Engine
	for i := range p.Jobs {
		named := func(e *shim.Engine) bool { return e.Name == p.Jobs[i].Engine.Name } // in whatever state
		if !slices.ContainsFunc(list, named) {
			list = append(list, p.Jobs[i].Engine)
		}
	}
	return list
}

// compare compares each check with its job in the plan.
func compare(a *app, p *plan.Plan, checks []files.Check, gauge *shim.Gauge) (*recheck.Comparison, error) {
	found := make([]*files.Check, len(p.Jobs))
	for i := range checks {
		at, err := jobOf(p, &checks[i])
		if err != nil {
			return nil, err
		}
		found[at] = &checks[i]
	}
	c := &recheck.Comparison{}
	for i := range p.Jobs {
		j := &p.Jobs[i]
		title := j.Engine.Name
		if j.Job != "" {
			title = "job " + strconv.Quote(j.Job) + " of " + title
		}
		if found[i] == nil {
			fmt.Fprintf(a.err, "warning: %s is in the plan but not in the check; not compared\n", title)
			continue
		}
		if j.Provisional {
			fmt.Fprintf(a.err, "warning: the plan of %s is provisional: its expected clearances assume the recorded shims\n", title)
		}
		m := recheck.Measuring{Gauge: gauge, Position: crank.Numbers(j.Engine)}
		if gauge == nil {
			m.Gauge = j.Engine.Gauge
		}
		c.Jobs = append(c.Jobs, recheck.Compare(p, i, found[i].Measurements, m))
	}
	return c, nil
}

// jobOf returns the index of the check's job in the plan. A check without a job
// name belongs to the only job of its engine.
func jobOf(p *plan.Plan, check *files.Check) (int, error) {
	place, jobs := -1, 0
	for i, j := range p.Jobs {
		if !sameModelAndState(j.Engine, check.Of) {
			continue
		}
		if j.Job == check.Job {
			return i, nil
		}
		place = i
		jobs++
	}
	if check.Job != "" {
		return 0, shim.Fail(nil, "write the job name as in the first check", "job %q of %s is not in the plan", check.Job, check.Engine)
	}
	if jobs > 1 {
		return 0, shim.Fail(nil, "add a column job", "the plan has %d jobs of %s and the check does not say which", jobs, check.Engine)
	}
	if place < 0 {
		return 0, shim.Fail(nil, "measure the engine as it was for the plan, or plan again", "the check is of a %s engine, the plan of %s is not", check.Of.State, check.Engine)
	}
	return place, nil
}

// sameModelAndState reports whether the same limits judge both engines of a plan.
func sameModelAndState(x, y *shim.Engine) bool { return x.Name == y.Name && x.State == y.State }

// printComparison writes the comparison to standard output in the given form.
func printComparison(a *app, c *recheck.Comparison, form string) error {
	return a.write(func(w io.Writer) error {
		switch form {
		case "json":
			return report.RecheckJSON(visibleJSON{w}, c)
		case "csv":
			return report.RecheckCSV(w, c)
		case "markdown":
			return report.Recheck(c).Markdown(w)
		}
		return report.Recheck(c).Narrow(a.width).Text(w, a.color)
	})
}
