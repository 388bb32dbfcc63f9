package inventory

import (
	"context"
	"errors"
	"fmt"
)

// A Command is a booking that was given under a key, kept in the booking's own
// transaction: given again under the same key it is not booked again.
type Command struct {
	Key    string
	Digest Hash   // of what was asked for
	Batch  int64  // that it booked, 0 where it moved no piece
	Answer string // what was printed, empty until it is known
	Status int    // the exit status that went with the answer
	Seal   Hash
}

func (c Command) sealed() Command {
	c.Seal = seal(c.Key, c.Digest.String(), c.Batch, c.Answer, c.Status)
	return c
}

func (c Command) sound() (Command, error) {
	if c.Seal != c.sealed().Seal {
		return c, broken(fmt.Sprintf("the command of key %q", c.Key))
	}
	return c, nil
}

// Under is the shop whose next booking is kept under the key. The digest tells
// one request from another.
func (s *Shop) Under(key string, digest Hash) *Shop {
	keyed := *s
	keyed.reads = false
	keyed.command = &Command{Key: key, Digest: digest}
	return &keyed
}

// Booked is what the shop of [Shop.Under] booked, if it did.
func (s *Shop) Booked() (Command, bool) {
	if s.command == nil {
		return Command{}, false
	}
	return *s.command, s.kept
}

// Given is what was booked under the key of [Shop.Under] before, if anything. It
// is [ErrInvalid] where that was another request.
func (s *Shop) Given(ctx context.Context) (c Command, found bool, err error) {
	err = s.store.View(ctx, func(r Reader) error {
		c, found, err = given(r, s.command)
		return err
	})
	return c, found, err
}

func given(r Reader, asked *Command) (Command, bool, error) {
	c, err := r.Command(asked.Key)
	switch {
	case errors.Is(err, ErrUnknown):
		return Command{}, false, nil
	case err != nil:
		return Command{}, false, err
	case c.Digest != asked.Digest:
		what := "without a batch"
		if c.Batch != 0 {
			what = fmt.Sprintf("as batch %d", c.Batch)
		}
		return c, true, Fail(ErrInvalid, "give another command another key, or leave --key out",
			"key %q: another command was booked under it, %s: request %s, this one is %s", c.Key, what, c.Digest.String()[:8], asked.Digest.String()[:8])
	}
	return c, true, nil
}

// Answered keeps what was printed for the booking of [Shop.Under].
func (s *Shop) Answered(ctx context.Context, answer string, status int) error {
	c := *s.command
	c.Answer, c.Status = answer, status
	return s.store.Update(ctx, func(w Writer) error { return w.PutCommand(c) })
}

// keep writes the command's row, once: in the booking's own transaction.
func (s *Shop) keep(b *booking) error {
	if s.command == nil || s.kept {
		return nil
	}
	switch c, found, err := given(b, s.command); {
	case err != nil:
		return err
	case found:
		return Fail(ErrGiven, "", "key %q: booked before", c.Key)
	}
	s.command.Batch = b.receipt().Batch
	return b.PutCommand(*s.command)
}
