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
	"shimwright/shim/plan"
	"shimwright/shim/recheck"
	"shimwright/shim/report"
)

func newJob(a *app) *cobra.Command {
	return newGroup("job", "Run a job from the first readings to closing it",
		`job keeps the record of a machine's visit to the shop: its readings, the plan that
reserves shims, the order, the fit that books shims in and out, and the recheck.

  open → read → plan → order → fit → recheck → close

See docs/jobs.md.`,
		newJobOpen(a), newJobEdit(a), newJobRead(a), newJobPlan(a), newJobOrder(a), newJobFit(a),
		newJobRecheck(a), newJobCorrect(a), newJobClose(a), newJobCancel(a), newJobShow(a), newJobSheet(a), newJobCertificate(a), newJobList(a))
}

// jobNumber reads a job's number.
func jobNumber(text string) (int64, error) {
	n, err := strconv.ParseInt(strings.TrimPrefix(strings.TrimSpace(text), "#"), 10, 64)
	if err != nil || n <= 0 {
		return 0, wrong("see shimwright job list", "%q is not a job number", text)
	}
	return n, nil
}

// jobNamed reads a job's number, or a tag or part of one, which must match exactly
// one open job. With finished, and no open job, it is the newest job of the tag.
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
		return 0, wrong("give more of the tag, or the job number", "%q matches %d open jobs: %s", text, len(jobs), strings.Join(names, ", "))
	}
	return 0, wrong("see shimwright job list", "%q is neither a job number nor the tag of an open job", text)
}

// fileNamed reads the job that [jobNamed] finds.
func fileNamed(ctx context.Context, shop *inventory.Shop, text string, finished bool) (f inventory.File, err error) {
	id, err := jobNamed(ctx, shop, text, finished)
	if err != nil {
		return f, err
	}
	return shop.Job(ctx, id)
}

// completeJobs completes the first argument with the jobs in the given states,
// newest first.
func (a *app) completeJobs(states ...inventory.State) cobra.CompletionFunc {
	return a.fromShop(func(ctx context.Context, shop *inventory.Shop, args []string) ([]string, error) {
		if len(args) > 0 {
			return nil, nil
		}
		return jobWords(ctx, shop, states...)
	})
}

// jobWords lists job numbers, each with a description.
func jobWords(ctx context.Context, shop *inventory.Shop, states ...inventory.State) ([]string, error) {
	jobs, err := shop.Jobs(ctx, inventory.JobFilter{States: states, Page: inventory.Page{Limit: maxCompletions}})
	var words []string
	for _, j := range jobs {
		words = append(words, fmt.Sprintf("%d\t%s", j.ID, strings.Join(strings.Fields(about(j)+", "+string(j.State)), " ")))
	}
	return words, err
}

// about describes a job for people: its model and tag.
func about(j inventory.Job) string {
	if j.Tag == "" {
		return j.Name
	}
	return j.Name + ", " + j.Tag
}

// tell prints what a command changed and the next step.
func (a *app) tell(sections ...report.Section) error {
	return a.write(func(w io.Writer) error {
		return (&report.Document{Sections: sections}).Narrow(a.width).Text(w, a.color)
	})
}

// said returns a section of lines only; empty ones are dropped.
func said(lines ...string) report.Section {
	return report.Section{Lines: slices.DeleteFunc(lines, func(l string) bool { return l == "" })}
}

// valveNames joins valve names with commas.
func valveNames(valves []shim.Valve) string {
	names := make([]string, len(valves))
	for i, v := range valves {
		names[i] = v.String()
	}
	return strings.Join(names, ", ")
}

// nextLine is the next step of a job as a line for people.
func nextLine(f inventory.File) string {
	if next := next(f); next != "" {
		return "Next: " + next
	}
	return ""
}

