package main

import (
	"context"
	"fmt"
	"slices"
	"strings"

	"github.com/spf13/cobra"

	"shimwright/inventory"
	"shimwright/inventory/sqlite"
	"shimwright/shim"
	"shimwright/shim/report"
)

type jobFitOptions struct {
	instead, out, scrap []string
	bin, note           string
	scan                bool
}

func newJobFit(b *bench) *cobra.Command {
	o := &jobFitOptions{}
	cmd := &cobra.Command{
		Use:   "fit JOB [VALVE…]",
		Short: "Book what was fitted: all of the plan, or valve by valve",
		Long: `fit books fitted shims: what came out of the valves goes into the box, what went
in is taken out of it, and a bought piece that nobody booked in comes in first.
Without valves it books all that is left of the plan; with valves those alone.

What went otherwise can be told. --instead names what went into a valve in place
of the planned shim, or keep where it kept its own. --out names what came out
where it is not what the readings say, --scrap what does not go back into the
box.

--scan asks for each shim before it goes in, valve by valve: its label scanned,
or its size typed. A wrong shim is told at once, with the valve that it is for.`,
		Example: `  shimwright job fit 12
  shimwright job fit 12 in1a ex2b
  shimwright job fit 12 --instead in2a=2.425
  shimwright job fit 12 in2a --instead in2a=keep
  shimwright job fit 12 ex1a --out ex1a=2.300/2.297 --scrap ex2b --bin B3`,
		Args:              atLeast(1, "the number of a job, or its tag"),
		ValidArgsFunction: completeFit,
	}
	flags := cmd.Flags()
	flags.StringSliceVar(&o.instead, "instead", nil, "`VALVE=SIZE` that went in instead, or VALVE=keep")
	flags.StringSliceVar(&o.out, "out", nil, "`VALVE=SIZE[/MIC]` that came out")
	flags.StringSliceVar(&o.scrap, "scrap", nil, "`VALVE` whose old shim is thrown away")
	flags.BoolVar(&o.scan, "scan", false, "ask for each shim before it goes in: scan its label, or type its size")
	flags.StringVar(&o.bin, "bin", "", "where the old shims go in the box")
	flags.StringVar(&o.note, "note", "", "anything to keep with the movements")
	completesFlag(cmd, "bin", completeBins)
	cmd.RunE = func(cmd *cobra.Command, args []string) error {
		return withShop(cmd, func(ctx context.Context, shop *inventory.Shop, _ *sqlite.Store) error {
			return runJobFit(ctx, b, shop, args, o)
		})
	}
	return cmd
}

// completeFit offers jobs with a plan, then the valves that it has left.
func completeFit(cmd *cobra.Command, args []string, begun string) ([]string, cobra.ShellCompDirective) {
	return fromShop(func(ctx context.Context, shop *inventory.Shop, args []string) ([]string, error) {
		if len(args) == 0 {
			return jobWords(ctx, shop, inventory.Planned, inventory.Fitting)
		}
		id, err := jobNamed(ctx, shop, args[0], false)
		if err != nil {
			return nil, err
		}
		f, err := shop.Job(ctx, id)
		var words []string
		for _, p := range f.Left {
			if !slices.Contains(args[1:], p.Valve.String()) {
				words = append(words, fmt.Sprintf("%s\t%s %s", p.Valve, sizeText(p.Size, f.Engine.Spec.Units), origin(p)))
			}
		}
		return words, err
	})(cmd, args, begun)
}

func runJobFit(ctx context.Context, b *bench, shop *inventory.Shop, args []string, o *jobFitOptions) error {
	id, err := jobNamed(ctx, shop, args[0], false)
	if err != nil {
		return err
	}
	before, err := shop.Job(ctx, id)
	if err != nil {
		return err
	}
	u := before.Engine.Spec.Units
	fit, err := o.fit(args[1:], &before.Engine.Spec)
	if err != nil {
		return err
	}
	if o.scan {
		if fit.Valves, err = b.scanShims(before, fit.Valves, u); err != nil {
			return err
		}
	}
	if err := meant(ctx, shop, before, fit.Instead); err != nil {
		return err
	}
	receipt, err := shop.Fit(ctx, id, fit)
	if err != nil {
		return err
	}
	f, err := shop.Job(ctx, id)
	if err != nil {
		return err
	}
	lines := []string{heading(f.Job, "fitted, batch %d.", receipt.Batch)}
	planned := map[shim.Valve]shim.Length{}
	for _, p := range before.Left {
		planned[p.Valve] = p.Size
	}
	for _, i := range fit.Instead {
		if want, in := planned[i.Valve]; !in {
			lines = append(lines, fmt.Sprintf("%s was not in the plan.", i.Valve))
		} else if i.Size != want {
			lines = append(lines, fmt.Sprintf("%s: the plan said %s.", i.Valve, sizeText(want, u)))
		}
	}
	for _, h := range receipt.Released {
		lines = append(lines, fmt.Sprintf("Job %d counted on %d × %s: plan it again.", h.Job, h.Count, sizeText(h.Size, u)))
	}
	left := "Nothing of the plan is left."
	if len(f.Left) > 0 {
		var valves []shim.Valve
		for _, p := range f.Left {
			valves = append(valves, p.Valve)
		}
		left = fmt.Sprintf("Left of the plan: %s.", valveNames(valves))
	}
	return b.tell(
		report.Section{Lines: lines, Table: exchanged(receipt.Movements, u)},
		said(left, nextLine(f)),
	)
}

