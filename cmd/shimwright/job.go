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
		newJobOpen(b), newJobRead(b), newJobPlan(b), newJobOrder(b), newJobFit(b),
		newJobRecheck(b), newJobClose(b), newJobCancel(b), newJobShow(b), newJobSheet(b), newJobList(b))
}

// jobNumber reads a job's number.
func jobNumber(text string) (int64, error) {
	n, err := strconv.ParseInt(strings.TrimPrefix(strings.TrimSpace(text), "#"), 10, 64)
	if err != nil || n <= 0 {
		return 0, hint(usage(fmt.Errorf("%q is not the number of a job", text)), "shimwright job list shows them")
	}
	return n, nil
}

// atLeast asks for a number of arguments or more and says what they are.
func atLeast(n int, what string) cobra.PositionalArgs {
	return func(cmd *cobra.Command, args []string) error {
		if len(args) >= n {
			return nil
		}
		return hint(usage(fmt.Errorf("%s takes %s", cmd.CommandPath(), what)), cmd.UseLine())
	}
}

// completeJobs offers the jobs in some states, the newest first, as the first
// argument.
func completeJobs(states ...inventory.State) cobra.CompletionFunc {
	return fromShop(func(ctx context.Context, shop *inventory.Shop, args []string) ([]string, error) {
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
		return (&report.Document{Sections: sections}).Text(w, b.color)
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
