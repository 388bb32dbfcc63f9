package main

import (
	"context"
	"fmt"
	"io"

	"github.com/spf13/cobra"

	"shimwright/inventory"
	"shimwright/inventory/sqlite"
)

func newShopBackup(b *bench) *cobra.Command {
	return &cobra.Command{
		Use:   "backup FILE",
		Short: "Write a checked copy of the shop file",
		Long: `backup writes a copy of the shop as it is at one moment, while others work. The
copy is synced to the disk and checked as by shop check before it gets its
name. A file that is there is never overwritten.

To go back to a backup, put it in the place of the shop file, or name it with
--shop.`,
		Example: `  shimwright shop backup /media/stick/shop-2025-11-30.db`,
		Args:    exactly(1, "the file to write"),
		RunE:    func(cmd *cobra.Command, args []string) error { return runShopBackup(cmd, b, args[0]) },
	}
}

func runShopBackup(cmd *cobra.Command, b *bench, target string) error {
	return withShop(cmd, func(ctx context.Context, _ *inventory.Shop, store *sqlite.Store) error {
		if err := store.Backup(ctx, target); err != nil {
			return err
		}
		return b.write(func(w io.Writer) error {
			_, err := fmt.Fprintf(w, "Copied %s to %s and checked the copy.\nNext: keep it on another disk.\n", store.Path(), target)
			return err
		})
	})
}
