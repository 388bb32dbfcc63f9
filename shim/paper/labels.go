package paper

import (
	"cmp"
	"errors"
	"fmt"
	"io"
	"strconv"
	"strings"

	"shimwright/shim"
)

// A Label is what stands on one drawer of the shim box. Without a size it is that of
// a bin, or a word for the scanner.
type Label struct {
	Size        shim.Length // to calculate with
	Stamp       shim.Length // the size marked, where it is another; else 0
	shim.Family             // a diameter of 0 is not known
	Bin         string
	Marking     string // what is written on the shim, where its size is not
	Word        string // what a scanner types, with About in words
	About       string
}

// Compare orders labels by family, size and bin.
func (l Label) Compare(m Label) int {
	return cmp.Or(l.Family.Compare(m.Family), cmp.Compare(l.Size, m.Size), cmp.Compare(l.Bin, m.Bin))
}

// text is what the mark says: size and diameter in mm, and the family where they
// are no plain discs, divided by semicolons like the columns of a box file. That of a
// bin is bin;NAME.
func (l Label) text() string {
	if l.Word != "" {
		return l.Word
	}
	if l.Size == 0 {
		return BinCode + l.Bin
	}
	text := shim.MM.FormatAtLeast(l.Size, 3)
	if l.Diameter != 0 {
		text += ";" + l.Diameter.String()
	}
	if l.Kind != "" {
		text += strings.Repeat(";", 2-strings.Count(text, ";")) + l.Kind
	}
	return text
}

// BinCode begins what the label of a bin says to a scanner.
const BinCode = "bin;"

// LabelOptions say how labels are printed.
type LabelOptions struct {
	Grid  LabelGrid
	Start int    // the first label to use, counted from 1 along the rows
	Mark  string // one of [Marks]
	Cut   bool   // draw the edges, for plain paper
}

type labelsPage struct {
	page
	Paper         string
	Width, Height string // of a page, in mm
	Sheets        []labelSheet
}

type labelSheet struct {
	Heading string
	Labels  []placed
}

// placed is a label at its place on the page, in mm.
type placed struct {
	X, Y    string
	Drawing drawing
}

// ErrLabels is wrapped by every error that says why labels cannot be made.
var ErrLabels = errors.New("these labels cannot be printed")

// Labels writes sheets of labels, to be printed at full size without margins.
// The error wraps [ErrLabels] where the options are at fault.
func Labels(w io.Writer, labels []Label, o LabelOptions) error {
	per := o.Grid.Columns * o.Grid.Rows
	switch {
	case len(labels) == 0:
		return fmt.Errorf("%w: there are none", ErrLabels)
	case o.Start < 1 || o.Start > per:
		return fmt.Errorf("%w: the sheet has labels 1 to %d, not %d", ErrLabels, per, o.Start)
	}
	paper := papers[o.Grid.Paper]
	p := labelsPage{page: page{Title: "Labels for the shim box"}, Paper: o.Grid.Paper, Width: paper[0].String(),
		// A hair less than the paper, so that rounding never begins another page.
		Height: (paper[1] - shim.Millimetre/2).String()}
	left, top := o.Grid.margins()
	for i, l := range labels {
		at := o.Start - 1 + i
		if at%per == 0 || i == 0 {
			p.Sheets = append(p.Sheets, labelSheet{Heading: "Sheet " + strconv.Itoa(len(p.Sheets)+1)})
		}
		d, err := o.draw(l, "label-"+strconv.Itoa(i+1))
		if err != nil {
			return fmt.Errorf("%w: %w", ErrLabels, err)
		}
		column, row := shim.Length(at%per%o.Grid.Columns), shim.Length(at%per/o.Grid.Columns)
		sheet := &p.Sheets[len(p.Sheets)-1]
		sheet.Labels = append(sheet.Labels, placed{
			X:       (left + column*(o.Grid.Width+o.Grid.GapX)).String(),
			Y:       (top + row*(o.Grid.Height+o.Grid.GapY)).String(),
			Drawing: d,
		})
	}
	return write(w, "labels", p)
}

// narrowest is the least width of a module, in mm, that common readers take
// from a printed label (0.25 mm: common practice).
const narrowest = 0.25

