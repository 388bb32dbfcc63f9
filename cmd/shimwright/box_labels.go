package main

import (
	"context"
	"errors"
	"fmt"
	"io"
	"slices"

	"github.com/spf13/cobra"

	"shimwright/inventory"
	"shimwright/shim"
	"shimwright/shim/files"
	"shimwright/shim/paper"
)

type boxLabelsOptions struct {
	familyOptions
	from    string
	bin     string
	bins    bool
	empty   bool
	changed bool
	again   bool
	trial   bool
	grid    string
	start   int
	cut     bool
	out     string
	mark    *choice
}

func newBoxLabels(a *app) *cobra.Command {
	o := &boxLabelsOptions{}
	cmd := &cobra.Command{
		Use:   "labels [SIZE]...",
		Short: "Print labels for the drawers",
		Long: `labels writes sheets of labels as one HTML file: open it in a browser and print
it at full size, without margins. A label shows the size in mm and inches, the
diameter, the bin, and a barcode of size;diameter in mm; that of
shims that are no plain discs has their family too.

Without sizes there is a label for each size on hand, with --bin for each in that
bin. A size that is named has a label though its drawer is empty; --empty prints
those of all sizes whose level is kept and that are out. --bins prints labels of
the bins themselves, and the words undo, drop and end, for box count --scan.

The shop keeps what was printed. --changed prints only the labels that are new or
other than at the last print, --again the last print once more. A --trial does not
count as printed.

A grid is named by paper, columns x rows, label width x height and the gaps
between labels, in mm. Any such name works; the labels are centred on the paper.
First print one sheet with --cut --trial on plain paper and hold it against the
labels. docs/paper.md lists common grids.`,
		Example: `  shimwright box labels --out labels.html
  shimwright box labels 2.450 2.475 --bin C4 --out two.html
  shimwright box labels --changed --out new.html
  shimwright box labels --grid letter-3x10-66.675x25.4 --start 7 --out a.html
  shimwright box labels --from box.csv --mark code128 --out labels.html`,
		ValidArgsFunction: a.completeSizes(),
		RunE:              func(cmd *cobra.Command, args []string) error { return runBoxLabels(cmd, a, o, args) },
	}
	o.add(a, cmd, allFamilies)
	addOut(cmd, &o.out)
	flags := cmd.Flags()
	flags.StringVar(&o.from, "from", "", "read the box from this `FILE` (CSV, in mm) instead of the shop")
	completesFlag(cmd, "from", completeCSV)
	flags.Var((*trimmed)(&o.bin), "bin", "only what is in this bin; that of a size whose drawer is empty")
	completesFlag(cmd, "bin", a.completeBins())
	flags.BoolVar(&o.bins, "bins", false, "labels of the bins themselves")
	flags.BoolVar(&o.empty, "empty", false, "labels of the sizes that are to be kept and are out")
	flags.BoolVar(&o.changed, "changed", false, "only those that changed since they were last printed")
	flags.BoolVar(&o.again, "again", false, "the last print once more")
	flags.BoolVar(&o.trial, "trial", false, "a trial, which does not count as printed")
	flags.StringVar(&o.grid, "grid", paper.LabelGrids[0], "the `GRID` of labels on a sheet")
	flags.IntVar(&o.start, "start", 1, "start at label `N` of the first sheet, counted along the rows")
	flags.BoolVar(&o.cut, "cut", false, "draw the label edges, for plain paper")
	o.mark = addChoice(cmd, "mark", "barcode", paper.Marks...)
	completesFlag(cmd, "grid", func(*cobra.Command, []string, string) ([]string, cobra.ShellCompDirective) {
		return paper.LabelGrids, cobra.ShellCompDirectiveNoFileComp
	})
	for _, with := range []string{"empty", "changed", "again", "trial", "key"} {
		exclusive(cmd, "from", with)
	}
	exclusive(cmd, "bins", "empty", "again")
	exclusive(cmd, "changed", "again")
	return cmd
}

