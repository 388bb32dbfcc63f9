package main

import (
	"context"
	"fmt"
	"slices"
	"strings"

	"shimwright/inventory"
	"shimwright/inventory/work"
	"shimwright/shim/paper"
)

// runJobPlanAll plans together all jobs that have nothing of a plan fitted yet.
func runJobPlanAll(ctx context.Context, b *bench, shop *inventory.Shop, o *jobPlanOptions) error {
	lift, err := o.check(b)
	if err != nil {
		return err
	}
	bases, err := basesOfAll(ctx, shop)
	if err != nil {
		return err
	}
	var left, why []string // of the jobs that stay out
	var p *outcome
	propose := func(bases []inventory.Basis) ([]inventory.Proposal, error) {
		left, why = nil, nil
		bases = slices.DeleteFunc(slices.Clone(bases), func(basis inventory.Basis) bool { return !slices.Contains(together, basis.Job.State) })
		ready, skipped := work.Together(bases)
		for _, s := range skipped {
			left = append(left, heading(s.Job, "left out: %s. It can be planned alone: shimwright job plan %d", s.Why, s.Job.ID))
			why = append(why, fmt.Sprintf("job %d: %s", s.Job.ID, s.Why))
		}
		if len(ready) == 0 {
			return nil, hint(fmt.Errorf("no job can be planned together with others: %s", strings.Join(short(why), "; ")), "shimwright job show JOB says what comes next in each")
		}
		request := work.Request(ready, lift)
		q, err := o.begin(b, request.Jobs[0].Engine.Units)
		if err != nil {
			return nil, err
		}
		q.Jobs, q.Box = request.Jobs, request.Box
		q.Offers, q.OnOrder = work.Offers(ready, q.Offers)
		if p, err = o.plan(ctx, b, q, jobPlanWay); err != nil {
			return nil, err
		}
		proposals := make([]inventory.Proposal, len(ready))
		for i, r := range ready {
			if proposals[i], err = proposed(r, p.Alone(i)); err != nil {
				return nil, err
			}
		}
		return proposals, nil
	}
	proposals, err := propose(bases)
	if err != nil {
		return err
	}
	ids := make([]int64, len(bases))
	for i, basis := range bases {
		ids[i] = basis.Job.ID
	}
	plans, err := b.keep(ctx, shop, ids, proposals, propose)
	if err != nil {
		return err
	}
	lines, err := keptLines(ctx, shop, plans, p)
	if err != nil {
		return err
	}
	if err := b.printJobPlan(p, o.output.value, said(append(lines, left...)...)); err != nil {
		return err
	}
	if !p.Settled() || len(left) > 0 {
		return errOutside
	}
	return nil
}

// together are the states of jobs that can be planned together with others.
var together = []inventory.State{inventory.Measured, inventory.Planned}

// basesOfAll reads what the jobs are planned on, the oldest job first.
func basesOfAll(ctx context.Context, shop *inventory.Shop) ([]inventory.Basis, error) {
	jobs, err := shop.Jobs(ctx, inventory.JobFilter{States: together})
	if err != nil {
		return nil, err
	}
	if len(jobs) == 0 {
		return nil, inventory.Fail(inventory.ErrState, "shimwright job list shows where each one is", "no job is measured or planned")
	}
	ids := make([]int64, len(jobs))
	for i, j := range jobs {
		ids[i] = j.ID
	}
	slices.Sort(ids)
	return shop.Bases(ctx, ids...)
}

// keptLines say of each job what became of it.
func keptLines(ctx context.Context, shop *inventory.Shop, plans []inventory.Plan, p *outcome) ([]string, error) {
	var lines []string
	missing, coming := 0, 0
	p.infos = make([]paper.Info, 0, len(plans))
	for _, kept := range plans {
		f, err := shop.Job(ctx, kept.Job)
		if err != nil {
			return nil, err
		}
		for _, l := range f.Purchases {
			missing += l.Missing()
			coming += l.Coming()
		}
		info := cardInfo(f)
		if stillFitted(f, kept) {
			info.Fetch = nil
			p.infos = append(p.infos, info)
			lines = append(lines, heading(f.Job, "no shim to change: its fit stands, and this plan is not kept."), nextLine(f))
			continue
		}
		p.infos = append(p.infos, info)
		fetch := fetchLine(f)
		lines = append(lines, heading(f.Job, "plan %d is kept; it reserves %s of the box.", kept.Number, count(held(f), "piece")), fetch, nextLine(f))
	}
	if missing > 0 {
		lines = append(lines, fmt.Sprintf("To buy for all of them: %s: shimwright job order", count(missing, "piece")))
	}
	if coming > 0 {
		lines = append(lines, fmt.Sprintf("On order for them already: %s.", count(coming, "piece")))
	}
	return lines, nil
}
