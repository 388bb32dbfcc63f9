package main

import (
	"context"
	"errors"
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
	from  string
	grid  string
	start int
	cut   bool
	out   string
	mark  *choice
}

func newBoxLabels(a *app) *cobra.Command {
	o := &boxLabelsOptions{}
	cmd := &cobra.Command{
		Use:   "labels",
		Short: "Print labels for the drawers",
		Long: `labels writes sheets of labels as one HTML file: open it in a browser and print
it at full size, without margins. A label shows the size in mm and inches, the
diameter, the bin, and a barcode of size;diameter in mm; that of
shims that are no plain discs has their family too.

A grid is named by paper, columns x rows, label width x height and the gaps
between labels, in mm. Any such name works; the labels are centred on the paper.
First print one sheet with --cut on plain paper and hold it against the labels.
docs/paper.md lists common grids.`,
		Example: `  shimwright box labels --out labels.html
  shimwright box labels --grid letter-3x10-66.675x25.4 --start 7 --out a.html
  shimwright box labels --from box.csv --mark code128 --out labels.html`,
		Args: exactly(0, "no argument"),
		RunE: func(cmd *cobra.Command, args []string) error { return runBoxLabels(cmd, a, o, args) },
	}
	o.add(a, cmd, allFamilies)
	addOut(cmd, &o.out)
	flags := cmd.Flags()
	flags.StringVar(&o.from, "from", "", "read the box from this `FILE` (CSV, in mm) instead of the shop")
	completesFlag(cmd, "from", completeCSV)
	flags.StringVar(&o.grid, "grid", paper.LabelGrids[0], "the `GRID` of labels on a sheet")
	flags.IntVar(&o.start, "start", 1, "start at label `N` of the first sheet, counted along the rows")
	flags.BoolVar(&o.cut, "cut", false, "draw the label edges, for plain paper")
	o.mark = addChoice(cmd, "mark", "barcode", paper.Marks...)
	completesFlag(cmd, "grid", func(*cobra.Command, []string, string) ([]string, cobra.ShellCompDirective) {
		return paper.LabelGrids, cobra.ShellCompDirectiveNoFileComp
	})
	return cmd
}

func runBoxLabels(cmd *cobra.Command, a *app, o *boxLabelsOptions, _ []string) error {
	grid, err := paper.ParseLabelGrid(o.grid)
	if err != nil {
		return wrong("a common one is "+paper.LabelGrids[1], "%w", err)
	}
	q, err := o.asked(a, cmd, nil, shim.MM)
	if err != nil {
		return err
	}
	var labels []paper.Label
	book, err := a.marksLater(cmd)()
	if err != nil {
		return err
	}
	if o.from != "" {
		rows, err := a.readBox(o.from, shim.MM, files.Marks{Book: book, Of: q.Family})
		if err != nil {
			return err
		}
		labels = labelsOf(rows, q, book)
	} else {
		err := a.withShop(cmd, func(ctx context.Context, shop *inventory.Shop) error {
			lots, err := shop.Balances(ctx, inventory.StockFilter{})
			labels = labelsOf(boxRows(lots), q, book)
			return err
		})
		if err != nil {
			return err
		}
	}
	if len(labels) == 0 {
		return shim.Fail(nil, "add shims with box receive or box import; --diameter and --family leave others out", "no shims in the box to label")
	}
	options := paper.LabelOptions{Grid: grid, Start: o.start, Mark: o.mark.value, Cut: o.cut}
	err = a.writeOut(o.out, func(w io.Writer) error { return paper.Labels(w, labels, options) })
	if errors.Is(err, paper.ErrLabels) {
		return wrong("see --start, --mark and --grid in shimwright box labels --help", "%w", err)
	}
	return err
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
