package main

import "github.com/spf13/cobra"

// newBox is the commands on the shim box.
func newBox(b *bench) *cobra.Command {
	return newGroup("box", "Keep the shop's shim box", `box keeps count of the shop's shims. Every change is a row in a ledger that is
only ever added to; what is on hand is the sum of its rows, and a mistake is
taken back by a row that says so. docs/box.md tells more.`,
		newBoxList(b), newBoxReceive(b), newBoxScrap(b), newBoxCorrect(b), newBoxCount(b),
		newBoxHistory(b), newBoxUndo(b), newBoxImport(b), newBoxExport(b), newBoxLabels(b))
}
