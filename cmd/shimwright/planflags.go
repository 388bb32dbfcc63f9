package main

import (
	"context"
	"errors"
	"io"
	"slices"
	"strconv"
	"strings"

	"github.com/spf13/cobra"

	"shimwright/inventory"
	"shimwright/inventory/work"
	"shimwright/shim"
	"shimwright/shim/files"
	"shimwright/shim/paper"
	"shimwright/shim/plan"
	"shimwright/shim/plan/planjson"
	"shimwright/shim/report"
)

// planOptions are the flags that say how to plan.
type planOptions struct {
	catalogue string
	noBuy     bool
	lift      string
	margin    string
	sure      string
	gauge     string
	buy       int
	trade     bool
	verify    bool
	doubt     bool
	build     bool // a fresh build
	policy    *choice
	units     *display
	output    *choice
}

// addPlanFlags adds the flags of planning to a command.
func addPlanFlags(cmd *cobra.Command) *planOptions {
	o := &planOptions{}
	flags := cmd.Flags()
	flags.StringVarP(&o.catalogue, "catalogue", "c", "", "catalogue `FILE` (CSV: size,price) instead of the engine's")
	completesFlag(cmd, "catalogue", completeCSV)
	flags.BoolVar(&o.noBuy, "no-buy", false, "plan without buying")
	flags.StringVarP(&o.lift, "lift", "l", "needed", "`WHAT` to open: needed, all, or names like intake,exhaust-2 (camshafts) or in1a,ex2b (valves)")
	flags.StringVar(&o.margin, "margin", "", "a clearance within this `LENGTH` of a limit counts as near, in the engine's units (default 0.010 mm)")
	flags.StringVar(&o.sure, "confidence", "", "instead of --margin: a clearance less `PROBABILITY` likely to be inside counts as near, like 0.95 or 95%")
	flags.StringVar(&o.gauge, "gauge", "", "gauge `FILE` (TOML) for the shop's gauges, instead of the engine's")
	completesFlag(cmd, "gauge", completeTOML)
	flags.BoolVar(&o.trade, "tradeoff", false, "show what each further purchase would gain")
	flags.IntVar(&o.buy, "buy", -1, "buy at most `N` shims, as in a row of --tradeoff; largest distance to the limits first")
	flags.BoolVar(&o.verify, "verify", false, "verify the proof that no other plan is better")
	flags.BoolVar(&o.doubt, "doubt", false, "show the uncertainty beside each chance")
	o.policy = addChoice(cmd, "policy", "what to optimize first", plan.Policies...)
	o.units = addDisplay(cmd)
	o.output = addChoice(cmd, "output", "output format", "table", "json", "csv", "markdown", "html")
	return o
}

// check validates the flags before any file is read, and returns the lift.
func (o *planOptions) check(a *app) (shim.Lift, error) {
	if o.output.value == "html" {
		if err := a.toScreen("… --output html > card.html"); err != nil {
			return shim.Lift{}, err
		}
	}
	if o.sure != "" && o.margin != "" {
		return shim.Lift{}, wrong("leave one of them out", "--confidence and --margin cannot be used together")
	}
	if o.buy < -1 || o.buy > 1_000_000 {
		return shim.Lift{}, wrong("--tradeoff lists the numbers to choose from", "--buy %d is not a plausible number", o.buy)
	}
	if o.buy >= 0 && o.noBuy {
		return shim.Lift{}, wrong("leave one of them out", "--buy and --no-buy cannot be used together")
	}
	lift, err := shim.ParseLift(o.lift)
	if err != nil {
		return shim.Lift{}, wrong("", "%w", err)
	}
	return lift, nil
}

// fresh checks what goes with a fresh build, whose policy is another by default.
func (o *planOptions) fresh(cmd *cobra.Command) error {
	if cmd.Flags().Changed("lift") {
		return wrong("leave --lift out", "--lift cannot be used in a fresh build, which opens everything")
	}
	if !cmd.Flags().Changed("policy") {
		o.policy.value = plan.Target.String()
	}
	return nil
}

// request starts a request from the flags, lengths in the unit.
func (o *planOptions) request(u shim.Unit) (*plan.Request, error) {
	q := &plan.Request{NoBuy: o.noBuy, Verify: o.verify, Margin: plan.DefaultMargin}
	var err error
	if q.Policy, err = plan.ParsePolicy(o.policy.value); err != nil {
		return nil, wrong("", "%w", err)
	}
	if o.margin != "" {
		if q.Margin, err = u.ParseTyped(pointed(o.margin)); err != nil || q.Margin < 0 || q.Margin > shim.MaxClearance {
			return nil, wrong("give a length in "+u.String()+", like "+u.Example("0.010", ".0004"), "--margin: %q is not a plausible margin", o.margin)
		}
	}
	if o.sure != "" {
		if q.Confidence, err = parseProbability(o.sure); err != nil {
			return nil, wrong("", "%w", err)
		}
	}
	return q, nil
}

