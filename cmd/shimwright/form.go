package main

import (
	"io"

	"github.com/spf13/cobra"

	"shimwright/shim"
	"shimwright/shim/files"
)

// formFlags say how to read a spreadsheet of any form.
type formFlags struct {
	columns, words []string
	delimiter      string
	decimal        *choice
}

// formFlagNames are the flags that [formFlags] adds.
var formFlagNames = []string{"map", "word", "delimiter", "decimal"}

func (o *formFlags) add(cmd *cobra.Command) {
	flags := cmd.Flags()
	flags.StringArrayVar(&o.columns, "map", nil, "a column of the spreadsheet and what it is, like `Dicke=size`; repeat it")
	flags.StringArrayVar(&o.words, "word", nil, "a word of the spreadsheet and what it means, like `gebraucht=used`; repeat it")
	flags.StringVar(&o.delimiter, "delimiter", "", "what stands between cells: comma, semicolon, tab, bar (default: the one the header uses)")
	o.decimal = addChoice(cmd, "decimal", "decimal sign of the spreadsheet", "either", "comma", "point")
}

// told reports whether a flag says anything of the form.
func (o *formFlags) told(cmd *cobra.Command) bool {
	for _, name := range formFlagNames {
		if cmd.Flags().Changed(name) {
			return true
		}
	}
	return false
}

// onto changes what the flags say of a form; a flag that says nothing empties its part.
func (o *formFlags) onto(cmd *cobra.Command, f *files.Form) error {
	said := cmd.Flags().Changed
	for _, list := range []struct {
		flag  string
		texts []string
		to    *[]files.Named
	}{{"map", o.columns, &f.Columns}, {"word", o.words, &f.Words}} {
		if !said(list.flag) {
			continue
		}
		*list.to = nil
		for _, text := range list.texts {
			if text == "" {
				continue
			}
			n, err := files.ParseNamed(text)
			if err != nil {
				return wrong(shim.HintOf(err), "--%s: %w", list.flag, err)
			}
			*list.to = append(*list.to, n)
		}
	}
	if said("delimiter") {
		var err error
		if f.Delimiter, err = files.ParseDelimiter(o.delimiter); err != nil {
			return wrong(shim.HintOf(err), "--delimiter: %w", err)
		}
	}
	if said("decimal") {
		if f.Decimal = o.decimal.value; f.Decimal == "either" {
			f.Decimal = ""
		}
	}
	return nil
}

// readSheet reads a spreadsheet of shims in the box.
func (a *app) readSheet(name string, f files.Form, marks files.Marks) ([]files.SheetRow, error) {
	return readInput(a, name, func(name string, r io.Reader) ([]files.SheetRow, []files.Fault, error) {
		return files.ReadSheet(name, r, f, marks)
	})
}

// readPrices reads a price list.
func (a *app) readPrices(name string, f files.Form, marks files.Marks) ([]shim.Offer, error) {
	return readInput(a, name, func(name string, r io.Reader) ([]shim.Offer, []files.Fault, error) {
		return files.ReadPrices(name, r, f, marks)
	})
}
