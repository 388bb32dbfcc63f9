package main

import (
	"context"
	"errors"
	"fmt"
	"io"
	"strconv"
	"strings"

	"github.com/spf13/cobra"

	"shimwright/inventory"
	"shimwright/inventory/work"
	"shimwright/shim"
	"shimwright/shim/files"
	"shimwright/shim/report"
)

type countOptions struct {
	familyOptions
	from   string
	bin    string
	whole  bool
	since  int64
	note   string
	yes    bool
	dryRun bool
	units  *choice

	scan    string
	scanned *scanFile
}

func newBoxCount(a *app) *cobra.Command {
	o := &countOptions{}
	cmd := &cobra.Command{
		Use:   "count [SIZExCOUNT]...",
		Short: "Compare a stock count with the record and book the difference",
		Long: `count compares a count with the record, shows the difference, asks, and books
it. Type the count, one size a line like "2.400 3", give it as 2.400x3 on the
command line, or read it from a box file (--from; docs/files.md). A scanned label
is one shim. A size given twice is added up. Used and new shims are counted
together.

A size means the micrometer reading if a shim has one, else the mark. In a file,
size and mic together mean only the shims with that mark and reading.

Sizes not listed stay as they are. With --whole everything of that family was
counted (with bins: everything in those bins), and sizes not listed count as
zero.

If the box changes between the comparison and the booking, nothing is booked and
the status is 4. If the counting took a while, give the last movement before it
began with --since NUMBER (box export prints it): a size that moved since is
refused in the same way.

--scan FILE counts bin by bin: scan a bin (box labels --bins prints its label; or
type bin A3), then each shim in it, then the next bin. undo takes the last scan
back, drop leaves the bin out, end compares all with the box. Every scan is in the
file before the next is asked for: after Ctrl-C or a failure the same command goes
on where it stopped. Bins that are not scanned stay as they are.`,
		Example: `  shimwright box count
  shimwright box count 2.400x3 2.425x0
  shimwright box count --from stocktake.csv --whole --dry-run
  shimwright box count --scan autumn.csv`,
		ValidArgsFunction: a.completeSizes(),
		RunE:              func(cmd *cobra.Command, args []string) error { return runBoxCount(cmd, a, o, args) },
	}
	o.add(a, cmd, plainDiscs)
	flags := cmd.Flags()
	flags.StringVar(&o.from, "from", "", "read the count from this `FILE` (CSV: size,count)")
	completesFlag(cmd, "from", completeCSV)
	flags.Var((*trimmed)(&o.bin), "bin", "everything counted is in this bin")
	flags.BoolVar(&o.whole, "whole", false, "everything was counted: sizes not listed count as zero")
	flags.Int64Var(&o.since, "since", 0, "`NUMBER` of the last movement before the count")
	flags.StringVar(&o.note, "note", "", "for the record")
	flags.BoolVar(&o.yes, "yes", false, "book without asking")
	flags.BoolVar(&o.dryRun, "dry-run", false, "only show the difference")
	completesFlag(cmd, "bin", a.completeBins())
	flags.StringVar(&o.scan, "scan", "", "count bin by bin with a scanner, and keep the scans in this `FILE`")
	completesFlag(cmd, "scan", completeCSV)
	for _, with := range []string{"from", "bin", "whole", "since"} {
		exclusive(cmd, "scan", with)
	}
	o.units = addUnits(cmd)
	return cmd
}

func runBoxCount(cmd *cobra.Command, a *app, o *countOptions, args []string) error {
	if cmd.Flags().Changed("since") && o.since < 0 {
		return wrong("box export prints the number", "movements are numbered from 1")
	}
	u := o.units.unit()
	if o.from != "" && len(args) > 0 {
		return wrong("put all sizes into the file", "--from cannot be used with sizes")
	}
	var rows []shim.BoxRow
	var err error
	if o.scan != "" {
		if len(args) > 0 {
			return wrong("leave the sizes out; scan the bins", "--scan takes no sizes")
		}
		ended, err := o.scanBins(a, cmd)
		if err != nil || !ended {
			return err
		}
	} else if rows, err = o.rows(a, cmd, args); err != nil {
		return err
	}
	var batch int64
	err = a.withBooking(cmd, func(ctx context.Context, shop *inventory.Shop) error {
		take, err := o.stocktake(ctx, a, shop, rows)
		if err != nil {
			return err
		}
		text, err := ofShop(ctx, shop, u)
		if err != nil {
			return err
		}
		tally, err := shop.Tally(ctx, *take)
		if err != nil {
			return err
		}
		if cmd.Flags().Changed("since") {
			if err := moving(ctx, shop, take, o.since); err != nil {
				return err
			}
		}
		if o.scanned != nil {
			if err := o.scanned.unmoved(ctx, shop); err != nil {
				return err
			}
		}
		if len(tally) == 0 {
			return a.say("The count agrees with the record in %s: nothing to book.\n", shim.Count(len(take.Rows), "line"))
		}
		if err := a.write(func(w io.Writer) error { return tallyDocument(tally, text).Narrow(a.width).Text(w, a.color) }); err != nil {
			return err
		}
		if o.dryRun {
			return nil
		}
		if err := a.agree("Book the difference?", o.yes); err != nil {
			return err
		}
		r, err := shop.Count(ctx, *take, tally)
		if err != nil {
			return err
		}
		batch = r.Batch
		return a.printReceipt("Counted", r, text, thenUndo("nothing to do", r))
	})
	if err != nil || o.scanned == nil || o.dryRun {
		return err
	}
	if err := o.scanned.add(scanLine{what: "booked", seq: batch}); err != nil && batch != 0 {
		return stands(batch, err)
	} else if err != nil {
		return err
	}
	return nil
}

