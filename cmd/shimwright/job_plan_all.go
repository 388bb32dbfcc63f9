package main

import (
	"context"
	"errors"
	"fmt"
	"strings"

	"shimwright/inventory"
	"shimwright/inventory/work"
	"shimwright/shim"
	"shimwright/shim/paper"
)

// runJobPlanAll plans together all jobs that have nothing of a plan fitted yet.
func runJobPlanAll(ctx context.Context, b *bench, shop *inventory.Shop, o *jobPlanOptions) error {
	planner, err := o.planner(b)
	if err != nil {
		return err
	}
	_, kept, skipped, err := planner.PlanAll(ctx, shop)
	if err != nil {
		return noneTogether(err)
	}
	lines := keptLines(kept, planner.made)
	for _, s := range skipped {
		lines = append(lines, heading(s.Job, "left out: %s. It can be planned alone: shimwright job plan %d", s.Why, s.Job.ID))
	}
	err = b.printJobPlan(planner.made, o.output.value, said(lines...))
	return b.ends(planner.made.Settled() && len(skipped) == 0, err)
}

// noneTogether tells the way out where no job can be planned with others.
func noneTogether(err error) error {
	var none *work.NoneError
	switch {
	case errors.Is(err, work.ErrNoneReady):
		return shim.Fail(nil, "shimwright job list shows where each one is", "%w", err)
	case errors.As(err, &none):
		var why []string
		for _, s := range none.Skipped {
			why = append(why, fmt.Sprintf("job %d: %s", s.Job.ID, s.Why))
		}
		return shim.Fail(nil, "shimwright job show JOB says what comes next in each", "%w: %s", err, strings.Join(short(why), "; "))
	}
	return err
}

// keptLines say of each job what became of it.
func keptLines(list []work.Kept, p *outcome) []string {
	var lines []string
	missing, coming := 0, 0
	p.infos = make([]paper.Info, 0, len(list))
	for i := range list {
		kept, f := &list[i], list[i].File
		for _, l := range f.Purchases {
			missing += l.Missing()
			coming += l.Coming()
		}
		info := cardInfo(f)
		if kept.FitStands() {
			info.Fetch = nil
			lines = append(lines, heading(f.Job, "no shim to change: its fit stands, and this plan is not kept."), nextLine(f))
		} else {
			lines = append(lines, heading(f.Job, "plan %d is kept; it reserves %s of the box.", kept.Number, shim.Count(work.Held(f), "piece")), fetchLine(f), nextLine(f))
		}
		p.infos = append(p.infos, info)
	}
	if missing > 0 {
		lines = append(lines, fmt.Sprintf("To buy for all of them: %s: shimwright job order", shim.Count(missing, "piece")))
	}
	if coming > 0 {
		lines = append(lines, fmt.Sprintf("On order for them already: %s.", shim.Count(coming, "piece")))
	}
	return lines
}
