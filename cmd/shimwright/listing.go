package main

import (
	"encoding/csv"
	"encoding/json"
	"fmt"
	"io"
	"strings"
	"time"

	"github.com/spf13/cobra"

	"shimwright/shim"
	"shimwright/shim/report"
)

// A printed is a listing that prints itself in each of the forms.
type printed interface {
	document() *report.Document
	json(w io.Writer) error
	csv(w io.Writer) error
}

// addOutput adds the flag for the form of a listing.
func addOutput(cmd *cobra.Command) *choice {
	return addChoice(cmd, "output", "form of the output", "table", "json", "csv", "markdown")
}

// list prints a listing in the form.
func (b *bench) list(l printed, form string) error {
	return b.write(func(w io.Writer) error {
		switch form {
		case "json":
			return l.json(w)
		case "csv":
			return l.csv(w)
		case "markdown":
			return l.document().Markdown(w)
		}
		return l.document().Narrow(b.width).Text(w, b.color)
	})
}

// writeJSON writes a value as one JSON text, indented.
func writeJSON(w io.Writer, v any) error {
	encoder := json.NewEncoder(w)
	encoder.SetIndent("", "  ")
	encoder.SetEscapeHTML(false)
	return encoder.Encode(v)
}

// writeCSV writes rows, the first of which names the columns.
func writeCSV(w io.Writer, rows [][]string) error {
	out := csv.NewWriter(w)
	for _, row := range rows {
		cells := make([]string, len(row))
		for i, cell := range row {
			cells[i] = sheetCell(cell)
		}
		_ = out.Write(cells) // its error shows below
	}
	out.Flush()
	return out.Error()
}

// sheetCell is a cell for CSV: numbers stay numbers, text is no formula.
func sheetCell(cell string) string {
	if digits, minus := strings.CutPrefix(cell, "-"); minus && digits != "" && strings.Trim(digits, "0123456789.") == "" {
		return cell
	}
	return shim.SheetText(cell)
}

// known is a length for JSON: null where it is 0, not known.
func known(l shim.Length) *shim.Length {
	if l == 0 {
		return nil
	}
	return &l
}

// cellOf is a length for CSV in mm: empty where it is 0, not known.
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

// stamp is a time for JSON and CSV: RFC 3339 in UTC.
func stamp(t time.Time) string { return t.UTC().Format(time.RFC3339) }

// count is a number with its noun, "1 piece" or "3 pieces".
func count(n int, noun string) string {
	if n == 1 {
		return "1 " + noun
	}
	return fmt.Sprintf("%d %ss", n, noun)
}
