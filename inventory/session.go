package inventory

import (
	"context"
	"errors"
	"fmt"
	"iter"

	"shimwright/shim"
)

// A Command is what was asked for under a key and what was answered, kept in the
// booking's own transaction: given again under the same key it is not booked again.
type Command struct {
	Key    string
	Digest Hash   // of what was asked for
	Batch  int64  // that it booked, 0 where it moved no piece
	Answer string // what was printed; empty only in rows of earlier versions, which may lack it
	Status int    // the exit status that went with the answer, below 0 where that is lacking
	Seal   Hash
}

// A Session is the shop for one command. Until the first booking it reads and
// asks as usual. That booking begins a transaction; all that follows is read and
// booked inside it, by nobody else meanwhile, until [Session.Commit] keeps it
// together with the answer. An error in between takes everything back. A command
// must not wait for a person while its session [Session.Holds] the shop.
type Session struct {
	*Shop
	held *heldStore
}

// Session is the shop for the command with this key. The digest tells one request
// from another.
func (s *Shop) Session(key string, digest Hash) *Session {
	held := &heldStore{Store: s.raw}
	keyed := *s
	keyed.store = guarded{held}
	keyed.reads = false
	keyed.command = &Command{Key: key, Digest: digest}
	return &Session{&keyed, held}
}

// Given is what was booked under the key before, if anything. It is [ErrInvalid]
// where that was another request.
func (s *Session) Given(ctx context.Context) (c Command, found bool, err error) {
	err = s.store.View(ctx, func(r Reader) error {
		c, found, err = given(r, s.command)
		return err
	})
	return c, found, err
}

// Holds reports whether something is booked and not committed yet.
func (s *Session) Holds() bool { return s.held.w != nil }

// Commit keeps what was booked, with the answer and the exit status. Booked is
// false where there was nothing to keep.
func (s *Session) Commit(ctx context.Context, answer string, status int) (c Command, booked bool, err error) {
	if !s.Holds() {
		return Command{}, false, s.held.err
	}
	c = *s.command
	c.Answer, c.Status = answer, status
	if err := s.store.Update(ctx, func(w Writer) error { return w.PutCommand(c) }); err != nil {
		return Command{}, false, err
	}
	return c, true, s.held.end(nil)
}

// Close takes back what was booked and not committed.
func (s *Session) Close() { _ = s.held.end(errors.New("not committed")) }

// begin refuses the first booking of a command that was given before.
func (c *Command) begin(r Reader) error {
	_, found, err := given(r, c)
	if err == nil && found {
		err = shim.Fail(ErrGiven, "", "key %q: booked before", c.Key)
	}
	return err
}

func given(r Reader, asked *Command) (Command, bool, error) {
	c, err := r.Command(asked.Key)
	switch {
	case errors.Is(err, ErrUnknown):
		return Command{}, false, nil
	case err != nil:
		return Command{}, false, err
	case c.Digest != asked.Digest:
		what := "without a booking"
		if c.Batch != 0 {
			what = fmt.Sprintf("booking %d", c.Batch)
		}
		return c, true, shim.Fail(ErrInvalid, "use a new key for each command, or leave --key out",
			"key %q was used for another command, %s: request %s, this one is %s", c.Key, what, c.Digest.String()[:8], asked.Digest.String()[:8])
	}
	return c, true, nil
}

// heldStore leaves the transaction of its first successful Update open, for the
// views and updates that follow. The store's Update waits as a coroutine.
type heldStore struct {
	Store
	w    Writer // of the open transaction
	wake func() (Writer, bool)
	err  error // how the transaction ends
}

// View implements [Store].
func (h *heldStore) View(ctx context.Context, f func(Reader) error) error {
	if h.wake == nil {
		return h.Store.View(ctx, f)
	}
	return h.inside(ctx, func() error { return f(h.w) })
}

// Update implements [Store].
func (h *heldStore) Update(ctx context.Context, f func(Writer) error) error {
	if h.wake != nil {
		return h.inside(ctx, func() error { return f(h.w) })
	}
	wake, _ := iter.Pull(func(yield func(Writer) bool) {
		h.err = h.Store.Update(ctx, func(w Writer) error {
			if err := f(w); err != nil {
				return err
			}
			yield(w)
			return h.err
		})
	})
	w, open := wake()
	if !open { // nothing is booked, and the command may try again
		err := h.err
		h.err = nil
		return err
	}
	h.w, h.wake = w, wake
	return nil
}

// inside runs the function in the open transaction. Its error ends that: what
// was booked before is not whole without it.
func (h *heldStore) inside(ctx context.Context, f func() error) error {
	if h.w == nil {
		return errors.Join(h.err, errors.New("the command has ended"))
	}
	err := ctx.Err()
	if err == nil {
		err = f()
	}
	if err != nil {
		return h.end(err)
	}
	return nil
}

// end lets the store commit, or roll back where there is an error. It returns
// what the store says.
func (h *heldStore) end(err error) error {
	if h.w == nil {
		return h.err
	}
	h.w, h.err = nil, err
	h.wake()
	return h.err
}