// next says what to do next in a job and the command for it; empty if the job
// is finished.
func next(f inventory.File) string {
	s := work.Next(f)
	do := func(what, command string) string {
		return fmt.Sprintf("%s: shimwright job %s", what, fmt.Sprintf(command, s.Job))
	}
	why := strings.Join(short(s.Reasons), "; ")
	waits := s.Kind == work.OrderPieces || s.Kind == work.AwaitPieces
	if len(s.Trials) > 0 && !(waits && slices.ContainsFunc(s.Trials, func(t work.Trial) bool { return t.Where == plan.PulledFrom })) {
		return fitTrials(f, s.Trials)
	}
	switch s.Kind {
	case work.ReadAll:
		return do("measure every valve, engine "+f.Engine.Spec.State.String(), "read %d CHECK.csv")
	case work.ReadRest:
		return do(shim.Count(s.Count, "valve")+" not measured", "read %d CHECK.csv") + "; " + do("or plan the rest", "plan %d")
	case work.MakePlan:
		return do("plan", "plan %d")
	case work.PlanAgain:
		return do(shim.Count(s.Count, "reserved shim")+" no longer in the box; plan again", "plan %d")
	case work.OrderPieces:
		return fmt.Sprintf("order %s: shimwright job order; ", shim.Count(s.Count, "shim")) + do("or fit what is here", "fit %d VALVE …")
	case work.AwaitPieces:
		return fmt.Sprintf("wait for %s on order, then: shimwright job order --arrived; ", shim.Count(s.Count, "shim")) + do("or fit what is here", "fit %d VALVE …")
	case work.FitAll:
		return do("fit", "fit %d")
	case work.FitRest:
		return do("fit the rest", "fit %d")
	case work.ReadValves:
		return remeasure(s, "read")
	case work.FitAnother:
		valve := s.Shut[0]
		return fmt.Sprintf("do not turn the engine over: %s no clearance with the shim that is in; fit another one: shimwright job fit %d %s --instead %s=SIZE",
			haveNo(s.Shut), s.Job, valve, valve)
	case work.RecheckAll:
		return do("turn the engine over several times by hand, then measure every valve again", "recheck %d CHECK.csv")
	case work.RecheckValves:
		return remeasure(s, "recheck")
	case work.PutRight:
		return putRight(s, f)
	case work.LookAt:
		return lookAt(s, f) + "; then " + thenMeasure(s)
	case work.RecheckOrPlan:
		return do(why+"; measure again, or plan again", "plan %d")
	case work.CloseJob:
		return do("every valve is inside its limits", "close %d")
	case work.CloseUnchanged:
		return do("no shim to change and every valve is inside its limits", "close %d")
	}
	return ""
}

// haveNo is "in1a has" or "in1a, in1b have".
func haveNo(valves []shim.Valve) string {
	if len(valves) == 1 {
		return valves[0].String() + " has"
	}
	return valveNames(valves) + " have"
}

// remeasure says which valves to measure again, and the command for it.
func remeasure(s work.Step, command string) string {
	what := "measure again"
	byLeaf := func(why string) bool { return strings.Contains(why, "try the") }
	if len(work.Undecided(s.Reasons)) == len(s.Reasons) && slices.ContainsFunc(s.Reasons, byLeaf) {
		what = "try that leaf"
	}
	var words []string
	for _, why := range s.Reasons {
		valve, _, _ := strings.Cut(why, " ")
		words = append(words, valve+"=CLEARANCE")
	}
	if len(words) > maxReasons {
		words = []string{"VALVE=CLEARANCE …"}
	}
	return fmt.Sprintf("%s; %s: shimwright job %s %d %s", strings.Join(short(s.Reasons), "; "), what, command, s.Job, strings.Join(words, " "))
}

// thenMeasure says which valves to measure again once a fault is looked at.
func thenMeasure(s work.Step) string {
	var words []string
	for _, f := range s.Faults {
		for _, v := range f.Valves {
			words = append(words, v.String()+"=CLEARANCE")
		}
	}
	switch {
	case len(s.Faults) == 1 && s.Faults[0].Kind == recheck.Hollow:
		return fmt.Sprintf("measure the valves outside their limits once more and plan again from what is read now: shimwright job plan %d", s.Job)
	case len(words) == 0: // the gauge
		return fmt.Sprintf("measure every valve again: shimwright job recheck %d CHECK.csv", s.Job)
	case len(words) > maxReasons:
		words = []string{"VALVE=CLEARANCE …"}
	}
	return fmt.Sprintf("measure again: shimwright job recheck %d %s", s.Job, strings.Join(words, " "))
}

