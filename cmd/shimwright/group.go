package main

import (
	"github.com/spf13/cobra"
)

// newGroup makes a command that only holds others. Alone it prints its help; it
// refuses an unknown command.
func newGroup(name, short, long string, commands ...*cobra.Command) *cobra.Command {
	cmd := &cobra.Command{
		Use:     name,
		Short:   short,
		Long:    long,
		Example: groupExample(commands),
		Args:    cobra.ArbitraryArgs,
		RunE: func(cmd *cobra.Command, args []string) error {
			if len(args) == 0 {
				return cmd.Help()
			}
			return unknown(cmd, args[0])
		},
	}
	cmd.SuggestionsMinimumDistance = 2
	cmd.AddCommand(commands...)
	addShopFlag(cmd)
	return cmd
}

// newShop makes the commands for the shop file itself.
func newShop(a *app) *cobra.Command {
	return newGroup("shop", "Make, check, copy and restore the shop file", `shop looks after the file with the box and the jobs: the one named by --shop, else
by SHIMWRIGHT_SHOP, else in the platform's data folder. shop info says where it
is. docs/box.md describes what it holds.`,
		newShopInit(a), newShopInfo(a), newShopCheck(a), newShopBackup(a), newShopRestore(a))
}

// newBox makes the commands for the shim box.
func newBox(a *app) *cobra.Command {
	return newGroup("box", "Keep the shop's shim box", `box keeps count of the shop's shims. Every change is added to a ledger. Nothing
in it is ever changed or deleted: the count on hand is the sum of its movements,
and a mistake is undone by a movement that reverses it. See docs/box.md.`,
		newBoxList(a), newBoxReceive(a), newBoxScrap(a), newBoxCorrect(a), newBoxCount(a),
		newBoxHistory(a), newBoxUndo(a), newBoxImport(a), newBoxExport(a), newBoxLabels(a))
}
