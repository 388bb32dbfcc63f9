package main

import (
	"context"
	"fmt"
	"slices"
	"strings"

	"github.com/spf13/cobra"

	"shimwright/inventory"
	"shimwright/inventory/work"
	"shimwright/shim"
	"shimwright/shim/recheck"
	"shimwright/shim/report"
)

type jobCorrectOptions struct {
	right bool
	note  string
	yes   bool
}

func newJobCorrect(a *app) *cobra.Command {
	o := &jobCorrectOptions{}
	cmd := &cobra.Command{
		Use:   "correct JOB VALVE VALVE… | VALVE=SIZE[/MIC]…",
		Short: "Correct the record when a recheck shows a fitting mistake",
		Long: `correct books what was really fitted. Two valve names mean that their shims were
swapped. With three or more, each valve got the shim of the next one named, and
the last got that of the first. VALVE=SIZE means another shim from the box.
VALVE=/MIC or VALVE=STAMP/MIC means the right shim with a different size by
micrometer. Read its mark first: if another size is written on it, another piece was
fitted. correct asks if the micrometer fits another piece of the box or of the engine
better; with the mark that is booked, as in 2.500/2.548, it does not ask.

Readings after the fit are kept, with the shims that were in place then. With
--put-right the shims have been put where they belong since: measure these valves
again.`,
		Example: `  shimwright job correct 12 in1b ex1b
  shimwright job correct 12 in1b ex1b --put-right
  shimwright job correct 12 in1b=2.625
  shimwright job correct 12 in1b=/2.648`,
		Args:              atLeast(2, "a job and its valves"),
		ValidArgsFunction: a.completeJobs(inventory.StateRechecked, inventory.StateFitted),
		RunE:              func(cmd *cobra.Command, args []string) error { return runJobCorrect(cmd, a, o, args) },
	}
	cmd.Flags().BoolVar(&o.right, "put-right", false, "the shims are where they belong now")
	cmd.Flags().StringVar(&o.note, "note", "", "note to keep with the movements")
	cmd.Flags().BoolVar(&o.yes, "yes", false, "book a micrometer reading that fits another piece, without asking")
	return cmd
}

func runJobCorrect(cmd *cobra.Command, a *app, o *jobCorrectOptions, args []string) error {
	return a.withBooking(cmd, func(ctx context.Context, shop *inventory.Shop) error {
		f, err := fileNamed(ctx, shop, args[0], false)
		if err != nil {
			return err
		}
		c := inventory.Correction{PutRight: o.right, Note: o.note}
		known, err := shop.Known(ctx, f.Job.ID, true)
		if err != nil {
			return err
		}
		record, err := onRecord(ctx, shop, f, known)
		if err != nil {
			return err
		}
		book, err := work.MarksOf(ctx, shop, f.Engine.Spec.Name)
		if err != nil {
			return err
		}
		if c.Lay, err = a.lay(args[1:], &f.Engine.Spec, book, record); err != nil {
			return err
		}
		rivals, err := work.Rivals(ctx, shop, f, c.Lay)
		if err != nil {
			return err
		}
		// A pair that is an exchange is refused, whatever the answer.
		if _, err := shop.Trial().CorrectFit(ctx, f.Job.ID, c); err != nil {
			return err
		}
		if err := a.confirm(mistaken(f, rivals), o.yes); err != nil {
			return err
		}
		receipt, err := shop.CorrectFit(ctx, f.Job.ID, c)
		if err != nil {
			return err
		}
		miked := map[shim.Valve]bool{}
		for _, l := range c.Lay {
			miked[l.Valve] = l.Mic != 0
		}
		a.compareMics(receipt.Movements, miked, f.Engine.Spec.Units.Size)
		fell, before := "", f
		if f.Job.State == inventory.StatePlanned {
			fell = "The plan was made on the wrong shims and no longer applies; its reserved shims are free again."
		}
		if f, err = shop.Job(ctx, f.Job.ID); err != nil {
			return err
		}
		return a.tell(
			report.Section{Lines: []string{heading(f.Job, "corrected (booking %d).", receipt.Batch)}, Table: corrected(&before, work.Exchanges(receipt.Movements, nil), o.right)},
			said(fell, nextLine(f), fmt.Sprintf("To undo: shimwright box undo %d", receipt.Batch)),
		)
	})
}

// mistaken says which other pieces may lie in the valves, and how each is booked.
func mistaken(f inventory.File, rivals []work.Rival) []doubtful {
	var list []doubtful
	size := f.Engine.Spec.Units.Size
	text := ofEngine(&f.Engine.Spec)
	command := func(words string) string { return fmt.Sprintf("shimwright job correct %d %s", f.Job.ID, words) }
	for _, r := range rivals {
		mic := size.FormatAtLeast(r.Mic, 3)
		mark := r.Lot.Stamp
		if mark == 0 {
			mark = r.Lot.Size()
		}
		where := "there is a " + text.lot(r.Lot) + " in the box"
		if r.Lot.Bin != "" {
			where = "there is a " + text.lot(r.Lot) + " in bin " + r.Lot.Bin
		}
		way := fmt.Sprintf("read its mark: if it is %s, another piece was fitted: %s", size.FormatAtLeast(mark, 3), command(fmt.Sprintf("%s=%s", r.Valve, size.FormatAtLeast(mark, 3))))
		if r.Old {
			where = "that is the old shim of this valve"
			way = fmt.Sprintf("if its old shim is still in, fit %s now, measure again and book nothing; if it is to stay: %s", text.lot(r.Own), command(fmt.Sprintf("%s=%s", r.Valve, size.FormatAtLeast(mark, 3))))
		}
		if r.From != (shim.Valve{}) {
			where = fmt.Sprintf("%s is booked in %s", text.lot(r.Lot), r.From)
			way = fmt.Sprintf("measure %s and read both marks: if the shims are in each other's valves: %s", r.From, command(fmt.Sprintf("%s %s", r.Valve, r.From)))
		}
		if r.Own.Stamp != 0 {
			own := size.FormatAtLeast(r.Own.Stamp, 3)
			way += fmt.Sprintf("; if its mark is %s: %s", own, command(fmt.Sprintf("%s=%s/%s", r.Valve, own, mic)))
		}
		list = append(list, doubtful{fmt.Sprintf("%s: the micrometer reads %s, and %s", r.Valve, mic, where), way})
	}
	return list
}

