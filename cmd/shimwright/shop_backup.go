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
		Long: `backup writes a copy of the shop as it is at one moment, while others work. The
copy is synced to the disk and checked as by shop check before it gets its
name. A file that is there is never overwritten.

The last movement's number and its hash are printed. Written down elsewhere, the
hash proves later that nothing up to that movement was changed:
shop check --expect.

To go back to a backup: shop restore. To look into one, name it with --shop.`,
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
				if _, err := fmt.Fprintf(w, "Movement %d is its last one, with the hash\n%s\n", last.Seq, last.Hash); err != nil {
					return err
				}
			}
			_, err := fmt.Fprintln(w, "Next: keep it on another disk, and the hash on paper.")
			return err
		})
	})
}