func runBoxLabels(cmd *cobra.Command, a *app, o *boxLabelsOptions, args []string) error {
	grid, err := paper.ParseLabelGrid(o.grid)
	if err != nil {
		return wrong("a common one is "+paper.LabelGrids[1], "%w", err)
	}
	if len(args) > 0 && (o.bins || o.empty || o.again) {
		return wrong("leave the sizes out, or the flag", "--bins, --empty and --again take no sizes")
	}
	if o.out == "" {
		if err := a.toScreen("--out labels.html"); err != nil {
			return err
		}
	} else if err := notShop(o.out); err != nil {
		return err
	}
	options := paper.LabelOptions{Grid: grid, Start: o.start, Mark: o.mark.value, Cut: o.cut}
	page := func(labels []paper.Label) ([]byte, error) {
		html, err := bytesOf(func(w io.Writer) error { return paper.Labels(w, labels, options) })
		if errors.Is(err, paper.ErrLabels) {
			return nil, wrong("see --start, --mark and --grid in shimwright box labels --help", "%w", err)
		}
		return html, err
	}
	write := func(html []byte, err error) error {
		if err != nil || html == nil {
			return err
		}
		return a.writeOut(o.out, func(w io.Writer) error {
			_, err := w.Write(html)
			return err
		})
	}
	want, err := o.wanted(a, cmd, args)
	if err != nil {
		return err
	}
	if o.from != "" {
		rows, err := a.readBox(o.from, shim.MM, files.Marks{Book: want.book, Of: want.Family})
		if err != nil {
			return err
		}
		labels, err := o.choose(want, rows, func(d shim.Disc) (paper.Label, error) {
			return paper.Label{Size: d.Size, Family: d.Family, Bin: o.bin, Marking: want.book.Of(d)}, nil
		})
		if err != nil {
			return err
		}
		return write(page(labels))
	}
	var html []byte
	done, booked := false, false // not done where the key was given before
	shops := a.withBooking
	if o.trial {
		shops = a.withShop
	}
	err = shops(cmd, func(ctx context.Context, shop *inventory.Shop) error {
		done = true
		prints, err := shop.LabelPrints(ctx)
		if err != nil {
			return err
		}
		if o.again {
			last, found := inventory.PrintUnder("", prints)
			if !found {
				return shim.Fail(nil, "print them: shimwright box labels --out labels.html", "no labels were printed yet")
			}
			html, err = page(labelsAgain(last.Labels))
			return err
		}
		labels, err := o.labels(ctx, a, shop, want)
		if err != nil {
			return err
		}
		list := labelsToKeep(labels)
		if o.changed {
			if list = inventory.Unprinted(list, prints); len(list) == 0 {
				last := prints[len(prints)-1]
				fmt.Fprintf(a.err, "No label changed since the print of %s; nothing is written. For that print once more: --again\n", when(last.Printed))
				return nil
			}
		}
		if html, err = page(labelsAgain(list)); err != nil || o.trial {
			return err
		}
		_, err = shop.KeepPrint(ctx, list)
		booked = true
		return err
	})
	if err == nil && !done {
		var key string
		if key, _, err = keyOf(cmd); err != nil {
			return err
		}
		err = a.withShop(cmd, func(ctx context.Context, shop *inventory.Shop) error {
			prints, err := shop.LabelPrints(ctx)
			if p, found := inventory.PrintUnder(key, prints); err == nil && found {
				html, err = page(labelsAgain(p.Labels))
			}
			return err
		})
	}
	if err != nil {
		return err
	}
	if err := write(html, nil); err != nil {
		if booked {
			return shim.Fail(errBooked, "print them with --again", "the labels are kept as printed, but the output failed: %w", err)
		}
		return err
	}
	return nil
}

// wantedLabels is what labels are asked for.
type wantedLabels struct {
	asked
	sizes []shim.Disc // none for all
	book  *shim.MarkBook
}

func (o *boxLabelsOptions) wanted(a *app, cmd *cobra.Command, args []string) (w wantedLabels, err error) {
	if w.asked, err = o.asked(a, cmd, nil, shim.MM); err != nil {
		return w, err
	}
	later := a.marksLater(cmd)
	if w.book, err = later(); err != nil {
		return w, err
	}
	read, err := o.reader(a, shim.MM, true, later)
	if err != nil {
		return w, err
	}
	for _, arg := range args {
		var p pieces
		if p.Disc, err = read.disc(arg); err != nil {
			return w, err
		}
		if p.Family, err = p.of(o.familyOptions, shim.MM); err != nil {
			return w, err
		}
		if !slices.Contains(w.sizes, p.Disc) {
			w.sizes = append(w.sizes, p.Disc)
		}
	}
	return w, nil
}

// labels are those of the shop that are asked for.
func (o *boxLabelsOptions) labels(ctx context.Context, a *app, shop *inventory.Shop, want wantedLabels) ([]paper.Label, error) {
	lots, err := shop.Balances(ctx, inventory.StockFilter{})
	if err != nil {
		return nil, err
	}
	whole := a.wholeFamily(ctx, shop, o.familyOptions, shim.MM)
	drawer := func(d shim.Disc) (l paper.Label, err error) {
		if d.Family, err = whole(d.Family); err != nil {
			return l, err
		}
		l = paper.Label{Size: d.Size, Family: d.Family, Bin: o.bin, Marking: want.book.Of(d)}
		if l.Bin == "" { // where its last piece was
			last, err := shop.History(ctx, inventory.MovementFilter{Disc: d, Newest: true, Limit: 1})
			if err != nil {
				return l, err
			}
			if len(last) > 0 {
				l.Bin = last[0].Bin
			}
		}
		return l, nil
	}
	if !o.empty {
		return o.choose(want, boxRows(lots), drawer)
	}
	sets, err := shop.Levels(ctx)
	if err != nil {
		return nil, err
	}
	var labels []paper.Label
	for _, set := range sets {
		for _, level := range set.Levels {
			if !want.family(level.Family) || slices.ContainsFunc(lots, func(l inventory.Balance) bool { return l.Count > 0 && l.Disc() == level.Disc }) {
				continue
			}
			l, err := drawer(level.Disc)
			if err != nil {
				return nil, err
			}
			if o.bin == "" || l.Bin == o.bin {
				labels = append(labels, l)
			}
		}
	}
	switch {
	case len(sets) == 0:
		return nil, shim.Fail(nil, "keep levels with box advise --levels, or name the sizes", "no levels are kept")
	case len(labels) == 0:
		return nil, shim.Fail(nil, "name a size for a label of its own", "no size that is to be kept is out")
	}
	slices.SortStableFunc(labels, paper.Label.Compare)
	return labels, nil
}

