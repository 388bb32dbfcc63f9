package main

import (
	"errors"
	"fmt"
	"io"

	"github.com/spf13/cobra"

	"shimwright/shim"
	"shimwright/shim/files"
	"shimwright/shim/plan"
	"shimwright/shim/report"
)

type solveOptions struct {
	engines   []string
	box       string
	catalogue string
	last      string
	noBuy     bool
	lift      string
	margin    string
	policy    *choice
	output    *choice
}

func newSolve(b *bench) *cobra.Command {
	o := &solveOptions{}
	cmd := &cobra.Command{
		Use:   "solve --engine ENGINE.toml CHECK.csv",
		Short: "Plan which shim goes where, from files",
		Long: `solve reads a check (the measured clearances and the installed shims), the
shop's box and a catalogue, and prints the best plan: per valve what to do, a
fitting list, a shopping list, what the box gives and what is left over.

The plan is exact: no other assignment of the same shims is better in the
order of the policy. docs/plan.md says how it is found. Any file may be - for
standard input. Lengths are in the engine's units.

Before teardown, give a check without shims: solve says which camshafts must
come out and how much thinner or thicker each shim must be. With the last
record (--last) it plans on the shims of that record, so that parts can be
ordered before the cover is off. Such a plan is marked provisional.`,
		Example: `  shimwright solve --engine engine.toml --box box.csv check.csv
  shimwright solve --engine engine.toml --lift all --policy target check.csv
  shimwright solve --engine engine.toml --no-buy --output json - < check.csv
  shimwright solve --engine engine.toml --last last.csv clearances.csv`,
		Args: exactly(1, "one check file"),
		RunE: func(cmd *cobra.Command, args []string) error { return runSolve(b, o, args[0]) },
	}
	flags := cmd.Flags()
	flags.StringArrayVarP(&o.engines, "engine", "e", nil, "engine `FILE` (TOML); give it once for each engine of the check")
	flags.StringVarP(&o.box, "box", "b", "", "box `FILE` (CSV: size,count); without it the box is empty")
	flags.StringVarP(&o.catalogue, "catalogue", "c", "", "catalogue `FILE` (CSV: size,price) in place of the engine's catalogue")
	flags.StringVar(&o.last, "last", "", "last record `FILE` (a check): its shims stand in for those not seen yet, and its stacks show what moved")
	flags.BoolVar(&o.noBuy, "no-buy", false, "plan without buying")
	flags.StringVarP(&o.lift, "lift", "l", "needed", "what to open, `WHAT` being needed, all, or names like intake,exhaust-2 (camshafts) or in1a,ex2b (valves)")
	flags.StringVar(&o.margin, "margin", "", "a clearance closer to a limit than this `LENGTH` is near, in the engine's units (default 0.010 mm)")
	o.policy = addChoice(cmd, "policy", "what comes first", plan.Policies...)
	o.output = addChoice(cmd, "output", "form of the output", "table", "json", "csv", "markdown")
	return cmd
}

func runSolve(b *bench, o *solveOptions, check string) error {
	q, err := o.request(b, check)
	if err != nil {
		return err
	}
	p, err := plan.Make(*q)
	if err != nil {
		if errors.Is(err, plan.ErrRequest) {
			return hint(usage(err), "see --lift, --box and --catalogue in shimwright solve --help")
		}
		return err
	}
	if err := printPlan(b, p, o.output.value); err != nil {
		return err
	}
	if !p.Served() {
		return errOutside
	}
	return nil
}

// request reads all that the flags name. Every file is read, so that the
// faults of all are told together.
func (o *solveOptions) request(b *bench, check string) (*plan.Request, error) {
	if len(o.engines) == 0 {
		return nil, hint(usage(errors.New("no engine is given")), "name its file: --engine ENGINE.toml")
	}
	if o.noBuy && o.catalogue != "" {
		return nil, hint(usage(errors.New("--no-buy and --catalogue do not go together")), "leave one of them out")
	}
	lift, err := shim.ParseLift(o.lift)
	if err != nil {
		return nil, usage(err)
	}
	q := &plan.Request{NoBuy: o.noBuy, Margin: plan.DefaultMargin}
	if q.Policy, err = plan.ParsePolicy(o.policy.value); err != nil {
		return nil, usage(err)
	}
	engines := make([]*shim.Engine, len(o.engines))
	for i, name := range o.engines {
		if engines[i], err = b.readEngine(name); err != nil {
			return nil, err
		}
	}
	units := engines[0].Units
	if o.margin != "" {
		if q.Margin, err = units.Parse(o.margin); err != nil || q.Margin < 0 || q.Margin > shim.MaxClearance {
			return nil, hint(usage(fmt.Errorf("a margin of %q cannot be", o.margin)), "a length in "+units.String()+" such as "+units.Format(plan.DefaultMargin))
		}
	}
	var faults files.Faults
	collect := func(err error) error {
		var more files.Faults
		if errors.As(err, &more) {
			faults = append(faults, more...)
			return nil
		}
		return err
	}
	// Without a last record, a check has all its shims or, before teardown, none.
	checks, err := b.readCheck(check, engines, files.CheckOptions{AllOrNoShims: o.last == "", AllowNoShims: o.last != ""})
	if err := collect(err); err != nil {
		return nil, err
	}
	if o.box != "" {
		q.Box, err = b.readBox(o.box, units)
		if err := collect(err); err != nil {
			return nil, err
		}
	}
	if o.catalogue != "" {
		q.Offers, err = b.readCatalogue(o.catalogue, units)
		if err := collect(err); err != nil {
			return nil, err
		}
	}
	var last lastRecord
	if o.last != "" {
		last, err = b.readLast(o.last, engines)
		if err := collect(err); err != nil {
			return nil, err
		}
	}
	if len(faults) > 0 {
		return nil, faults
	}
	b.suspect(check, checks, last)
	if o.catalogue != "" && q.Offers == nil {
		q.Offers = []shim.Offer{} // an empty list is not the engine's own
	}
	for i := range checks {
		c := &checks[i]
		q.Jobs = append(q.Jobs, plan.Job{Name: c.Job, Engine: c.Of, Check: c.Measurements, Lift: lift, Provisional: recall(c.Measurements, last.of(c))})
	}
	return q, nil
}

// printPlan writes the plan to standard output in the given form.
func printPlan(b *bench, p *plan.Plan, form string) error {
	return b.write(func(w io.Writer) error {
		switch form {
		case "json":
			return report.JSON(w, p)
		case "csv":
			return report.CSV(w, p)
		case "markdown":
			return report.Plan(p).Markdown(w)
		}
		return report.Plan(p).Text(w, b.color)
	})
}
