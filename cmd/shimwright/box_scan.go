package main

import (
	"cmp"
	"context"
	"errors"
	"fmt"
	"io"
	"os"
	"os/signal"
	"slices"
	"strings"

	"github.com/spf13/cobra"

	"shimwright/inventory"
	"shimwright/inventory/work"
	"shimwright/shim"
	"shimwright/shim/paper"
)

// scanWords are what a scanner may type in a count besides bins and shims.
var scanWords = []struct{ word, about string }{
	{"undo", "takes the last scan back"},
	{"drop", "leaves this bin out of the count"},
	{"end", "compares the count with the box"},
}

// A scanTalk takes the scans of a count.
type scanTalk struct {
	*app
	cmd  *cobra.Command
	o    *countOptions
	file *scanFile
	read *sizeReader
	lots []inventory.Balance
}

// scanBins takes scans until end is scanned, and reports whether it was. Everything before
// is kept.
func (o *countOptions) scanBins(a *app, cmd *cobra.Command) (ended bool, err error) {
	f := &scanFile{name: o.scan}
	if err := f.load(); err != nil {
		return false, err
	}
	o.scanned = f
	if f.closed {
		return false, shim.Fail(nil, "begin another count with another file", "%s was compared with the box and booked already", f.name)
	}
	t := &scanTalk{app: a, cmd: cmd, o: o, file: f}
	if t.read, err = o.reader(a, o.units.unit(), false, a.marksLater(cmd)); err != nil {
		return false, err
	}
	t.read.onHand = true
	err = a.withShop(cmd, func(ctx context.Context, shop *inventory.Shop) (err error) {
		if err := f.sameShop(ctx, shop); err != nil {
			return err
		}
		t.lots, err = shop.Balances(ctx, inventory.StockFilter{})
		return err
	})
	if err != nil {
		return false, err
	}
	return t.run()
}

// resume is the call that continues the count.
func (t *scanTalk) resume() string { return "shimwright box count --scan " + t.file.name }

func (t *scanTalk) run() (ended bool, err error) {
	if t.person {
		fmt.Fprintln(t.err, "Scan a bin, then each shim in it, then the next bin. undo takes the last scan back, drop leaves the bin out, end compares the count with the box. Ctrl-C stops; every scan is kept.")
	}
	if bins, open := t.file.bins(); len(bins) > 0 {
		n := 0
		for _, b := range bins {
			n += b.all()
		}
		where := "scan the next bin"
		if open >= 0 {
			where = fmt.Sprintf("go on in %s, which has %d", bins[open].text(), bins[open].all())
		}
		fmt.Fprintf(t.err, "Continued: %s in %s so far; %s.\n", shim.Count(n, "shim"), shim.Count(len(bins), "bin"), where)
	}
	came := make(chan os.Signal, 1)
	signal.Notify(came, os.Interrupt)
	defer signal.Stop(came)
	type answer struct {
		line string
		err  error
	}
	answers := make(chan answer, 1)
	for number := 1; ; number++ {
		go func() {
			line, err := t.prompt(t.question())
			answers <- answer{line, err}
		}()
		var got answer
		select {
		case <-came:
			return false, shim.Fail(nil, "every scan is kept; to continue: "+t.resume(), "interrupted")
		case got = <-answers:
		}
		if errors.Is(got.err, io.EOF) {
			fmt.Fprintf(t.err, "Not compared yet; every scan is kept. To continue: %s\n", t.resume())
			return false, nil
		}
		if got.err != nil {
			return false, got.err
		}
		if strings.EqualFold(got.line, "end") {
			return true, nil
		}
		if got.line == "" || isComment(got.line) {
			continue
		}
		if err := t.line(got.line); err != nil {
			if t.person && errors.Is(err, errUsage) {
				complain(t.err, err)
				continue
			}
			if !t.person {
				err = shim.Fail(err, cmp.Or(shim.HintOf(err), "scan it again")+"; what came before is kept: "+t.resume(), "standard input:%d: %s", number, err.Error())
			}
			return false, err
		}
	}
}

func (t *scanTalk) question() string {
	if !t.person {
		return ""
	}
	if bins, open := t.file.bins(); open >= 0 {
		return bins[open].text() + ": "
	}
	return "bin: "
}

// line takes one scan and says what it comes to.
func (t *scanTalk) line(text string) error {
	bins, open := t.file.bins()
	lower := strings.ToLower(text)
	name, isBin := "", lower == "bin"
	for _, before := range []string{paper.BinCode, "bin "} {
		if strings.HasPrefix(lower, before) {
			name, isBin = strings.TrimSpace(text[len(before):]), true
		}
	}
	switch {
	case isBin:
		return t.bin(name)
	case lower == "undo":
		if len(t.file.lines) == 0 {
			return wrong("scan a bin", "there is no scan to take back")
		}
		last := t.file.lines[len(t.file.lines)-1]
		if err := t.file.add(scanLine{what: "undo"}); err != nil {
			return err
		}
		what := map[string]string{"bin": "bin " + last.bin, "drop": "drop", "shim": t.shim(last.Disc)}[last.what]
		return t.told("taken back: " + what)
	case lower == "drop":
		if open < 0 {
			return wrong("scan the bin first", "no bin is open")
		}
		if err := t.file.add(scanLine{what: "drop"}); err != nil {
			return err
		}
		return t.told(bins[open].text() + " is left out; scan it again to count it from the start")
	case open < 0:
		return wrong("scan the bin's label or type bin and its name first, bin alone for shims in none", "%s: no bin is open", text)
	}
	row, err := countedRow(text, t.read)
	if err != nil {
		return cannotScan(err)
	}
	l := scanLine{what: "shim", count: row.Count}
	l.Size = row.Stamp
	if l.Family, err = t.family(row.Family); err != nil {
		return cannotScan(err)
	}
	if u := t.read.unit; u != shim.MM {
		l.Size, _ = snap(sizesOf(t.lots), l.Size, u)
		l.Diameter, _ = snap(sizesOf(t.lots), l.Diameter, u)
	}
	if err := t.file.add(l); err != nil {
		return err
	}
	return t.told(fmt.Sprintf("%s: %d", t.shim(l.Disc), bins[open].pieces[l.Disc]+l.count))
}

