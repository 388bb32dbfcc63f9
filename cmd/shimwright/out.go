package main

import (
	"bytes"
	"io"

	"github.com/spf13/cobra"
)

// addOut adds the flag for the file to write to.
func addOut(cmd *cobra.Command, out *string) {
	cmd.Flags().StringVarP(out, "out", "o", "", "write to this `FILE` instead of standard output")
	completesFlag(cmd, "out", completeFile)
}

// toScreen refuses to print a page of HTML to a terminal, where nobody can use it.
func (b *bench) toScreen(way string) error {
	if !b.screen {
		return nil
	}
	return wrong("name a file for it: "+way, "this is a page for the browser, not for the terminal")
}

// writeOut is [bench.writeTo] for a page of HTML.
func (b *bench) writeOut(file string, print func(w io.Writer) error) error {
	if file == "" {
		if err := b.toScreen("--out page.html"); err != nil {
			return err
		}
	}
	return b.writeTo(file, print)
}

// writeTo writes to the file in one step, or to standard output where no file
// is named.
func (b *bench) writeTo(file string, print func(w io.Writer) error) error {
	if file == "" {
		return b.write(print)
	}
	var content bytes.Buffer
	if err := print(&content); err != nil {
		return err
	}
	return save(file, content.Bytes())
}