// lookAt says where to look for the likeliest fault, and which valves are
// undecided.
func lookAt(s work.Step, f inventory.File) string {
	fault := s.Faults[0]
	look := recheck.Look(s.Kinds)
	if len(fault.Valves) > 0 {
		look = valveNames(fault.Valves) + ": " + look
	}
	switch {
	case fault.Kind == recheck.Exchanged:
		first := s
		first.Faults, first.Remedies = s.Faults[:1], s.Remedies[:1]
		look += "; if they do, " + putRight(first, f)
	case slices.ContainsFunc(s.Kinds, recheck.Fault.OfShims) || fault.Kind == recheck.Unseated && work.WasFitted(f, fault.Valves[0]):
		for _, kind := range s.Kinds {
			look = notRead(f, kind) + look
			look += ifOld(f, kind)
		}
		look += "; " + ofPiece(f, fault.Valves[0])
	}
	for _, why := range short(work.Undecided(s.Reasons)) {
		look += "; " + why
	}
	return look
}

// putRight says what to do about the likeliest fitting mistakes and how to book
// it. It is the one place that words it.
func putRight(s work.Step, f inventory.File) string {
	job, e := s.Job, &f.Engine.Spec
	var moves, others, commands []string
	again := false
	for k, t := range s.Faults {
		r, names := s.Remedies[k], valveNames(t.Valves)
		book := strings.ReplaceAll(names, ",", "")
		switch {
		case t.Kind == recheck.WrongSize && !r.Open:
			others = append(others, fmt.Sprintf("leave the shim in %s, which is inside its limits, until it is out next", t.Valves[0]))
			continue
		case t.Kind == recheck.WrongSize:
			others = append(others, notRead(f, t)+fmt.Sprintf("read the mark of the shim in %s and measure it with a micrometer", t.Valves[0])+ifOld(f, t))
			commands = append(commands, ofPiece(f, t.Valves[0]))
			continue
		case r.Move:
			for i, v := range t.Valves {
				moves = append(moves, fmt.Sprintf("%s into %s", ofEngine(e).size(e.FamilyOf(v).Of(t.Own(i))), v))
			}
			book += " --put-right"
		case r.Open && len(r.Outside) > 0:
			again = true
			others = append(others, fmt.Sprintf("leave the shims of %s where they are (put back, they would leave %s outside the limits)", names, valveNames(r.Outside)))
		case len(r.Outside) > 0:
			others = append(others, fmt.Sprintf("leave the shims of %s, which lie better where they are: only the record is wrong", names))
		default:
			others = append(others, fmt.Sprintf("leave the shims of %s, which do as well where they are: only the record is wrong", names))
		}
		commands = append(commands, fmt.Sprintf("shimwright job correct %d %s", job, book))
	}
	steps := strings.Join(others, ", ")
	if len(moves) > 0 {
		steps = "put it right (" + strings.Join(append(moves, others...), ", ") + ")"
	}
	text := fmt.Sprintf("%s, then book it: %s", steps, strings.Join(commands, "; "))
	if again {
		text += fmt.Sprintf("; then plan again: shimwright job plan %d", job)
	}
	return text
}

// maxReasons is the most valves a line names.
const maxReasons = 4

// short shortens a list of reasons.
func short(reasons []string) []string {
	if len(reasons) <= maxReasons {
		return reasons
	}
	return append(reasons[:maxReasons:maxReasons], fmt.Sprintf("%d more", len(reasons)-maxReasons))
}

// heading starts a line about a job: "Job 12 (Sandpiper 720 twin, AB 123): …".
func heading(j inventory.Job, format string, args ...any) string {
	return fmt.Sprintf("Job %d (%s): ", j.ID, about(j)) + fmt.Sprintf(format, args...)
}