// cannotScan makes a refusal of what was scanned an error that a person scans on after.
func cannotScan(err error) error {
	if errors.Is(err, errUsage) {
		return err
	}
	return wrong(shim.HintOf(err), "%w", err)
}

// family is the whole family of a scan; the shop's only diameter where it has none.
func (t *scanTalk) family(f shim.Family) (shim.Family, error) {
	if f.Diameter != 0 {
		of, err := pieces{Disc: f.Of(0)}.of(t.o.familyOptions, t.read.unit)
		if err == nil {
			f = of
		}
		return f, err
	}
	err := t.withShop(t.cmd, func(ctx context.Context, shop *inventory.Shop) (err error) {
		mute := *t.app
		mute.person = false // the next line is the next scan
		f, err = mute.wholeFamily(ctx, shop, t.o.familyOptions, t.read.unit)(f)
		return err
	})
	return f, err
}

// bin opens a bin, or goes on with it.
func (t *scanTalk) bin(name string) error {
	l := scanLine{what: "bin", bin: name}
	err := t.withShop(t.cmd, func(ctx context.Context, shop *inventory.Shop) error {
		last, err := shop.Last(ctx)
		l.seq, l.hash = last.Seq, last.Hash.String()
		return err
	})
	if err != nil {
		return err
	}
	if err := t.file.add(l); err != nil {
		return err
	}
	if !slices.ContainsFunc(t.lots, func(b inventory.Balance) bool { return b.Bin == name }) {
		t.doubt(fmt.Sprintf("no shims in bin %q are on record", name), "if that is a slip: undo")
	}
	return t.told("")
}

// told says what a scan did, and how many shims the open bin has by now.
func (t *scanTalk) told(what string) error {
	so := "no bin is open"
	if bins, open := t.file.bins(); open >= 0 {
		so = fmt.Sprintf("%s: %s", bins[open].text(), shim.Count(bins[open].all(), "shim"))
	}
	if what != "" {
		so = what + "; " + so
	}
	_, err := fmt.Fprintln(t.err, "  "+so)
	return err
}

func (t *scanTalk) shim(d shim.Disc) string {
	return sizeText(d.Size, t.read.unit) + " " + familyText(d.Family, t.read.unit)
}

// rows are the counted pieces. What the record has in a scanned bin besides them is
// none.
func (f *scanFile) rows(lots []inventory.Balance, meant func(shim.Family) bool) (rows []shim.BoxRow) {
	bins, _ := f.bins()
	for _, b := range bins {
		for d, n := range b.pieces {
			rows = append(rows, shim.BoxRow{Marks: shim.Marks{Stamp: d.Size}, Family: d.Family, Bin: b.name, Count: n})
		}
		for _, l := range lots {
			if _, counted := b.pieces[l.Disc()]; l.Bin == b.name && l.Count > 0 && meant(l.Family) && !counted {
				rows = append(rows, shim.BoxRow{Marks: shim.Marks{Stamp: l.Size()}, Family: l.Family, Bin: b.name})
			}
		}
	}
	slices.SortFunc(rows, func(x, y shim.BoxRow) int {
		return cmp.Or(cmp.Compare(x.Bin, y.Bin), x.Of(x.Stamp).Compare(y.Of(y.Stamp)))
	})
	return rows
}

// sameShop refuses a count that was begun with another shop.
func (f *scanFile) sameShop(ctx context.Context, shop *inventory.Shop) error {
	for _, l := range f.lines {
		if l.what != "bin" || l.seq == 0 {
			continue
		}
		rows, err := shop.History(ctx, inventory.MovementFilter{After: l.seq - 1, Limit: 1})
		if err != nil {
			return err
		}
		if len(rows) == 0 || rows[0].Hash.String() != l.hash {
			return shim.Fail(nil, "name the shop with --shop, or count again with another file", "%s was begun with another shop", f.name)
		}
	}
	return nil
}

// unmoved refuses a count of a bin that something moved in after it was scanned.
func (f *scanFile) unmoved(ctx context.Context, shop *inventory.Shop) error {
	bins, _ := f.bins()
	for _, b := range bins {
		for after := b.since; ; {
			rows, err := shop.History(ctx, inventory.MovementFilter{After: after, Limit: 1000})
			if err != nil {
				return err
			}
			for _, m := range rows {
				after = m.Seq
				if m.Bin == b.name {
					return shim.Fail(inventory.ErrStale, "continue the count: scan the bin, drop, then scan it again from the start",
						"%s changed since it was scanned: %s was %s in booking %d", b.text(), m.Lot, m.Kind, m.Batch)
				}
			}
			if len(rows) < 1000 {
				break
			}
		}
	}
	return nil
}

// meant reports which families a count by scanning is of.
func (o *countOptions) meant() (func(shim.Family) bool, error) {
	of, err := o.typed(o.units.unit())
	u := o.units.unit()
	return func(f shim.Family) bool {
		return (of == shim.Family{}) || of.Kind == f.Kind && work.Same(of.Diameter, f.Diameter, u)
	}, err
}