// corrected is a table of the shims that were booked in the valves, that were in them in
// fact and, put right, that are in them now.
func corrected(before *inventory.File, list []work.Exchange, right bool) *report.Table {
	e := &before.Engine.Spec
	text := ofEngine(e)
	t := &report.Table{Header: []string{"valve", "booked", "in fact", ""}, Right: []int{1, 2}}
	if right {
		t.Header, t.Right = []string{"valve", "booked", "in fact", "now", ""}, []int{1, 2, 3}
	}
	place := func(l inventory.Lot) string {
		if l.Bin == "" {
			return "the box"
		}
		return "bin " + l.Bin
	}
	for _, r := range list {
		at := slices.IndexFunc(before.Seats, func(s inventory.Seat) bool { return s.Valve == r.Valve })
		row := []string{r.Valve.String(), text.lot(inventory.Lot{Family: e.FamilyOf(r.Valve), Marks: before.Seats[at].Marks})}
		var extra []string
		for _, c := range r.Changes {
			switch size := text.lot(c.Lot); {
			case c.Kind == work.CameOut && !c.Passed:
				extra = append(extra, size+" back to "+place(c.Lot))
			case c.Kind == work.FromBox && !right:
				extra = append(extra, size+" from "+place(c.Lot))
			}
			if c.Kind == work.FromBox || c.Kind == work.FromValve {
				row = append(row, text.lot(c.Lot))
			}
		}
		t.Rows = append(t.Rows, append(row, strings.Join(extra, ", ")))
	}
	return t
}

// lay reads the valves and the shims that were really in them.
func (a *app) lay(words []string, e *shim.Engine, book *shim.MarkBook, record map[shim.Valve][]shim.Length) ([]inventory.Lay, error) {
	var list []inventory.Lay
	var round []shim.Valve
	for _, word := range words {
		if !strings.Contains(word, "=") {
			v, err := parseValve(e, word)
			if err != nil {
				return nil, err
			}
			round = append(round, v)
			continue
		}
		name, sizes, _ := strings.Cut(word, "=")
		v, err := parseValve(e, name)
		if err != nil {
			return nil, err
		}
		l := inventory.Lay{Valve: v}
		stamp, mic, both := strings.Cut(sizes, "/")
		if both {
			if l.Mic, err = parseSize(mic, e.Units.Size); err != nil {
				return nil, err
			}
		}
		if stamp != "" || !both {
			d, err := a.shimFor(e, book, v, stamp, l.Mic, record[v]...)
			if err != nil {
				return nil, err
			}
			l.Stamp = d.Size
		}
		list = append(list, l)
	}
	if len(round) == 1 {
		return nil, wrong(fmt.Sprintf("name the other valve too, or the shim that was in it: %s=2.425", round[0]), "one valve, %s, cannot swap shims", round[0])
	}
	return append(list, inventory.Exchanged(round)...), nil
}

// steady refuses to plan if a stack jumped since the fit, or if the readings since are
// strong on which shims are not where the record has them.
func (o *jobPlanOptions) steady(ctx context.Context, a *app, shop *inventory.Shop, id int64) error {
	f, err := shop.Job(ctx, id)
	if err != nil {
		return err
	}
	gauge, err := o.readGauge(a)
	if err != nil {
		return err
	}
	var list, pieces []string
	for _, d := range work.Jumps(f, gauge) {
		way := "looser"
		if d.Difference < 0 {
			way = "tighter"
		}
		c := f.Engine.Spec.Units.Clearance
		list = append(list, fmt.Sprintf("%s is %s %s %s than its shim should give", d.Valve, c.Show(d.Difference.Abs(), 2, c.Places()), c, way))
		pieces = append(pieces, d.Valve.String()+"=/MIC")
	}
	s := work.Explained(f, gauge)
	if len(list) == 0 && s.Kind == work.PutRight {
		for _, t := range s.Faults {
			for i, size := range t.Sizes {
				list = append(list, fmt.Sprintf("%s holds %s by its reading", t.Valves[i], ofEngine(&f.Engine.Spec).size(f.Engine.Spec.FamilyOf(t.Valves[i]).Of(size))))
			}
		}
	}
	if len(list) == 0 {
		return nil
	}
	way := fmt.Sprintf("measure these valves again, or read their shims: if another size is written on one, another piece was fitted: shimwright job correct %d VALVE=SIZE; if the mark is right and the micrometer reads another size: shimwright job correct %d %s", id, id, strings.Join(pieces, " "))
	if s.Kind == work.PutRight {
		way = putRight(s, f)
	} else if s.Kind == work.LookAt && (s.Kinds[0].OfShims() || s.Kinds[0].Kind == recheck.Unseated) {
		way = lookAt(s, f)
	}
	if !strings.Contains(way, "--anyway") {
		way += "; or plan with --anyway"
	}
	return shim.Fail(inventory.ErrState, way, "job %d: %s: either the record of fitted shims or a reading is wrong", id, strings.Join(short(list), "; "))
}
