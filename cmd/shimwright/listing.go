package main

import (
	"bytes"
	"encoding/csv"
	"encoding/json"
	"fmt"
	"io"
	"slices"
	"time"
	"unicode/utf16"
	"unicode/utf8"

	"github.com/spf13/cobra"

	"shimwright/shim"
	"shimwright/shim/report"
)

// A printed is a listing that prints itself in every format.
type printed interface {
	document() *report.Document
	json(w io.Writer) error
	csv(w io.Writer) error
}

// addOutput adds the flag for the format of a listing.
func addOutput(cmd *cobra.Command) *choice {
	return addChoice(cmd, "output", "output format", "table", "json", "csv", "markdown")
}

// list prints a listing in the given format.
func (a *app) list(l printed, form string) error {
	return a.write(func(w io.Writer) error {
		switch form {
		case "json":
			return l.json(visibleJSON{w})
		case "csv":
			return l.csv(w)
		case "markdown":
			return l.document().Markdown(w)
		}
		return l.document().Narrow(a.width).Text(w, a.color)
	})
}

// writeJSON writes a value as one JSON text, indented.
func writeJSON(w io.Writer, v any) error {
	encoder := json.NewEncoder(w)
	encoder.SetIndent("", "  ")
	encoder.SetEscapeHTML(false)
	return encoder.Encode(v)
}

// A visibleJSON passes JSON on and escapes as \u every character that could control
// a terminal or change the writing direction: to a program the text is the same.
// Each write must hold whole characters, as encoders write them.
type visibleJSON struct{ w io.Writer }

func (v visibleJSON) Write(text []byte) (int, error) {
	if !bytes.ContainsFunc(text, steers) {
		return v.w.Write(text)
	}
	var b bytes.Buffer
	for i, size := 0, 0; i < len(text); i += size {
		var c rune
		c, size = utf8.DecodeRune(text[i:])
		switch {
		case !steers(c):
			b.Write(text[i : i+size])
		case c < 0x10000:
			fmt.Fprintf(&b, `\u%04x`, c)
		default:
			high, low := utf16.EncodeRune(c)
			fmt.Fprintf(&b, `\u%04x\u%04x`, high, low)
		}
	}
	if _, err := v.w.Write(b.Bytes()); err != nil {
		return 0, err
	}
	return len(text), nil
}

// steers reports whether a character of JSON is harmful. Control characters occur
// only between tokens; in strings they are escaped already.
func steers(c rune) bool { return c >= ' ' && shim.Harmful(c) }

// writeCSV writes rows, the first of which names the columns.
func writeCSV(w io.Writer, rows [][]string) error {
	out := csv.NewWriter(w)
	for _, row := range rows {
		cells := make([]string, len(row))
		for i, cell := range row {
			cells[i] = shim.SheetText(cell)
			if i < len(rows[0]) && slices.Contains(signed, rows[0][i]) {
				cells[i] = cell
			}
		}
		_ = out.Write(cells) // its error shows below
	}
	out.Flush()
	return out.Error()
}

// signed are the columns with numbers that may be negative. Elsewhere "-5" is text,
// which a spreadsheet must not take for a formula.
var signed = []string{"count", "on_hand", "reserved", "free", "net_out", "moved_mm"}

// known is a length for JSON: null if it is 0, unknown.
func known(l shim.Length) *shim.Length {
	if l == 0 {
		return nil
	}
	return &l
}

// cellOf is a length for CSV in mm: empty if it is 0, unknown.
func cellOf(l shim.Length) string {
	if l == 0 {
		return ""
	}
	return l.String()
}

// when is a time for people, in local time.
func when(t time.Time) string { return t.Local().Format("2006-01-02 15:04") }

// day is a date for people, in local time.
func day(t time.Time) string { return t.Local().Format(time.DateOnly) }

// dayOr is day, nothing where the time is not known.
func dayOr(t time.Time) string {
	if t.IsZero() {
		return ""
	}
	return day(t)
}

// stamp is a time for JSON and CSV: RFC 3339 in UTC.
func stamp(t time.Time) string { return t.UTC().Format(time.RFC3339) }

// A page is the part of a listing to print; number 0 means all.
type page struct{ number int }

// pageOf reads the flags. Tables are paged unless --all is given; JSON and CSV are
// whole unless --page is given.
func pageOf(cmd *cobra.Command, number int, all bool, form string) (page, error) {
	switch {
	case cmd.Flags().Changed("page"):
		if number < 1 {
			return page{}, wrong("--page 1", "pages are numbered from 1")
		}
		return page{number}, nil
	case all, form == "json", form == "csv":
		return page{}, nil
	}
	return page{1}, nil
}

// shows reports whether a row, counted from 0, is on the page.
func (p page) shows(row int) bool { return p.number == 0 || row/pageRows == p.number-1 }

func (p page) pages(rows int) int {
	if p.number == 0 {
		return 1
	}
	return max(1, (rows+pageRows-1)/pageRows)
}

// notes say how to see the rest.
func (p page) notes(rows int) []string {
	of := p.pages(rows)
	switch {
	case p.number > of:
		return []string{fmt.Sprintf("There is no page %d; the last is page %d.", p.number, of)}
	case of == 1:
		return nil
	case p.number == of:
		return []string{fmt.Sprintf("Page %d of %d.", p.number, of)}
	}
	return []string{fmt.Sprintf("Page %d of %d. Next: --page %d, or --all.", p.number, of, p.number+1)}
}

// pageJSON says which page a program got, and of how many.
type pageJSON struct {
	Page  int `json:"page"`
	Pages int `json:"pages"`
}

func (p page) json(rows int) pageJSON { return pageJSON{max(1, p.number), p.pages(rows)} }

// withFamilies adds the column of the families to the rows of a CSV if some of the
// shims are no plain discs. The first row is the header.
func withFamilies(rows [][]string, families []shim.Family) [][]string {
	if !hasKinds(families) {
		return rows
	}
	rows[0] = append(rows[0], "family")
	for i, f := range families {
		rows[i+1] = append(rows[i+1], shim.SheetText(f.Kind))
	}
	return rows
}
