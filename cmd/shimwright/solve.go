package main

import (
	"strings"

	"github.com/spf13/cobra"

	"shimwright/inventory/work"
	"shimwright/shim"
	"shimwright/shim/files"
	"shimwright/shim/plan"
)

type solveOptions struct {
	warmth *warmth
	*planOptions
	engines []string
	box     string
	last    string
	share   bool
}

func newSolve(a *app) *cobra.Command {
	o := &solveOptions{}
	cmd := &cobra.Command{
		Use:   "solve ENGINE.toml CHECK.csv",
		Short: "Plan which shim goes where",
		Long: `solve reads a check (measured clearances and installed shims), the shop's box and
a catalogue, and prints the best plan: what to do at each valve, a fitting list, a
shopping list, what to take from the box and what is left over.

The plan is exact: under the chosen policy no other assignment of these shims is
better. docs/plan.md explains how it is found. Use - for standard input. Lengths
are in the units of the engine file. Give several engine files one after another
before the check, or each with --engine.

Before teardown, give a check without shims: solve says which camshafts must come
out and how much thinner or thicker each shim must be. With the last record
(--last) it plans on the shims recorded there, so you can order parts before the
cover is off. Such a plan is marked provisional.

For a fresh build (--build) the shims in the check are set-up shims of the bench
set; leave a shim empty, or write 0, if you measured without one. Every valve
gets a shim from the box or the catalogue, and the engine file's allowance counts.`,
		Example: `  shimwright solve engine.toml check.csv --box box.csv
  shimwright solve engine.toml check.csv --lift all --policy target
  shimwright solve engine.toml - --no-buy --output json < check.csv
  shimwright solve engine.toml clearances.csv --last last.csv
  shimwright solve engine.toml sums.csv --build --box box.csv`,
		Args: func(cmd *cobra.Command, args []string) error {
			if cmd.Flags().Changed("engine") {
				return exactly(1, "one check file")(cmd, args)
			}
			return atLeast(1, "an engine file and a check file")(cmd, args)
		},
		RunE: func(cmd *cobra.Command, args []string) error { return runSolve(cmd, a, o, args) },
		ValidArgsFunction: func(cmd *cobra.Command, args []string, _ string) ([]string, cobra.ShellCompDirective) {
			endings := []string{"csv"}
			if !cmd.Flags().Changed("engine") && len(args) == 0 {
				endings = []string{"toml"}
			}
			return endings, cobra.ShellCompDirectiveFilterFileExt
		},
	}
	flags := cmd.Flags()
	flags.StringArrayVarP(&o.engines, "engine", "e", nil, "engine `FILE` (TOML); repeat for each engine in the check")
	completesFlag(cmd, "engine", completeTOML)
	flags.StringVarP(&o.box, "box", "b", "", "box `FILE` (CSV: size,count); none means an empty box")
	completesFlag(cmd, "box", completeCSV)
	flags.BoolVar(&o.share, "share-pulled", false, "let a shim pulled from one engine go into another")
	flags.StringVar(&o.last, "last", "", "last record `FILE` (CSV, a check): its shims stand in for those not seen yet; its stacks show what moved")
	completesFlag(cmd, "last", completeCSV)
	o.warmth = addWarmth(cmd)
	o.planOptions = addPlanFlags(cmd)
	flags.BoolVar(&o.build, "build", false, "a fresh build: what is in are set-up shims, or none; the policy is target unless you say otherwise")
	completesFlag(cmd, "lift", completeLift(enginesOf))
	return cmd
}

func runSolve(cmd *cobra.Command, a *app, o *solveOptions, args []string) error {
	last := len(args) - 1
	o.engines = append(o.engines, args[:last]...)
	check := args[last]
	if o.build {
		if o.last != "" {
			return wrong("leave one of them out", "--build and --last cannot be used together: after head work no earlier shim counts")
		}
		if err := o.fresh(cmd); err != nil {
			return err
		}
	}
	q, err := o.gather(a, check)
	if err != nil {
		return err
	}
	p, err := o.plan(cmd.Context(), a, q, "see --lift, --box and --catalogue in shimwright solve --help")
	if err != nil {
		return err
	}
	return ends(p.Settled(), p.print(a, o.output.value))
}

// gather reads every file the flags name, so that all faults are reported
// together.
func (o *solveOptions) gather(a *app, check string) (*plan.Request, error) {
	if len(o.engines) == 0 {
		return nil, wrong("give the engine file before the check: solve ENGINE.toml CHECK.csv", "no engine file given")
	}
	lift, err := o.check(a)
	if err != nil {
		return nil, err
	}
	engines := make([]*shim.Engine, len(o.engines))
	for i, name := range o.engines {
		if engines[i], err = a.readEngine(name); err != nil {
			return nil, err
		}
		for _, other := range engines[:i] {
			if strings.EqualFold(other.Name, engines[i].Name) {
				return nil, wrong("give each engine file once; a check tells engines apart by name", "engine %q is given twice", other.Name)
			}
		}
	}
	units := engines[0].Units
	q, err := o.request(units.Clearance)
	if err != nil {
		return nil, err
	}
	var faults faultList
	q.Gauge, err = o.readGauge(a)
	if err := faults.collect(err); err != nil {
		return nil, err
	}
	var last lastRecord
	if o.last != "" {
		last, err = a.readLast(o.last, engines)
		if err := faults.collect(err); err != nil {
			return nil, err
		}
	}
	// Without a last record a check has all its shims, or none before teardown.
	state, at, err := o.warmth.read()
	if err != nil {
		return nil, err
	}
	checks, err := a.readCheck(check, engines, files.CheckOptions{AllOrNoShims: o.last == "" && !o.build, AllowNoShims: o.last != "", Build: o.build, Gauge: q.Gauge, State: state, Temperature: at, Known: last.size})
	if err := faults.collect(err); err != nil {
		return nil, err
	}
	marks := files.Marks{Book: shim.NewMarkBook(engines)}
	if o.box != "" {
		q.Box, err = a.readBox(o.box, units.Size, marks)
		if err := faults.collect(err); err != nil {
			return nil, err
		}
	}
	q.Offers, err = o.offers(a, units.Size, marks)
	if err := faults.collect(err); err != nil {
		return nil, err
	}
	if len(faults.Faults) > 0 {
		return nil, faults.Faults
	}
	a.strangersIn(o.box, o.catalogue, q, engines)
	a.suspect(check, checks, last, o.build)
	q.SharePulled = o.share
	for i := range checks {
		c := &checks[i]
		provisional := work.Recall(c.Measurements, last.of(c)) && !o.build
		q.Jobs = append(q.Jobs, plan.JobRequest{Name: c.Job, Engine: c.Of, Check: c.Measurements, Lift: lift, Provisional: provisional, Build: o.build})
	}
	return q, nil
}
