package main

import (
	"context"
	"fmt"
	"strings"

	"github.com/spf13/cobra"

	"shimwright/inventory"
	"shimwright/inventory/work"
	"shimwright/shim"
	"shimwright/shim/report"
)

func newJobCorrect(a *app) *cobra.Command {
	var right bool
	var note string
	cmd := &cobra.Command{
		Use:   "correct JOB VALVE VALVE… | VALVE=SIZE[/MIC]…",
		Short: "Book what was fitted in fact, where a recheck shows a mistake",
		Long: `correct books what lay in the valves in fact since they were fitted. Two valves
alone had their shims exchanged; of three and more, each held the shim of the
next one, and the last one that of the first. VALVE=SIZE held another piece of
the box. VALVE=/MIC or VALVE=STAMP/MIC held its own piece, whose size is
another: what the micrometer reads.

The readings after the fit stand, with the shims that they were taken with.
--put-right says that each shim was put where it belongs since: measure these
valves again then.`,
		Example: `  shimwright job correct 12 in1b ex1b
  shimwright job correct 12 in1b ex1b --put-right
  shimwright job correct 12 in1b=2.625
  shimwright job correct 12 in1b=/2.648`,
		Args:              atLeast(2, "a job, and the valves"),
		ValidArgsFunction: a.completeJobs(inventory.StateRechecked, inventory.StateFitted),
	}
	cmd.Flags().BoolVar(&right, "put-right", false, "the shims lie where they belong by now")
	cmd.Flags().StringVar(&note, "note", "", "anything to keep with the movements")
	cmd.RunE = func(cmd *cobra.Command, args []string) error {
		return a.withBooking(cmd, func(ctx context.Context, shop *inventory.Shop) error {
			return runJobCorrect(ctx, a, shop, args, inventory.Correction{PutRight: right, Note: note})
		})
	}
	return cmd
}

func runJobCorrect(ctx context.Context, a *app, shop *inventory.Shop, args []string, c inventory.Correction) error {
	id, err := jobNamed(ctx, shop, args[0], false)
	if err != nil {
		return err
	}
	f, err := shop.Job(ctx, id)
	if err != nil {
		return err
	}
	if c.Lay, err = lay(args[1:], &f.Engine.Spec); err != nil {
		return err
	}
	receipt, err := shop.CorrectFit(ctx, id, c)
	if err != nil {
		return err
	}
	miked := map[shim.Valve]bool{}
	for _, l := range c.Lay {
		miked[l.Valve] = l.Mic != 0
	}
	a.compareMics(receipt.Movements, miked, f.Engine.Spec.Units)
	fell := ""
	if f.Job.State == inventory.StatePlanned {
		fell = "The plan made on the wrong shims no longer stands; what it held is free again."
	}
	if f, err = shop.Job(ctx, id); err != nil {
		return err
	}
	return a.tell(
		report.Section{Lines: []string{heading(f.Job, "corrected, batch %d.", receipt.Batch)}, Table: exchanged(work.Exchanges(receipt.Movements, nil), f.Engine.Spec.Units)},
		said(fell, nextLine(f)),
	)
}

// lay reads the valves with what lay in them.
func lay(words []string, e *shim.Engine) ([]inventory.Lay, error) {
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
		if stamp != "" || !both {
			if l.Stamp, err = parseSize(stamp, e.Units); err != nil {
				return nil, err
			}
		}
		if both {
			if l.Mic, err = parseSize(mic, e.Units); err != nil {
				return nil, err
			}
		}
		list = append(list, l)
	}
	if len(round) == 1 {
		return nil, wrong(fmt.Sprintf("name the other valve as well, or what lay in it: %s=2.425", round[0]), "the shim of %s alone cannot have lain in another valve", round[0])
	}
	return append(list, inventory.Exchanged(round)...), nil
}

// steady refuses to plan where a stack jumped since the fit.
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
		list = append(list, fmt.Sprintf("%s is %s %s than its shim gives", d.Valve, f.Engine.Spec.Units.Show(d.Difference.Abs(), 2, 3), way))
		pieces = append(pieces, d.Valve.String()+"=/MIC")
	}
	if len(list) == 0 {
		return nil
	}
	way := next(f)
	if work.Next(f).Kind != work.PutRight {
		way = fmt.Sprintf("measure these valves again, or their shims with a micrometer, and book what it reads: shimwright job correct %d %s", id, strings.Join(pieces, " "))
	}
	return shim.Fail(inventory.ErrState, way+"; or plan all the same with --anyway", "job %d: %s: the shims that are booked are not those that are in, or a reading is wrong", id, strings.Join(short(list), "; "))
}
