package main

import (
	"errors"
	"io"

	"github.com/spf13/cobra"

	"shimwright/shim"
	"shimwright/shim/files"
	"shimwright/shim/paper"
	"shimwright/shim/plan"
	"shimwright/shim/report"
)

type solveOptions struct {
	*planOptions
	engines []string
	box     string
	last    string
	share   bool
	verify  bool
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
	flags.BoolVar(&o.share, "share-pulled", false, "let a shim pulled from one engine go into another")
	flags.BoolVar(&o.verify, "verify", false, "check the proof that no other plan is better, and say so")
	flags.StringVar(&o.last, "last", "", "last record `FILE` (CSV, a check): its shims stand in for those not seen yet, and its stacks show what moved")
	o.planOptions = addPlanFlags(cmd)
	completesFlag(cmd, "lift", completeLift(enginesOf))
	return cmd
}

func runSolve(b *bench, o *solveOptions, check string) error {
	q, err := o.gather(b, check)
	if err != nil {
		return err
	}
	q.Verify = o.verify
	stop := b.watch(q)
	defer stop()
	p, err := makePlan(q, "see --lift, --box and --catalogue in shimwright solve --help")
	if err != nil {
		return err
	}
	trades, err := o.trades(q)
	if err != nil {
		return err
	}
	more, err := asides(q, p, o.output.value)
	if err != nil {
		return err
	}
	stop()
	if o.verify {
		io.WriteString(b.err, "verified: the solver's prices prove that no other assignment is better, in any criterion\n")
	}
	if err := printPlan(b, p, o.output.value, trades, more...); err != nil {
		return err
	}
	if !p.Served() {
		return errOutside
	}
	return nil
}

// gather reads all that the flags name. Every file is read, so that the
// faults of all are told together.
func (o *solveOptions) gather(b *bench, check string) (*plan.Request, error) {
	if len(o.engines) == 0 {
		return nil, hint(usage(errors.New("no engine is given")), "name its file: --engine ENGINE.toml")
	}
	lift, err := o.check()
	if err != nil {
		return nil, err
	}
	engines := make([]*shim.Engine, len(o.engines))
	for i, name := range o.engines {
		if engines[i], err = b.readEngine(name); err != nil {
			return nil, err
		}
	}
	units := engines[0].Units
	q, err := o.request(units)
	if err != nil {
		return nil, err
	}
	var faults faultList
	// Without a last record, a check has all its shims or, before teardown, none.
	checks, err := b.readCheck(check, engines, files.CheckOptions{AllOrNoShims: o.last == "", AllowNoShims: o.last != ""})
	if err := faults.collect(err); err != nil {
		return nil, err
	}
	if o.box != "" {
		q.Box, err = b.readBox(o.box, units)
		if err := faults.collect(err); err != nil {
			return nil, err
		}
	}
	q.Gauge, err = o.readGauge(b)
	if err := faults.collect(err); err != nil {
		return nil, err
	}
	q.Offers, err = o.offers(b, units)
	if err := faults.collect(err); err != nil {
		return nil, err
	}
	var last lastRecord
	if o.last != "" {
		last, err = b.readLast(o.last, engines)
		if err := faults.collect(err); err != nil {
			return nil, err
		}
	}
	if len(faults.Faults) > 0 {
		return nil, faults.Faults
	}
	b.suspect(check, checks, last)
	q.SharePulled = o.share
	for i := range checks {
		c := &checks[i]
		q.Jobs = append(q.Jobs, plan.Job{Name: c.Job, Engine: c.Of, Check: c.Measurements, Lift: lift, Provisional: recall(c.Measurements, last.of(c))})
	}
	return q, nil
}

// mostAsked bounds the valves up to which solve asks what else could be done:
// it plans once more for each answer.
const mostAsked = 400

// asides are what people are told beside the plan: what else could have been
// done, and what planning several jobs together saves.
func asides(q *plan.Request, p *plan.Plan, form string) (more []report.Section, err error) {
	valves := 0
	for i := range p.Jobs {
		valves += len(p.Jobs[i].Valves)
	}
	if form != "table" && form != "markdown" || valves > mostAsked || q.Buy != nil {
		return nil, nil
	}
	if len(q.Jobs) > 1 {
		alone, err := plan.OneAfterAnother(*q)
		if err != nil {
			return nil, err
		}
		more = append(more, report.Together(p, alone))
	}
	found, err := plan.WhatIfs(*q, p)
	if err != nil {
		return nil, err
	}
	if len(found) > 0 {
		more = append(more, report.WhatIfs(p, found))
	}
	return more, nil
}

// printPlan writes the plan to standard output in the given form, with more
// sections for people.
func printPlan(b *bench, p *plan.Plan, form string, trades []plan.Trade, more ...report.Section) error {
	if trades != nil {
		more = append([]report.Section{report.TradeOff(p, trades)}, more...)
	}
	return b.write(func(w io.Writer) error {
		switch form {
		case "json":
			return report.JSON(w, p, trades...)
		case "csv":
			return report.CSV(w, p)
		case "markdown":
			return report.Plan(p, more...).Markdown(w)
		case "html":
			return paper.Card(w, p)
		}
		return report.Plan(p, more...).Text(w, b.color)
	})
}
