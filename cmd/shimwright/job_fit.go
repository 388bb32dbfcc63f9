package main

import (
	"context"
	"errors"
	"fmt"
	"slices"
	"strings"

	"github.com/spf13/cobra"

	"shimwright/inventory"
	"shimwright/inventory/work"
	"shimwright/shim"
	"shimwright/shim/report"
)

type jobFitOptions struct {
	instead, from, in, out, scrap []string
	bin, note                     string
	scan                          bool
}

func newJobFit(a *app) *cobra.Command {
	o := &jobFitOptions{}
	cmd := &cobra.Command{
		Use:   "fit JOB [VALVE…]",
		Short: "Book fitted shims, all at once or valve by valve",
		Long: `fit books the shims you took out into the box and the shims you put in out of it.
A bought shim that was not booked in is booked in first. Without valves it books
the rest of the plan; with valves it books only those.

If you did not follow the plan, say so: --instead gives the shim that went into a
valve instead of the planned one, or keep if the valve kept its own. --from gives
the bin, if the shim came from another one. --in gives the stamp and micrometer
reading of the shim that went in; if they match a free shim in the box, that one is
booked. --out gives the shim that came out, if it is not the one in the readings.
--scrap names valves whose old shim does not go back into the box.

--scan asks for each shim before it goes in, in fitting-list order: scan its label
or type its size or mark. A wrong shim is reported at once, with the valve it is for.`,
		Example: `  shimwright job fit 12
  shimwright job fit 12 in1a ex2b
  shimwright job fit 12 --instead in2a=2.425
  shimwright job fit 12 in2a --instead in2a=keep
  shimwright job fit 12 --from in2b=A1 --in ex1a=1.700/1.705
  shimwright job fit 12 ex1a --out ex1a=2.300/2.297 --scrap ex2b --bin B3`,
		Args:              atLeast(1, "a job number or tag"),
		ValidArgsFunction: a.completeFit,
		RunE:              func(cmd *cobra.Command, args []string) error { return runJobFit(cmd, a, o, args) },
	}
	flags := cmd.Flags()
	flags.StringSliceVar(&o.instead, "instead", nil, "`VALVE=SIZE` fitted instead of the planned shim, or VALVE=keep")
	flags.StringSliceVar(&o.from, "from", nil, "`VALVE=BIN` the shim was taken from")
	flags.StringSliceVar(&o.in, "in", nil, "`VALVE=SIZE[/MIC]` of the shim that went in")
	flags.StringSliceVar(&o.out, "out", nil, "`VALVE=SIZE[/MIC]` of the shim that came out")
	flags.StringSliceVar(&o.scrap, "scrap", nil, "`VALVE` whose old shim is scrapped")
	flags.BoolVar(&o.scan, "scan", false, "ask for each shim before it goes in: scan its label, or type its size")
	flags.Var((*trimmed)(&o.bin), "bin", "bin for the old shims")
	flags.StringVar(&o.note, "note", "", "note to keep with the movements")
	completesFlag(cmd, "bin", a.completeBins())
	return cmd
}

// completeFit completes jobs with a plan, then the valves still to fit.
func (a *app) completeFit(cmd *cobra.Command, args []string, begun string) ([]string, cobra.ShellCompDirective) {
	return a.fromShop(func(ctx context.Context, shop *inventory.Shop, args []string) ([]string, error) {
		if len(args) == 0 {
			return jobWords(ctx, shop, inventory.StatePlanned, inventory.StateFitting)
		}
		f, err := fileNamed(ctx, shop, args[0], false)
		var words []string
		for _, p := range f.Left {
			if !slices.Contains(args[1:], p.Valve.String()) {
				words = append(words, fmt.Sprintf("%s\t%s %s", p.Valve, ofEngine(&f.Engine.Spec).size(f.Engine.Spec.FamilyOf(p.Valve).Of(p.Size)), origin(p)))
			}
		}
		return words, err
	})(cmd, args, begun)
}

func runJobFit(cmd *cobra.Command, a *app, o *jobFitOptions, args []string) error {
	return a.withBooking(cmd, func(ctx context.Context, shop *inventory.Shop) error {
		before, err := fileNamed(ctx, shop, args[0], false)
		if err != nil {
			return err
		}
		u := before.Engine.Spec.Units.Size
		known, err := shop.Known(ctx, before.Job.ID, true)
		if err != nil {
			return err
		}
		record, err := onRecord(ctx, shop, before, known)
		if err != nil {
			return err
		}
		book, err := work.MarksOf(ctx, shop, before.Engine.Spec.Name)
		if err != nil {
			return err
		}
		fit, err := o.fit(a, args[1:], &before.Engine.Spec, book, known, record)
		if err != nil {
			return err
		}
		if o.scan {
			if fit.Valves, err = a.scanShims(before, book, fit.Valves, u); err != nil {
				return err
			}
		}
		for _, out := range fit.Out {
			a.contradicted(known, out.Valve, out.Marks, &before.Engine.Spec)
		}
		done, err := work.Fit(ctx, shop, before, fit)
		if errors.Is(err, inventory.ErrRing) {
			return forNow(err, before, fit.Valves)
		}
		if err != nil {
			return err
		}
		miked := map[shim.Valve]bool{}
		for _, in := range fit.In {
			miked[in.Valve] = in.Mic != 0
		}
		for _, out := range fit.Out {
			miked[out.Valve] = miked[out.Valve] || out.Mic != 0
		}
		a.compareMics(done.Movements, miked, u)
		return a.tellFit(done)
	})
}

