package main

import (
	"context"
	"fmt"
	"io"
	"slices"
	"strconv"
	"strings"

	"github.com/spf13/cobra"

	"shimwright/inventory"
	"shimwright/inventory/work"
	"shimwright/shim"
	"shimwright/shim/report"
)

func newJob(b *bench) *cobra.Command {
	return newGroup("job", "Take an engine from the first readings to the closed file",
		`job keeps an engine's visit to the shop: its readings, the plan that reserves
shims of the box, the order, the fit that books them in and out, and the
measuring after it.

  open → read → plan → order → fit → recheck → close

docs/jobs.md goes through it.`,
		newJobOpen(b), newJobEdit(b), newJobRead(b), newJobPlan(b), newJobOrder(b), newJobFit(b),
		newJobRecheck(b), newJobCorrect(b), newJobClose(b), newJobCancel(b), newJobShow(b), newJobSheet(b), newJobList(b))
}

// jobNumber reads a job's number.
func jobNumber(text string) (int64, error) {
	n, err := strconv.ParseInt(strings.TrimPrefix(strings.TrimSpace(text), "#"), 10, 64)
	if err != nil || n <= 0 {
		return 0, wrong("shimwright job list shows them", "%q is not the number of a job", text)
	}
	return n, nil
}

// jobNamed reads a job's number, or its tag or a part of one, which must mean
// exactly one job at work. Where finished ones may be meant too and none is at
// work, it is the newest of the tag.
func jobNamed(ctx context.Context, shop *inventory.Shop, text string, finished bool) (int64, error) {
	id, err := jobNumber(text)
	if err == nil || inventory.TagKey(text) == "" {
		return id, err
	}
	jobs, err := work.Tagged(ctx, shop, text, finished)
	if err != nil {
		return 0, err
	}
	if len(jobs) == 1 {
		return jobs[0].ID, nil
	}
	if len(jobs) > 1 {
		var names []string
		for _, j := range jobs[:min(len(jobs), 8)] {
			names = append(names, fmt.Sprintf("job %d (%s)", j.ID, about(j)))
		}
		return 0, wrong("give more of the tag, or the number of the job", "%q means %d jobs at work: %s", text, len(jobs), strings.Join(names, ", "))
	}
	return 0, wrong("shimwright job list shows them", "%q is neither the number of a job nor the tag of one at work", text)
}

// completeJobs offers the jobs in some states, the newest first, as the first
// argument.
func (b *bench) completeJobs(states ...inventory.State) cobra.CompletionFunc {
	return b.fromShop(func(ctx context.Context, shop *inventory.Shop, args []string) ([]string, error) {
		if len(args) > 0 {
			return nil, nil
		}
		return jobWords(ctx, shop, states...)
	})
}

// jobWords are the numbers of jobs, each with what it is about.
func jobWords(ctx context.Context, shop *inventory.Shop, states ...inventory.State) ([]string, error) {
	jobs, err := shop.Jobs(ctx, inventory.JobFilter{States: states, Page: inventory.Page{Limit: maxCompletions}})
	var words []string
	for _, j := range jobs {
		words = append(words, fmt.Sprintf("%d\t%s", j.ID, strings.Join(strings.Fields(about(j)+", "+string(j.State)), " ")))
	}
	return words, err
}

// about names a job for people: its engine and the customer's tag.
func about(j inventory.Job) string {
	if j.Tag == "" {
		return j.Name
	}
	return j.Name + ", " + j.Tag
}

// tell prints what a command changed and what comes next.
func (b *bench) tell(sections ...report.Section) error {
	return b.write(func(w io.Writer) error {
		return (&report.Document{Sections: sections}).Narrow(b.width).Text(w, b.color)
	})
}

// said is a section of lines alone; empty ones are left out.
func said(lines ...string) report.Section {
	return report.Section{Lines: slices.DeleteFunc(lines, func(l string) bool { return l == "" })}
}

// valveNames joins names of valves.
func valveNames(valves []shim.Valve) string {
	names := make([]string, len(valves))
	for i, v := range valves {
		names[i] = v.String()
	}
	return strings.Join(names, ", ")
}