// stocktake returns the rows with their families, equal ones added up.
func (o *countOptions) stocktake(ctx context.Context, a *app, shop *inventory.Shop, rows []shim.BoxRow) (*inventory.Stocktake, error) {
	take := &inventory.Stocktake{Whole: o.whole, Note: o.note}
	lots, err := shop.Balances(ctx, inventory.StockFilter{})
	if err != nil {
		return nil, err
	}
	known := sizesOf(lots)
	u := o.units.unit()
	if o.scanned != nil {
		meant, err := o.meant()
		if err != nil {
			return nil, err
		}
		if rows = o.scanned.rows(lots, meant); len(rows) == 0 {
			return nil, shim.Fail(nil, "continue the count and scan a bin", "nothing was counted")
		}
		take.ByBin = true
	}
	whole := a.wholeFamily(ctx, shop, o.familyOptions, u)
	at := map[inventory.Counting]int{}
	for _, row := range rows {
		c := inventory.Counting{Marks: row.Marks, Bin: row.Bin}
		if c.Family, err = whole(row.Family); err != nil {
			return nil, err
		}
		if c.Bin == "" {
			c.Bin = o.bin
		}
		if u != shim.MM {
			c.Diameter, _ = snap(known, c.Diameter, u)
			c.Stamp, _ = snap(known, c.Stamp, u)
			c.Mic, _ = snap(known, c.Mic, u)
		}
		take.ByBin = take.ByBin || c.Bin != ""
		if i, twice := at[c]; twice {
			take.Rows[i].Count += row.Count
			continue
		}
		at[c] = len(take.Rows)
		c.Count = row.Count
		take.Rows = append(take.Rows, c)
	}
	var mixed *work.MixedError
	if take.Rows, err = work.Counted(take, lots, u); errors.As(err, &mixed) {
		return nil, shim.Fail(nil, "count these with stamp and mic in a file: --from", "shims with different marks measure %s %s: %d on record, %d counted", sizeText(mixed.Size, u), u, mixed.OnRecord, mixed.Counted)
	}
	if err != nil {
		return nil, err
	}
	return take, nil
}

// sizesOf lists all lengths in the box, for [snap].
func sizesOf(lots []inventory.Balance) []shim.Length {
	var list []shim.Length
	for _, l := range lots {
		list = append(list, l.Diameter, l.Stamp, l.Mic)
	}
	return list
}

// moving refuses a count of sizes that moved after a movement.
func moving(ctx context.Context, shop *inventory.Shop, take *inventory.Stocktake, since int64) error {
	for _, row := range take.Rows {
		size := inventory.Lot{Marks: row.Marks}.Size()
		f := inventory.MovementFilter{After: since, Disc: row.Of(size), Limit: 1}
		if take.Whole {
			f.Size = 0
		}
		later, err := shop.History(ctx, f)
		if err != nil {
			return err
		}
		if len(later) > 0 {
			m := later[0]
			return shim.Fail(inventory.ErrStale, "count it again; shimwright box history shows what moved",
				"the box changed since movement %d: %s was %s in booking %d", since, m.Lot, m.Kind, m.Batch)
		}
	}
	return nil
}

// tallyDocument shows what a stocktake changes.
func tallyDocument(tally []inventory.Difference, u shimText) *report.Document {
	t := &report.Table{Kind: "tally", Header: []string{"diameter", "size", "", "bin", "record", "counted", "change"}, Right: []int{0, 1, 4, 5, 6}}
	found, missing := 0, 0
	for _, d := range tally {
		change := d.Is - d.Was
		found, missing = found+max(0, change), missing+max(0, -change)
		t.Rows = append(t.Rows, []string{report.Family(u.Unit, d.Family), u.counted(d.Lot), condition(d.Used), d.Bin, strconv.Itoa(d.Was), strconv.Itoa(d.Is), fmt.Sprintf("%+d", change)})
	}
	return &report.Document{Sections: []report.Section{{
		Lines: []string{fmt.Sprintf("The count differs from the record: %d found, %d missing.", found, missing)}, Table: t,
	}}}
}