// pointed replaces a decimal comma by a point.
func pointed(figure string) string {
	if strings.Contains(figure, ".") {
		return figure
	}
	return strings.Replace(figure, ",", ".", 1)
}

// trades returns the trade-off, nil if not asked for.
func (o *planOptions) trades(ctx context.Context, q *plan.Request) ([]plan.Trade, error) {
	if !o.trade {
		return nil, nil
	}
	trades, err := plan.TradeOff(ctx, *q)
	if trades == nil {
		trades = []plan.Trade{}
	}
	return trades, err
}

// readGauge reads the gauge that the flags name; nil means the engine's.
func (o *planOptions) readGauge(a *app) (*shim.Gauge, error) { return a.readGauge(o.gauge) }

// parseProbability reads a probability such as 0.95 or 95%, from 0.5 to 0.9999:
// less is no demand, and no feeler gauge can give more.
func parseProbability(text string) (float64, error) {
	number, percent := strings.CutSuffix(strings.TrimSpace(text), "%")
	p, err := strconv.ParseFloat(pointed(strings.TrimSpace(number)), 64)
	if percent {
		p /= 100
	}
	if err != nil || !(p >= 0.5 && p <= 0.9999) {
		return 0, shim.Fail(nil, "give a probability from 0.5 to 0.9999, like 0.95 or 95%", "--confidence: %q is not a usable probability", text)
	}
	return p, nil
}

// offers reads the catalogue that the flags name; nil means the engine's.
func (o *planOptions) offers(a *app, u shim.Unit, marks files.Marks) ([]shim.Offer, error) {
	if o.catalogue == "" {
		return nil, nil
	}
	offers, err := a.readCatalogue(o.catalogue, u, marks)
	if err == nil && offers == nil {
		offers = []shim.Offer{} // an empty list is not the engine's own
	}
	return offers, err
}

// strangers warns of families in a box or a catalogue that none of the engines has,
// whose shims serve no valve, and of an engine's that a catalogue lacks.
func (a *app) strangers(file string, families []shim.Family, engines []*shim.Engine, catalogue bool) {
	var own, there []string
	for _, e := range engines {
		for _, f := range e.Families() {
			own = append(own, f.Kind)
		}
	}
	for _, f := range families {
		there = append(there, f.Kind)
	}
	var warnings []files.Fault
	warn := func(kind, message, hint string) {
		warnings = append(warnings, files.Fault{File: file, Subject: "family " + strconv.Quote(kind), Hinted: shim.Hinted{Message: message, Hint: hint}})
	}
	for _, kind := range distinct(there) {
		if kind != "" && !slices.Contains(own, kind) {
			warn(kind, "no engine here takes such shims: they are left out", "the engines take "+kindWords(distinct(own)))
		}
	}
	for _, kind := range distinct(own) {
		if catalogue && len(there) > 0 && kind != "" && !slices.Contains(there, kind) {
			warn(kind, "the catalogue has none of them: none can be bought", "write "+kind+" in a column family, in the rows of its shims")
		}
	}
	a.warn(warnings)
}

// strangersIn warns of such families in the files of a request.
func (a *app) strangersIn(box, catalogue string, q *plan.Request, engines []*shim.Engine) {
	var families []shim.Family
	for _, row := range q.Box {
		families = append(families, row.Family)
	}
	a.strangers(box, families, engines, false)
	families = nil
	for _, offer := range q.Offers {
		families = append(families, offer.Family)
	}
	a.strangers(catalogue, families, engines, true)
}

// distinct are the names in order, each once.
func distinct(names []string) []string {
	names = slices.Clone(names)
	slices.Sort(names)
	return slices.Compact(names)
}

// kindWords lists the names of families.
func kindWords(kinds []string) string {
	var words []string
	for _, k := range kinds {
		if k == "" {
			k = "plain discs"
		}
		words = append(words, k)
	}
	return strings.Join(words, ", ")
}

// makePlan plans. A request that cannot be planned is wrong usage, with a hint.
func (o *planOptions) makePlan(ctx context.Context, q *plan.Request, way string) (p *plan.Plan, err error) {
	if o.buy >= 0 {
		p, err = plan.Buying(ctx, *q, o.buy)
	} else {
		p, err = plan.Make(ctx, *q)
	}
	if errors.Is(err, plan.ErrRequest) {
		return nil, wrong(liftHint(q, way), "%w", err)
	}
	return p, err
}

// A faultList gathers the faults of several files.
type faultList struct{ files.Faults }

// collect takes the faults out of an error and returns any other error.
func (l *faultList) collect(err error) error {
	var more files.Faults
	if errors.As(err, &more) {
		l.Faults = append(l.Faults, more...)
		return nil
	}
	return err
}

