package main

import (
	"context"
	"os"
	"runtime"

	"github.com/spf13/cobra"

	"shimwright/inventory"
	"shimwright/inventory/sqlite"
)

// Only this file names the kind of store.

// shopPath returns the path of the call's shop file.
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

// restoreStore replaces the shop with a backup; kept is the old file's new path.
func restoreStore(ctx context.Context, backup, path string) (kept string, last inventory.Movement, err error) {
	return sqlite.Restore(ctx, backup, path)
}

// notShop refuses to write another kind of file over a shop file.
func notShop(path string) error { return sqlite.NotShop(path) }
