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
