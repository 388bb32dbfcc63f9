package main

import (
	"bytes"
	"context"
	"crypto/sha256"
	"encoding/hex"
	"encoding/json"
	"errors"
	"io"
	"os"
	"os/user"
	"strings"

	"github.com/spf13/cobra"
	"github.com/spf13/pflag"

	"shimwright/inventory"
)

// addShopFlag adds the flags for the shop file and the person who books. Read
// them with withShop.
func addShopFlag(cmd *cobra.Command) {
	cmd.PersistentFlags().String("shop", "", "shop `FILE` (default $SHIMWRIGHT_SHOP, else the platform's data folder)")
	completesFlag(cmd, "shop", completeFile)
	cmd.PersistentFlags().String("who", "", "your `NAME`, for the record (default $SHIMWRIGHT_WHO, else the account name)")
}

// underShop wraps the store under a shop; tests make it fail.
var underShop = func(s inventory.Store) inventory.Store { return s }

// withShop opens the shop file, calls do and closes the file.
func (a *app) withShop(cmd *cobra.Command, do func(ctx context.Context, shop *inventory.Shop) error) error {
	path, err := a.shopPath(cmd)
	if err != nil {
		return err
	}
	ctx := cmd.Context()
	store, err := openStore(ctx, path)
	if err != nil {
		return err
	}
	err = do(ctx, inventory.New(underShop(store), a.who(cmd), a.now).Reading())
	if closing := store.Close(); err == nil {
		err = closing
	}
	return err
}

// who returns the person who books: --who, else SHIMWRIGHT_WHO (for several
// people who share an account), else the account name.
func (a *app) who(cmd *cobra.Command) string {
	if name, err := cmd.Flags().GetString("who"); err == nil && name != "" {
		return name
	}
	if name := a.getenv("SHIMWRIGHT_WHO"); name != "" {
		return name
	}
	if u, err := user.Current(); err == nil {
		return u.Username
	}
	return "unknown"
}

// booking lists the commands that change the record. Each takes a key; no other
// command can write.
var booking = []string{
	"gauge add", "gauge edit", "gauge retire",
	"supplier add", "supplier edit", "supplier read",
	"machine edit", "machine merge", "machine import",
	"box advise", "box receive", "box scrap", "box correct", "box count", "box import", "box undo", "box labels",
	"job open", "job read", "job plan", "job fit", "job order", "job recheck", "job correct", "job edit", "job close", "job cancel", "job certificate",
}

// addKeys adds the flag --key to the commands that book.
func addKeys(root *cobra.Command) {
	for _, name := range booking {
		cmd, _, err := root.Find(strings.Fields(name))
		if err != nil {
			panic(err) // the list names a command that is gone
		}
		cmd.Flags().String("key", "", "any `TEXT`; repeating the command with the same key prints the first answer and books nothing twice")
	}
}

// request is a digest of what the call asks for: the command, its words and
// flags, and the content of files and of standard input that they name. Who
// asks, and on which shop file, is left out.
func (a *app) request(cmd *cobra.Command) (inventory.Hash, error) {
	words := []string{cmd.CommandPath()}
	add := func(name, value string) error {
		words = append(words, name, value)
		if value == "-" && !a.inUsed {
			content, err := io.ReadAll(a.in)
			if err != nil {
				return err
			}
			a.in = bytes.NewReader(content)
			words = append(words, string(content))
		}
		if info, err := os.Stat(value); err == nil && info.Mode().IsRegular() && info.Size() < mostInput<<20 {
			content, err := os.ReadFile(value)
			if err != nil {
				return err
			}
			words = append(words, string(content))
		}
		return nil
	}
	var failed error
	for _, arg := range cmd.Flags().Args() {
		failed = errors.Join(failed, add("", arg))
	}
	cmd.Flags().Visit(func(f *pflag.Flag) {
		if f.Name != "key" && f.Name != "shop" && f.Name != "who" {
			if f.Name == "out" { // what it holds is not asked for
				words = append(words, f.Name, f.Value.String())
				return
			}
			failed = errors.Join(failed, add(f.Name, f.Value.String()))
		}
	})
	if failed != nil {
		return inventory.Hash{}, failed
	}
	if a.read != nil { // typed or piped before
		words = append(words, hex.EncodeToString(a.read.Sum(nil)))
	}
	text, err := json.Marshal(words)
	return sha256.Sum256(text), err
}
