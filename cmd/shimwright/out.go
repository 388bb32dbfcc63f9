package main

import (
	"bytes"
	"io"

	"github.com/spf13/cobra"
)

// addOut adds the flag for the file to write to.
func addOut(cmd *cobra.Command, out *string) {
	cmd.Flags().StringVarP(out, "out", "o", "", "write to this `FILE` instead of standard output")
}

// writeOut writes to the file in one step, or to standard output where no file
// is named.
func (b *bench) writeOut(file string, print func(w io.Writer) error) error {
	if file == "" {
		return b.write(print)
	}
	var content bytes.Buffer
	if err := print(&content); err != nil {
		return err
	}
	return save(file, content.Bytes())
}