// draw draws one label: the mark at the left or, if it is bars, at the bottom,
// and the rest in three lines.
func (o LabelOptions) draw(l Label, id string) (drawing, error) {
	w, h := float64(o.Grid.Width)/float64(shim.Millimetre), float64(o.Grid.Height)/float64(shim.Millimetre)
	size := shim.MM.FormatAtLeast(l.Size, 3)
	d := drawing{ID: id, Class: "label", W: w, H: h, Title: "Shim " + size + " mm"}
	if l.Size == 0 {
		size = cmp.Or(l.Word, "bin "+l.Bin)
		d.Title = "To scan: " + size
	}
	if o.Cut {
		d.rect("thin", 0, 0, w, h)
	}
	pad := min(2.5, h*0.1)
	x, bottom := pad, h-pad
	switch o.Mark {
	case "qr":
		code, err := encode(o.Mark, l.text())
		if err != nil {
			return d, err
		}
		n := float64(code.Bounds().Dx())
		module := min((h-2)/(n+2*quietQR), 0.38*w/(n+2*quietQR), 0.8)
		if module < narrowest {
			return d, fmt.Errorf("a label of %s x %s mm is too small for a QR code", o.Grid.Width, o.Grid.Height)
		}
		across := module * (n + 2*quietQR)
		d.modules(code, 0.5+module*quietQR, (h-across)/2+module*quietQR, module, module)
		x = across + 0.5
	case "code128":
		code, err := encode(o.Mark, l.text())
		if err != nil {
			return d, err
		}
		n := float64(code.Bounds().Dx())
		module := min((w-1)/(n+2*quiet128), 0.5)
		if module < narrowest {
			return d, fmt.Errorf("a label of %s x %s mm is too narrow for Code 128", o.Grid.Width, o.Grid.Height)
		}
		bars := min(h*0.32, 15)
		bottom = h - pad - bars
		d.modules(code, (w-module*n)/2, bottom, module, bars)
		bottom -= h * 0.04
	}
	d.Desc = d.lines(l, size, x, pad, w-pad-x, bottom-pad-0.3)
	return d, nil
}

// lines writes the size large and the rest below it into a field, and gives
// the rest in words.
func (d *drawing) lines(l Label, size string, x, y, w, h float64) string {
	if l.Size == 0 {
		big := min(fitting(size, 11, w), h*0.42)
		d.text("strong", "start", x, y+big*0.8, big, w, size)
		about := cmp.Or(l.About, "scan it before the shims in it")
		d.text("plain", "start", x, y+h*0.7, min(fitting(about, 3, w), h*0.25), w, about)
		return about
	}
	rest := []string{shim.IN.Show(l.Size, 4, 4) + " in"}
	if l.Diameter != 0 {
		rest = append(rest, cmp.Or(l.Kind, "disc")+" "+l.Diameter.String()+" mm")
	} else if l.Kind != "" {
		rest = append(rest, l.Kind)
	}
	where := ""
	if l.Bin != "" {
		where = "bin " + l.Bin
	}
	if l.Stamp != 0 && l.Stamp != l.Size {
		where = strings.TrimPrefix(where+", marked "+shim.WithMark(shim.MM.FormatAtLeast(l.Stamp, 3), l.Marking), ", ")
		l.Marking = ""
	}
	text := strings.Join(rest, ", ")
	size = shim.WithMark(size+" mm", l.Marking)
	big := min(fitting(size, 11, w), h*0.42)
	// Inches and disc share a line, or have one each where that makes them larger.
	lines := []string{text}
	if joined, split := lineSize(lines, w, h-big), lineSize(rest, w, h-big); split > joined {
		lines = rest
	}
	small := lineSize(lines, w, h-big)
	d.text("strong", "start", x, y+big*0.8, big, w, size)
	at := y + big
	for _, line := range lines {
		at += (h - big) / float64(len(lines)+1)
		d.text("plain", "start", x, at, small, w, line)
	}
	if where != "" {
		// Names of bins are anybody's: a long one is cut rather than made illegible.
		shown := []rune(where)
		for len(shown) > 2 && fitting(string(shown), small, w) < min(small, 2) {
			shown = append(shown[:len(shown)-2], '…')
		}
		d.text("strong", "start", x, y+h, fitting(string(shown), small, w), w, string(shown))
		text += ", " + where
	}
	return text
}

// lineSize is the size in which the lines, and one more, fill a field.
func lineSize(lines []string, w, h float64) float64 {
	size := min(h/float64(len(lines)+1)*0.85, 5)
	for _, line := range lines {
		size = fitting(line, size, w)
	}
	return size
}
