package main

import (
	"context"
	"os/user"

	"github.com/spf13/cobra"

	"shimwright/inventory"
)

// addShopFlag adds the flags that name the shop file and who books. Read them
// with withShop.
func addShopFlag(cmd *cobra.Command) {
	cmd.PersistentFlags().String("shop", "", "shop `FILE` (default $SHIMWRIGHT_SHOP, else the platform's data folder)")
	completesFlag(cmd, "shop", completeFile)
	cmd.PersistentFlags().String("who", "", "`NAME` to book under (default $SHIMWRIGHT_WHO, else the account's)")
}

// underShop is put between the file and the shop; tests make it fail.
var underShop = func(s inventory.Store) inventory.Store { return s }

// withShop opens the shop file, does something with it and closes it.
func (b *bench) withShop(cmd *cobra.Command, do func(ctx context.Context, shop *inventory.Shop) error) error {
	path, err := b.shopPath(cmd)
	if err != nil {
		return err
	}
	ctx := cmd.Context()
	store, err := openStore(ctx, path)
	if err != nil {
		return err
	}
	err = do(ctx, inventory.New(underShop(store), b.who(cmd), b.now).Reading())
	if closing := store.Close(); err == nil {
		err = closing
	}
	return err
}

// who books: the named one, or SHIMWRIGHT_WHO where several people share an
// account, else the account.
func (b *bench) who(cmd *cobra.Command) string {
	if name, err := cmd.Flags().GetString("who"); err == nil && name != "" {
		return name
	}
	if name := b.getenv("SHIMWRIGHT_WHO"); name != "" {
		return name
	}
	if u, err := user.Current(); err == nil {
		return u.Username
	}
	return "unknown"
}
