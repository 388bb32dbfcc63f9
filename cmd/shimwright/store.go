package main

import (
	"context"
	"os"
	"runtime"

	"github.com/spf13/cobra"

	"shimwright/inventory"
	"shimwright/inventory/sqlite"
)

// The kind of store is named here and nowhere else among the commands.

// shopPath is where the shop is that the call is about.
func (a *app) shopPath(cmd *cobra.Command) (string, error) {
	named, err := cmd.Flags().GetString("shop")
	if err != nil {
		return "", err
	}
	return sqlite.Path(named, sqlite.Environment{OS: runtime.GOOS, Getenv: a.getenv, Home: os.UserHomeDir})
}

func openStore(ctx context.Context, path string) (inventory.Store, error) {
	store, err := sqlite.Open(ctx, path)
	if err != nil {
		return nil, err // and no store that is not nil
	}
	return store, nil
}

func createStore(ctx context.Context, path string) (inventory.Store, error) {
	store, err := sqlite.Create(ctx, path)
	if err != nil {
		return nil, err
	}
	return store, nil
}

// restoreStore puts a backup in the place of the shop; kept is where the old
// one lies now.
func restoreStore(ctx context.Context, backup, path string) (kept string, last inventory.Movement, err error) {
	return sqlite.Restore(ctx, backup, path)
}

// notShop refuses the name of a file of another kind where a shop would be
// written over.
func notShop(path string) error { return sqlite.NotShop(path) }
