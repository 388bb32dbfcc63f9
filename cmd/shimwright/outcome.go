package main

import (
	"context"
	"io"

	"shimwright/shim/paper"
	"shimwright/shim/plan"
	"shimwright/shim/plan/planjson"
	"shimwright/shim/report"
)

// An outcome is a plan with what was asked for beside it.
type outcome struct {
	*plan.Plan
	trades []plan.Trade     // nil where not asked for
	more   []report.Section // for people alone
	infos  []paper.Info     // of the jobs, for the job cards
}

// plan plans the request and all that the flags ask for beside the plan. It
// shows how far it is, and Ctrl-C ends it before anything is kept or printed.
func (o *planOptions) plan(ctx context.Context, b *bench, q *plan.Request, way string) (*outcome, error) {
	ctx, done := interruptible(ctx)
	wipe := b.progress(q)
	p, err := o.outcome(ctx, q, way)
	wipe()
	if interrupted := done(); interrupted != nil {
		return nil, interrupted
	}
	if err != nil {
		return nil, err
	}
	if o.verify {
		io.WriteString(b.err, "verified: the solver's prices prove that no other assignment is better, in any criterion\n")
	}
	return p, nil
}

// outcome plans, and plans again for what the flags ask for beside the plan.
func (o *planOptions) outcome(ctx context.Context, q *plan.Request, way string) (*outcome, error) {
	made, err := o.makePlan(ctx, q, way)
	if err != nil {
		return nil, err
	}
	if made.Next, err = plan.MeasureNext(ctx, *q, made); err != nil {
		return nil, err
	}
	p := &outcome{Plan: made}
	if p.trades, err = o.trades(ctx, q); err != nil {
		return nil, err
	}
	p.more, err = asides(ctx, q, made, o.output.value)
	return p, err
}

// mostAsked bounds the valves up to which people are told what else could be
// done: it takes a plan more for each answer. mostApart bounds what planning the
// jobs one after another goes through: the box, once for each.
const (
	mostAsked = 400
	mostApart = 2_000_000
)

// asides are what people are told beside the plan: what else could have been
// done, and what planning several jobs together saves.
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

// print writes the plan to standard output in the form.
func (p *outcome) print(b *bench, form string) error {
	return b.write(func(w io.Writer) error {
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
		return d.Narrow(b.width).Text(w, b.color)
	})
}

// document is the plan for people.
func (p *outcome) document() *report.Document {
	var more []report.Section
	if p.trades != nil {
		more = append(more, report.TradeOff(p.Plan, p.trades))
	}
	return report.Plan(p.Plan, append(more, p.more...)...)
}
