package main

import (
	"bytes"
	"context"
	"crypto/rand"
	"errors"
	"fmt"
	"io"
	"strings"

	"github.com/spf13/cobra"

	"shimwright/inventory"
	"shimwright/shim"
)

// A keptAnswer is what a command that books prints: the record keeps it with the
// booking. What is printed once the session holds the shop is held back until the
// booking is committed.
type keptAnswer struct {
	session *inventory.Session
	text    bytes.Buffer // all of standard output
	held    []heldText
}

type heldText struct {
	to   io.Writer
	text []byte
}

func (r *keptAnswer) write(out io.Writer, print func(w io.Writer) error) error {
	start := r.text.Len()
	if err := print(&r.text); err != nil {
		return err
	}
	_, err := holdingWriter{r, out}.Write(r.text.Bytes()[start:])
	return err
}

// release prints what was held back.
func (r *keptAnswer) release() error {
	var failed error
	for _, h := range r.held {
		_, err := h.to.Write(h.text)
		failed = errors.Join(failed, err)
	}
	return failed
}

// A holdingWriter holds text back while the session holds the shop.
type holdingWriter struct {
	*keptAnswer
	to io.Writer
}

func (w holdingWriter) Write(text []byte) (int, error) {
	if !w.session.Holds() {
		return w.to.Write(text)
	}
	w.held = append(w.held, heldText{w.to, bytes.Clone(text)})
	return len(text), nil
}

// withBooking is withShop for a command that books. The booking, its key and its
// answer are saved in one; the key is that of the call or a generated one. A repeat
// under the same key prints the first answer.
func (a *app) withBooking(cmd *cobra.Command, do func(ctx context.Context, shop *inventory.Shop) error) error {
	key, told, err := keyOf(cmd)
	if err != nil {
		return err
	}
	digest, err := a.request(cmd)
	if err != nil {
		return err
	}
	var done inventory.Command
	booked := false
	err = a.withShop(cmd, func(ctx context.Context, shop *inventory.Shop) error {
		session := shop.Session(key, digest)
		defer session.Close()
		if told {
			if c, found, err := session.Given(ctx); err != nil || found {
				return a.repeat(ctx, shop, c, err)
			}
		}
		said, loud := &keptAnswer{session: session}, a.err
		a.answer, a.err = said, holdingWriter{said, loud}
		result := do(ctx, session.Shop)
		a.answer, a.err = nil, loud
		if result != nil && !errors.Is(result, errOutside) {
			session.Close()
			if errors.Is(result, inventory.ErrGiven) { // by another process, just now
				c, _, err := session.Given(ctx)
				return a.repeat(ctx, shop, c, err)
			}
			return result
		}
		if done, booked, err = session.Commit(ctx, said.text.String(), status(result)); err != nil {
			return err
		}
		if err := said.release(); err != nil {
			return err
		}
		return result
	})
	switch {
	case errors.Is(err, inventory.ErrUnsure):
		return shim.Fail(nil, fmt.Sprintf("check the disk, then repeat the command with --key %s: nothing is booked twice", key), "unknown whether this was booked: %w", err)
	case err != nil && booked && !errors.Is(err, errOutside):
		return stands(done.Batch, err)
	}
	return err
}

// stands returns an error that came after the booking, which is saved.
func stands(batch int64, err error) error {
	what := "booked"
	if batch != 0 {
		what = fmt.Sprintf("saved as booking %d", batch)
	}
	return shim.Fail(errBooked, "do not repeat the command; see what is booked with shimwright box history and job show", "%s, but the output failed: %w", what, err)
}

// repeat prints the output of the first booking again, unless that was undone since.
func (a *app) repeat(ctx context.Context, shop *inventory.Shop, c inventory.Command, err error) error {
	if err != nil {
		return err
	}
	if c.Batch != 0 {
		switch by, err := shop.Undone(ctx, c.Batch); {
		case err != nil:
			return err
		case by != 0:
			return shim.Fail(nil, "to book it anew use another key, or none", "key %q: its booking %d was undone by booking %d since", c.Key, c.Batch, by)
		}
	}
	fmt.Fprintln(a.err, "Already booked under this key; nothing was booked now.")
	if c.Status < exitDone {
		return stands(c.Batch, errors.New("an earlier version of shimwright was stopped before it kept it"))
	}
	if err := a.say("%s", c.Answer); err != nil {
		return err
	}
	if c.Status == exitOutside {
		return errOutside
	}
	return nil
}

// keyOf returns the key of the call, or a new one. Told is whether it was given.
func keyOf(cmd *cobra.Command) (key string, told bool, err error) {
	if key, err = cmd.Flags().GetString("key"); err != nil {
		return "", false, err
	}
	if !cmd.Flags().Changed("key") {
		return strings.ToLower(rand.Text()[:12]), false, nil
	}
	if strings.TrimSpace(key) == "" {
		return "", true, wrong("give a text that no other command uses, like --key delivery-4711", "--key is empty")
	}
	return key, true, nil
}