// rows returns the count: from the file, from the arguments, or typed.
func (o *countOptions) rows(a *app, cmd *cobra.Command, args []string) ([]shim.BoxRow, error) {
	u := o.units.unit()
	read, err := o.reader(a, u, false, a.marksLater(cmd))
	if err != nil {
		return nil, err
	}
	read.onHand = true
	switch {
	case o.from != "":
		marks, err := read.marks(o.familyOptions)
		if err != nil {
			return nil, err
		}
		return readInput(a, o.from, func(name string, r io.Reader) ([]shim.BoxRow, []files.Fault, error) {
			return files.ReadStocktake(name, r, u, marks)
		})
	case len(args) > 0 && !(len(args) == 1 && args[0] == "-"):
		var rows []shim.BoxRow
		for _, arg := range args {
			row, err := countedRow(arg, read)
			if err != nil {
				return nil, err
			}
			rows = append(rows, row)
		}
		return rows, nil
	}
	return a.countedLines(read)
}

// countedRow reads "2.400x3" or "2.400 3", "B 3" or "No. 5 3".
func countedRow(text string, read *sizeReader) (shim.BoxRow, error) {
	words := strings.Fields(text)
	if last := len(words) - 1; last == 1 && !isNumberWord(words[0]) || last == 2 && isNumberWord(words[0]) {
		text = strings.Join(words[:last], " ") + "x" + strings.TrimLeft(words[last], times)
	}
	p, err := read.pieces(text)
	// A scanned label is one shim; a bare size may be a forgotten count.
	if err == nil && !p.told && (p.Diameter == 0 || p.marked) {
		err = wrong("give a size with its count, like 2.400x3, or 2.400x0 for none", "%s: the count is missing", text)
	}
	return shim.BoxRow{Marks: shim.Marks{Stamp: p.Size}, Family: p.Family, Count: p.count}, err
}

// isNumberWord reports whether the word stands before a mark: No. 5.
func isNumberWord(word string) bool {
	return strings.EqualFold(strings.TrimSuffix(word, "."), "no")
}

// countedLines reads lines like "2.400 3", or a label for each shim.
func (a *app) countedLines(read *sizeReader) ([]shim.BoxRow, error) {
	u := read.unit
	read.echo = true
	var rows []shim.BoxRow
	sums := map[shim.Disc]int{}
	about := fmt.Sprintf("Type a size and its count, like %s 3, or scan a label for each shim. An empty line ends.", sizeText(2400*shim.Micrometre, u))
	err := a.eachLine("size count: ", about, func(line string) error {
		row, err := countedRow(line, read)
		if err != nil {
			return err
		}
		rows = append(rows, row)
		key := row.Of(row.Stamp)
		if _, twice := sums[key]; twice && a.person {
			fmt.Fprintf(a.err, "  %s: %d in all\n", sizeText(row.Stamp, u), sums[key]+row.Count)
		}
		sums[key] += row.Count
		return nil
	})
	if err == nil && len(rows) == 0 {
		err = shim.Fail(nil, "type a size and its count, like 2.400 3", "nothing was counted")
	}
	return rows, err
}

// isComment reports whether a line begins with #, unless that is a mark: #5.
func isComment(line string) bool {
	rest, is := strings.CutPrefix(line, "#")
	return is && (rest == "" || !strings.Contains("0123456789", rest[:1]))
}

// eachLine reads standard input line by line. A person sees each fault at once
// and ends with an empty line; the faults of a text are returned together.
func (a *app) eachLine(question, about string, take func(line string) error) error {
	if a.person {
		fmt.Fprintln(a.err, about)
	} else {
		question = ""
	}
	var faults files.Faults
	for number := 1; ; number++ {
		line, err := a.prompt(question)
		if errors.Is(err, io.EOF) || err == nil && line == "" && a.person {
			break
		}
		if err != nil {
			return err
		}
		if line == "" || isComment(line) {
			continue
		}
		switch err := take(line); {
		case err == nil:
		case a.person:
			complain(a.err, err)
		default:
			faults = append(faults, files.Fault{File: "standard input", Line: number, Hinted: shim.Hinted{Message: err.Error(), Hint: shim.HintOf(err)}})
		}
	}
	if len(faults) > 0 {
		return faults
	}
	return nil
}
