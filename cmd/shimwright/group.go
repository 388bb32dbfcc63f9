package main

import (
	"github.com/spf13/cobra"
)

// newGroup is a command that only holds others. Alone it prints its help; a
// word that is none of its commands is refused.
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

// newShop is the commands on the shop file itself.
func newShop(a *app) *cobra.Command {
	return newGroup("shop", "Make, check, copy and restore the shop file", `shop looks after the file that keeps the box and the jobs. It is named by --shop,
else by SHIMWRIGHT_SHOP, else it lies in the platform's data folder; shop info
says where. docs/box.md says what is kept and how.`,
		newShopInit(a), newShopInfo(a), newShopCheck(a), newShopBackup(a), newShopRestore(a))
}

// newBox is the commands on the shim box.
func newBox(a *app) *cobra.Command {
	return newGroup("box", "Keep the shop's shim box", `box keeps count of the shop's shims. Every change is a row in a ledger that is
only ever added to; what is on hand is the sum of its rows, and a mistake is
taken back by a row that says so. docs/box.md tells more.`,
		newBoxList(a), newBoxReceive(a), newBoxScrap(a), newBoxCorrect(a), newBoxCount(a),
		newBoxHistory(a), newBoxUndo(a), newBoxImport(a), newBoxExport(a), newBoxLabels(a))
}
