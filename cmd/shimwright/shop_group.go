package main

import "github.com/spf13/cobra"

// newShop is the commands on the shop file itself.
func newShop(b *bench) *cobra.Command {
	return newGroup("shop", "Make, check, copy and restore the shop file", `shop looks after the file that keeps the box and the jobs. It is named by --shop,
else by SHIMWRIGHT_SHOP, else it lies in the platform's data folder; shop info
says where. docs/box.md says what is kept and how.`,
		newShopInit(b), newShopInfo(b), newShopCheck(b), newShopBackup(b), newShopRestore(b))
}