// tellFit prints what a fit booked and the next step.
func (a *app) tellFit(done *work.Fitted) error {
	f := done.After
	u := ofEngine(&f.Engine.Spec)
	lines := []string{heading(f.Job, "fitted (booking %d).", done.Batch)}
	lines = append(lines, deviations(done, u)...)
	lines = append(lines, unreceived(done.Unreceived(), u)...)
	lines = append(lines, elsewhere(done.Elsewhere(), u)...)
	lines = append(lines, given(done.Receipt, u)...)
	if done.OutOfSetUp() {
		lines = append(lines, "Set-up shims go back to the bench set.")
	}
	left := "The plan is fitted."
	if len(f.Left) > 0 {
		var valves []shim.Valve
		for _, p := range f.Left {
			valves = append(valves, p.Valve)
		}
		left = fmt.Sprintf("Still to fit: %s.", valveNames(valves))
	}
	return a.tell(report.Section{Lines: lines, Table: exchanged(done.Exchanges(), u)}, said(left, nextLine(f)))
}

// fit reads the arguments and flags.
func (o *jobFitOptions) fit(a *app, valves []string, e *shim.Engine, book *shim.MarkBook, known []inventory.Known, record map[shim.Valve][]shim.Length) (inventory.Fit, error) {
	u := e.Units.Size
	f := inventory.Fit{Bin: o.bin, Note: o.note}
	for _, text := range valves {
		if strings.Contains(text, "=") {
			return f, wrong("for a shim other than planned use --instead "+text, "%q is not a valve name", text)
		}
		v, err := parseValve(e, text)
		if err != nil {
			return f, err
		}
		f.Valves = append(f.Valves, v)
	}
	for _, text := range o.instead {
		v, size, err := pair(e, text, "--instead")
		if err != nil {
			return f, err
		}
		i := inventory.Instead{Valve: v}
		if !strings.EqualFold(size, "keep") {
			in, err := a.shimFor(e, book, v, size, 0, record[v]...)
			if err != nil {
				return f, err
			}
			if family := e.FamilyOf(v); in.Diameter != 0 && in.Family != family {
				return f, wrong("check the label", "--instead: a shim of %s does not fit: %s takes %s", familyText(in.Family, u), v, familyText(family, u))
			}
			i.Size = in.Size
		}
		f.Instead = append(f.Instead, i)
	}
	for _, text := range o.from {
		v, bin, err := pair(e, text, "--from")
		if err != nil {
			return f, err
		}
		f.Taken = append(f.Taken, inventory.Taken{Valve: v, Bin: bin})
	}
	for _, text := range o.in {
		v, stamp, mic, err := a.readOn(e, book, text, "--in", nil)
		if err != nil {
			return f, err
		}
		f.In = append(f.In, inventory.In{Valve: v, Marks: shim.Marks{Stamp: stamp, Mic: mic}})
	}
	out := map[shim.Valve]inventory.Out{}
	for _, text := range o.out {
		v, stamp, mic, err := a.readOn(e, book, text, "--out", known)
		if err != nil {
			return f, err
		}
		out[v] = inventory.Out{Valve: v, Marks: shim.Marks{Stamp: stamp, Mic: mic}}
	}
	for _, text := range o.scrap {
		v, err := parseValve(e, text)
		if err != nil {
			return f, err
		}
		one := out[v]
		one.Valve, one.Scrap = v, true
		out[v] = one
	}
	for _, one := range out {
		f.Out = append(f.Out, one)
	}
	slices.SortFunc(f.Out, func(x, y inventory.Out) int { return x.Valve.Compare(y.Valve) })
	return f, nil
}

// pair reads VALVE=SOMETHING.
func pair(e *shim.Engine, text, flag string) (shim.Valve, string, error) {
	name, value, found := strings.Cut(text, "=")
	if !found || value == "" {
		return shim.Valve{}, "", wrong("write it like "+flag+" in2a=2.425", "%s: %q is not VALVE=VALUE", flag, text)
	}
	v, err := parseValve(e, name)
	if err != nil {
		return v, "", fmt.Errorf("%s: %w", flag, err)
	}
	return v, value, nil
}

// readOn reads VALVE=SIZE[/MIC]; SIZE or MIC may be missing. What is known of the
// valve's shim tells which of two sizes a mark means.
func (a *app) readOn(e *shim.Engine, book *shim.MarkBook, text, flag string, known []inventory.Known) (v shim.Valve, stamp, mic shim.Length, err error) {
	v, sizes, err := pair(e, text, flag)
	if err != nil {
		return v, 0, 0, err
	}
	first, second, both := strings.Cut(sizes, "/")
	if both {
		if mic, err = parseSize(second, e.Units.Size); err != nil {
			return v, 0, 0, err
		}
	}
	if first != "" {
		var d shim.Disc
		d, err = a.shimFor(e, book, v, first, mic, knownSize(known, v))
		stamp = d.Size
	}
	return v, stamp, mic, err
}

// origin says where a planned shim comes from.
func origin(p inventory.Placement) string {
	switch p.Source {
	case inventory.SourceMoved:
		return "from " + p.From.String()
	case inventory.SourceBought:
		return "bought"
	}
	return "from the box"
}