// An outcome is a plan with the extras that were asked for.
type outcome struct {
	*plan.Plan
	trades []plan.Trade     // nil if not asked for
	more   []report.Section // for people alone
	infos  []paper.Info     // of the jobs, for the job cards
	report.Options
}

// plan plans the request and the extras. It shows its progress, and Ctrl-C ends it
// before anything is saved or printed.
func (o *planOptions) plan(ctx context.Context, a *app, q *plan.Request, way string) (*outcome, error) {
	ctx, done := interruptible(ctx)
	wipe := a.progress(q)
	p, err := o.outcome(ctx, q, way)
	wipe()
	if interrupted := done(); interrupted != nil {
		return nil, interrupted
	}
	if err != nil {
		return nil, err
	}
	if o.verify {
		io.WriteString(a.err, "verified: the solver's prices prove that no other assignment is better by any criterion\n")
	}
	return p, nil
}

// outcome plans, and plans again for the extras.
func (o *planOptions) outcome(ctx context.Context, q *plan.Request, way string) (*outcome, error) {
	made, err := o.makePlan(ctx, q, way)
	if err != nil {
		return nil, err
	}
	made.ShowIn(o.units.of(o.output))
	if made.Next, err = plan.MeasureNext(ctx, *q, made); err != nil {
		return nil, err
	}
	p := &outcome{Plan: made, Options: report.Options{Doubt: o.doubt, Bin: binsOf(q.Box, made)}}
	if p.trades, err = o.trades(ctx, q); err != nil {
		return nil, err
	}
	p.more, err = asides(ctx, q, made, o.output.value)
	return p, err
}

// mostAsked is the number of valves up to which alternatives are shown: each takes
// another plan. mostApart limits planning the jobs one after another, which goes
// through the box once for each.
const (
	mostAsked = 400
	mostApart = 2_000_000
)

// asides returns what is shown beside the plan: the alternatives, and what planning
// several jobs together saves.
func asides(ctx context.Context, q *plan.Request, p *plan.Plan, form string) (more []report.Section, err error) {
	valves := 0
	for i := range p.Jobs {
		valves += len(p.Jobs[i].Valves)
	}
	if form != "table" && form != "markdown" || p.Buy != nil {
		return nil, nil
	}
	if len(q.Jobs) > 1 && len(q.Jobs)*(len(q.Box)+1) <= mostApart {
		alone, err := plan.OneAfterAnother(ctx, *q)
		if err != nil {
			return nil, err
		}
		more = append(more, report.Together(p, alone))
	}
	if valves > mostAsked {
		return more, nil
	}
	found, err := plan.WhatIfs(ctx, *q, p)
	if err != nil {
		return nil, err
	}
	if len(found) > 0 {
		more = append(more, report.WhatIfs(p, found))
	}
	return more, nil
}

// print writes the plan to standard output in the given format.
func (p *outcome) print(a *app, form string) error {
	return a.write(func(w io.Writer) error {
		switch form {
		case "json":
			return planjson.Encode(visibleJSON{w}, p.Plan, p.trades...)
		case "csv":
			return report.CSV(w, p.Plan)
		case "html":
			return paper.Card(w, p.Plan, p.infos...)
		}
		d := p.document()
		if form == "markdown" {
			return d.Markdown(w)
		}
		return d.Narrow(a.width).Text(w, a.color)
	})
}

// document returns the plan for people.
func (p *outcome) document() *report.Document {
	var more []report.Section
	if p.trades != nil {
		more = append(more, report.TradeOff(p.Plan, p.trades))
	}
	return report.Plan(p.Plan, p.Options, append(more, p.more...)...)
}

// binsOf says in which bins of the box the shim of a valve lies.
func binsOf(box []shim.BoxRow, p *plan.Plan) func(job int, v *plan.ValvePlan) string {
	bins := map[shim.Disc][]string{}
	for _, row := range box {
		disc := row.Of(row.Size())
		if row.Bin != "" && row.Count > 0 && !slices.Contains(bins[disc], row.Bin) {
			bins[disc] = append(bins[disc], row.Bin)
		}
	}
	return func(job int, v *plan.ValvePlan) string {
		family := p.Jobs[job].Engine.FamilyOf(v.Valve)
		every := bins[shim.Family{Kind: family.Kind}.Of(v.Size)] // rows without a diameter fit every engine
		return strings.Join(append(slices.Clip(every), bins[family.Of(v.Size)]...), "/")
	}
}

// picked says in which bins the pieces lie that the jobs' plans have reserved.
func (p *outcome) picked(jobs ...inventory.File) {
	p.Bin = func(job int, v *plan.ValvePlan) string {
		if job >= len(jobs) {
			return ""
		}
		piece, _ := work.PieceOf(jobs[job], v.Valve)
		return piece.Bin
	}
}
