package main

import (
	"fmt"
	"io"

	"github.com/spf13/cobra"

	"shimwright/shim"
)

func newShopInit(a *app) *cobra.Command {
	return &cobra.Command{
		Use:   "init",
		Short: "Make a new, empty shop file",
		Long: `init makes the shop file, and its folder if it is missing. An existing file is
never touched.`,
		Example: `  shimwright shop init
  shimwright shop init --shop bay2.db`,
		Args: exactly(0, "no argument"),
		RunE: func(cmd *cobra.Command, args []string) error { return runShopInit(cmd, a, args) },
	}
}

func runShopInit(cmd *cobra.Command, a *app, _ []string) error {
	path, err := a.shopPath(cmd)
	if err != nil {
		return err
	}
	store, err := createStore(cmd.Context(), path)
	if err != nil {
		return err
	}
	if err := store.Close(); err != nil {
		return err
	}
	return a.write(func(w io.Writer) error {
		_, err := fmt.Fprintf(w, "Made the shop file %s.\nNext: enter the shims in the box with shimwright box import BOX.csv or box receive.\n", shim.Visible(path))
		return err
	})
}
