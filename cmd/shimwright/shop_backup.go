package main

import (
	"context"
	"fmt"
	"io"

	"github.com/spf13/cobra"

	"shimwright/inventory"
	"shimwright/shim"
)

func newShopBackup(a *app) *cobra.Command {
	return &cobra.Command{
		Use:   "backup FILE",
		Short: "Write a checked copy of the shop file",
		Long: `backup writes a consistent copy of the shop file, even while others work. The
copy is synced to the disk and checked like shop check before it gets its name.
An existing file is never overwritten.

It prints the number and the hash of the last movement. Write the hash down:
shop check --expect proves with it later that nothing up to that movement was
changed.

To go back to a backup, use shop restore. To look into one, name it with --shop.`,
		Example:           `  shimwright shop backup /media/stick/shop-2025-11-30.db`,
		Args:              exactly(1, "the file to write"),
		ValidArgsFunction: completeOnce(completeFile),
		RunE:              func(cmd *cobra.Command, args []string) error { return runShopBackup(cmd, a, args) },
	}
}

func runShopBackup(cmd *cobra.Command, a *app, args []string) error {
	target := args[0]
	return a.withShop(cmd, func(ctx context.Context, shop *inventory.Shop) error {
		last, err := shop.Backup(ctx, target)
		if err != nil {
			return err
		}
		return a.write(func(w io.Writer) error {
			if _, err := fmt.Fprintf(w, "Copied %s to %s and checked the copy.\n", shim.Visible(shop.Where()), shim.Visible(target)); err != nil {
				return err
			}
			if last.Seq != 0 {
				if _, err := fmt.Fprintf(w, "Its last movement is %d, with the hash\n%s\n", last.Seq, last.Hash); err != nil {
					return err
				}
			}
			_, err := fmt.Fprintln(w, "Next: keep the copy on another disk and the hash on paper.")
			return err
		})
	})
}

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
