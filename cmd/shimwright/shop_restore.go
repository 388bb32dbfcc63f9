package main

import (
	"fmt"
	"io"

	"github.com/spf13/cobra"

	"shimwright/inventory"
	"shimwright/shim"
)

func newShopRestore(a *app) *cobra.Command {
	return &cobra.Command{
		Use:   "restore FILE",
		Short: "Replace the shop file with a backup",
		Long: `restore checks the backup like shop check and replaces the shop file with a copy
of it in one step. The old file is kept beside it, with its journal. Bookings made
after the backup are missing: count the box.

Never copy a backup over the shop file by hand: the journal of an interrupted
command might be rolled into the copy.`,
		Example:           `  shimwright shop restore /media/stick/shop-2025-11-30.db`,
		Args:              exactly(1, "the backup"),
		ValidArgsFunction: completeOnce(completeFile),
		RunE:              func(cmd *cobra.Command, args []string) error { return runShopRestore(cmd, a, args) },
	}
}

func runShopRestore(cmd *cobra.Command, a *app, args []string) error {
	backup := args[0]
	path, err := a.shopPath(cmd)
	if err != nil {
		return err
	}
	kept, last, err := restoreStore(cmd.Context(), backup, path)
	if err != nil {
		return err
	}
	return a.write(func(w io.Writer) error {
		if _, err := fmt.Fprintf(w, "Restored %s from %s%s.\n", shim.Visible(path), shim.Visible(backup), upTo(last)); err != nil {
			return err
		}
		if kept != "" {
			if _, err := fmt.Fprintf(w, "The old file is kept as %s.\n", shim.Visible(kept)); err != nil {
				return err
			}
		}
		_, err := fmt.Fprintln(w, "Next: count the box, as later bookings are missing: shimwright box count.")
		return err
	})
}

// upTo says where a copy's ledger ends.
func upTo(last inventory.Movement) string {
	if last.Seq == 0 {
		return ""
	}
	return fmt.Sprintf(", up to movement %d", last.Seq)
}