// fit reads what was done.
func (o *jobFitOptions) fit(valves []string, e *shim.Engine) (inventory.Fit, error) {
	u := e.Units
	f := inventory.Fit{Bin: o.bin, Note: o.note}
	for _, text := range valves {
		if strings.Contains(text, "=") {
			return f, hint(usage(fmt.Errorf("%q is not a valve name", text)), "what went in otherwise is told with --instead "+text)
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
			var diameter shim.Length
			if i.Size, diameter, err = parseShim(size, u); err != nil {
				return f, err
			}
			if diameter != 0 && diameter != e.Diameter {
				return f, hint(usage(fmt.Errorf("--instead: a shim of diameter %s does not fit: the engine has %s", discText(diameter, u), discText(e.Diameter, u))), "look at the label again")
			}
		}
		f.Instead = append(f.Instead, i)
	}
	out := map[shim.Valve]inventory.Out{}
	for _, text := range o.out {
		v, sizes, err := pair(e, text, "--out")
		if err != nil {
			return f, err
		}
		one := inventory.Out{Valve: v}
		stamp, mic, both := strings.Cut(sizes, "/")
		if stamp != "" {
			if one.Stamp, err = parseSize(stamp, u); err != nil {
				return f, err
			}
		}
		if both {
			if one.Mic, err = parseSize(mic, u); err != nil {
				return f, err
			}
		}
		out[v] = one
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

// meant puts the sizes of the box and of the plan in the place of typed ones
// that read the same: no decimal of an inch is exactly 2.4 mm.
func meant(ctx context.Context, shop *inventory.Shop, f inventory.File, list []inventory.Instead) error {
	if f.Engine.Spec.Units != shim.IN || len(list) == 0 {
		return nil
	}
	stocks, err := shop.Stocks(ctx, inventory.StockFilter{Diameter: f.Job.Diameter})
	if err != nil {
		return err
	}
	var sizes []shim.Length
	for _, p := range f.Left {
		sizes = append(sizes, p.Size)
	}
	for _, s := range stocks {
		sizes = append(sizes, s.Size)
	}
	for i := range list {
		typed := list[i].Size
		if at := slices.IndexFunc(sizes, func(l shim.Length) bool { return same(typed, l, shim.IN) }); typed != 0 && at >= 0 && !slices.Contains(sizes, typed) {
			list[i].Size = sizes[at]
		}
	}
	return nil
}

// pair reads VALVE=SOMETHING.
func pair(e *shim.Engine, text, flag string) (shim.Valve, string, error) {
	name, value, found := strings.Cut(text, "=")
	if !found || value == "" {
		return shim.Valve{}, "", hint(usage(fmt.Errorf("%s: %q names no valve and size", flag, text)), "write it like "+flag+" in2a=2.425")
	}
	v, err := parseValve(e, name)
	if err != nil {
		return v, "", fmt.Errorf("%s: %w", flag, err)
	}
	return v, value, nil
}

// origin says where a planned shim comes from.
func origin(p inventory.Placement) string {
	switch p.Source {
	case inventory.Moved:
		return "from " + p.From.String()
	case inventory.Bought:
		return "bought"
	}
	return "from the box"
}

// exchanged is a table of what came out of the valves and what went in.
func exchanged(list []inventory.Movement, u shim.Unit) *report.Table {
	type row struct{ out, in, extra []string }
	rows := map[shim.Valve]*row{}
	var order []shim.Valve
	passed := passedOn(list)
	for _, m := range list {
		if m.Valve == (shim.Valve{}) {
			continue
		}
		r := rows[m.Valve]
		if r == nil {
			r = &row{}
			rows[m.Valve] = r
			order = append(order, m.Valve)
		}
		size := lotText(m.Lot, u)
		where := ""
		switch {
		case m.Kind == inventory.Scrapped:
			r.extra = append(r.extra, size+" thrown away")
		case m.Count > 0:
			r.out, where = append(r.out, size), "old one to bin "
		default:
			r.in, where = append(r.in, size), "new one from bin "
		}
		if where != "" && m.Bin != "" && !passed[m.Lot] {
			r.extra = append(r.extra, where+m.Bin)
		}
	}
	slices.SortFunc(order, shim.Valve.Compare)
	t := &report.Table{Header: []string{"valve", "came out", "went in", ""}, Right: []int{1, 2}}
	for _, v := range order {
		r := rows[v]
		t.Rows = append(t.Rows, []string{v.String(), strings.Join(r.out, ", "), strings.Join(r.in, ", "), strings.Join(r.extra, ", ")})
	}
	return t
}

// passedOn are the lots whose pieces only went from valve to valve: no bin saw
// them.
func passedOn(list []inventory.Movement) map[inventory.Lot]bool {
	net, in := map[inventory.Lot]int{}, map[inventory.Lot]bool{}
	for _, m := range list {
		if m.Valve != (shim.Valve{}) {
			net[m.Lot] += m.Count
			in[m.Lot] = in[m.Lot] || m.Count > 0
		}
	}
	passed := map[inventory.Lot]bool{}
	for lot := range net {
		passed[lot] = in[lot] && net[lot] == 0
	}
	return passed
}

// lotText is a shim's size for people, its stamp as well where it was miked.
func lotText(l inventory.Lot, u shim.Unit) string {
	if l.Mic != 0 && l.Stamp != 0 && l.Mic != l.Stamp {
		return fmt.Sprintf("%s (mic %s)", sizeText(l.Stamp, u), sizeText(l.Mic, u))
	}
	return sizeText(l.Size(), u)
}
