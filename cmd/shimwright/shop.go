package main

import (
	"bytes"
	"context"
	"crypto/rand"
	"crypto/sha256"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"os"
	"os/user"
	"strings"

	"github.com/spf13/cobra"
	"github.com/spf13/pflag"

	"shimwright/inventory"
	"shimwright/shim"
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
	"box receive", "box scrap", "box correct", "box count", "box import", "box undo",
	"job open", "job read", "job plan", "job fit", "job order", "job recheck", "job correct", "job edit", "job close", "job cancel",
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

// stands returns an error that came after the booking, which is saved.
func stands(batch int64, err error) error {
	what := "booked"
	if batch != 0 {
		what = fmt.Sprintf("saved as booking %d", batch)
	}
	return shim.Fail(errBooked, "do not repeat the command; see what is booked with shimwright box history and job show", "%s, but the output failed: %w", what, err)
}

// withBooking is withShop for a command that books. The booking is saved under
// the key of the call or a generated one; a repeat under the same key prints the
// first answer.
func (a *app) withBooking(cmd *cobra.Command, do func(ctx context.Context, shop *inventory.Shop) error) error {
	key, err := cmd.Flags().GetString("key")
	if err != nil {
		return err
	}
	told := cmd.Flags().Changed("key")
	if told && strings.TrimSpace(key) == "" {
		return wrong("give a text that no other command uses, like --key delivery-4711", "--key is empty")
	}
	if !told {
		key = strings.ToLower(rand.Text()[:12])
	}
	digest, err := a.request(cmd)
	if err != nil {
		return err
	}
	var done inventory.Command
	kept := false
	err = a.withShop(cmd, func(ctx context.Context, shop *inventory.Shop) error {
		shop = shop.Under(key, digest)
		again := func() (bool, error) {
			c, found, err := shop.Given(ctx)
			if err == nil && found {
				err = a.repeat(c)
			}
			return found, err
		}
		if told {
			if found, err := again(); found || err != nil {
				return err
			}
		}
		a.said = &bytes.Buffer{}
		err := do(ctx, shop)
		text := a.said.String()
		a.said = nil
		if errors.Is(err, inventory.ErrGiven) { // by another process, just now
			_, err = again()
			return err
		}
		if done, kept = shop.Booked(); kept && told {
			code := exitDone
			if a.outside {
				code = exitOutside
			}
			// Without this a repeat says that the answer is lost.
			_ = shop.Answered(ctx, text, code)
		}
		return err
	})
	switch {
	case errors.Is(err, inventory.ErrUnsure):
		return shim.Fail(nil, fmt.Sprintf("check the disk, then repeat the command with --key %s: nothing is booked twice", key), "unknown whether this was booked: %w", err)
	case err != nil && kept && !errors.Is(err, errOutside):
		return stands(done.Batch, err)
	}
	return err
}

// repeat prints the output of the first booking again.
func (a *app) repeat(c inventory.Command) error {
	fmt.Fprintln(a.err, "Already booked under this key; nothing was booked now.")
	text := c.Answer
	if c.Status == inventory.Unanswered {
		lost := errors.New("the command was stopped before its answer was saved")
		if c.Batch == 0 { // a plan or a recheck, which may have left a valve outside
			return stands(0, lost)
		}
		fmt.Fprintf(a.err, "Its output is lost: %v. See shimwright box history.\n", lost)
		text = fmt.Sprintf("Saved as booking %d.\n", c.Batch)
	}
	if err := a.say("%s", text); err != nil {
		return err
	}
	if c.Status == exitOutside {
		return errOutside
	}
	return nil
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
			failed = errors.Join(failed, add(f.Name, f.Value.String()))
		}
	})
	if failed != nil {
		return inventory.Hash{}, failed
	}
	text, err := json.Marshal(words)
	return sha256.Sum256(text), err
}