// choose picks the labels of a box; drawer makes that of a named size that is out.
func (o *boxLabelsOptions) choose(want wantedLabels, rows []shim.BoxRow, drawer func(shim.Disc) (paper.Label, error)) ([]paper.Label, error) {
	all := labelsOf(rows, want.asked, want.book)
	if o.bin != "" {
		all = slices.DeleteFunc(all, func(l paper.Label) bool { return l.Bin != o.bin })
	}
	switch {
	case o.bins:
		return binLabels(all, o.bin)
	case len(want.sizes) > 0:
		var labels []paper.Label
		for _, d := range want.sizes {
			q, found := asked{d, shim.MM}, false
			for _, l := range all {
				if l.Size == d.Size && q.family(l.Family) {
					found = true
					if !slices.Contains(labels, l) {
						labels = append(labels, l)
					}
				}
			}
			if !found {
				l, err := drawer(d)
				if err != nil {
					return nil, err
				}
				labels = append(labels, l)
			}
		}
		slices.SortStableFunc(labels, paper.Label.Compare)
		return labels, nil
	case len(all) == 0 && o.bin != "":
		return nil, shim.Fail(nil, "name the sizes for labels of an empty drawer", "no shims in bin %s to label", o.bin)
	case len(all) == 0:
		return nil, shim.Fail(nil, "add shims with box receive or box import; --diameter and --family leave others out", "no shims in the box to label")
	}
	return all, nil
}

// binLabels are those of the bins themselves, and the words of a count.
func binLabels(all []paper.Label, bin string) (labels []paper.Label, err error) {
	var names []string
	for _, l := range all {
		if l.Bin != "" {
			names = append(names, l.Bin)
		}
	}
	if bin != "" {
		names = []string{bin}
	}
	if len(names) == 0 {
		return nil, shim.Fail(nil, "name one with --bin", "no shims are in bins")
	}
	slices.Sort(names)
	for _, name := range slices.Compact(names) {
		labels = append(labels, paper.Label{Bin: name})
	}
	if bin == "" {
		for _, w := range scanWords {
			labels = append(labels, paper.Label{Word: w.word, About: w.about})
		}
	}
	return labels, nil
}

// labelsToKeep is what the shop keeps of labels.
func labelsToKeep(labels []paper.Label) (list []inventory.Label) {
	for _, l := range labels {
		list = append(list, inventory.Label{Disc: l.Of(l.Size), Stamp: l.Stamp, Bin: l.Bin, Marking: l.Marking, Word: l.Word})
	}
	return list
}

// labelsAgain makes labels of what the shop kept.
func labelsAgain(list []inventory.Label) (labels []paper.Label) {
	for _, l := range list {
		p := paper.Label{Size: l.Size, Family: l.Family, Stamp: l.Stamp, Bin: l.Bin, Marking: l.Marking, Word: l.Word}
		for _, w := range scanWords {
			if w.word == l.Word {
				p.About = w.about
			}
		}
		labels = append(labels, p)
	}
	return labels
}

// labelsOf returns a label for each size, family and bin that is asked for. Shims
// with different marks that measure the same share a label.
func labelsOf(rows []shim.BoxRow, q asked, book *shim.MarkBook) []paper.Label {
	var labels []paper.Label
	for _, r := range rows {
		of := r.Family
		if of.Diameter == 0 {
			of.Diameter = q.Diameter // a file may leave it out
		}
		if r.Count == 0 || !q.family(of) {
			continue
		}
		l := paper.Label{Family: r.Family, Size: r.Size(), Stamp: r.Stamp, Bin: r.Bin, Marking: book.Of(of.Of(r.Stamp))}
		if l.Stamp == l.Size {
			l.Stamp = 0
		}
		same := slices.IndexFunc(labels, func(m paper.Label) bool {
			return m.Size == l.Size && m.Family == l.Family && m.Bin == l.Bin
		})
		if same < 0 {
			labels = append(labels, l)
		} else if labels[same].Stamp != l.Stamp {
			labels[same].Stamp, labels[same].Marking = 0, ""
		}
	}
	slices.SortStableFunc(labels, paper.Label.Compare)
	return labels
}
