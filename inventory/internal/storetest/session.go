package storetest

import (
	"context"
	"errors"
	"testing"

	"github.com/stretchr/testify/require"

	"shimwright/inventory"
)

var sessionTests = map[string]func(*testing.T, inventory.Store){
	"kept with its answer":     sessionKept,
	"an error takes all back":  sessionTakenBack,
	"a first failure is free":  sessionTriesAgain,
	"the key was given before": sessionGiven,
}

// pieces counts what a shop of its own sees of 2.4.
func pieces(t *testing.T, s inventory.Store) int { return newBench(t, s).on("2.4")[0] }

// sessionKept books twice: the session sees its own bookings, and both are kept
// in one with the answer.
func sessionKept(t *testing.T, s inventory.Store) {
	session := newBench(t, s).Session("k", inventory.Hash{1})
	defer session.Close()
	mine := &bench{session.Shop, t}
	require.Equal(t, [2]int{}, mine.on("2.4"))
	require.False(t, session.Holds())
	mine.stock(3, "2.4")
	require.True(t, session.Holds())
	require.Equal(t, 3, mine.on("2.4")[0])
	mine.stock(2, "2.4")
	c, booked, err := session.Commit(ctx, "five came", 3)
	require.NoError(t, err)
	require.True(t, booked)
	require.False(t, session.Holds())
	require.Equal(t, inventory.Command{Key: "k", Digest: inventory.Hash{1}, Batch: 1, Answer: "five came", Status: 3}, c)
	session.Close() // comes too late to take anything back
	require.Equal(t, 5, pieces(t, s))
	given, found, err := newBench(t, s).Session("k", inventory.Hash{1}).Given(ctx)
	require.NoError(t, err)
	require.True(t, found)
	given.Seal = c.Seal
	require.Equal(t, c, given)
}

// sessionTakenBack: what a session booked is gone when it is closed, when one of
// its later steps fails, even if the command goes on, and when it is cancelled.
func sessionTakenBack(t *testing.T, s inventory.Store) {
	var gone context.Context
	var cancel context.CancelFunc
	for name, spoil := range map[string]func(*inventory.Session) error{
		"closed": func(session *inventory.Session) error { session.Close(); return nil },
		"a view fails": func(session *inventory.Session) error {
			_, err := session.Job(ctx, 99)
			require.ErrorIs(t, err, inventory.ErrUnknown)
			return inventory.ErrUnknown
		},
		"a booking fails": func(session *inventory.Session) error {
			_, err := session.Scrap(ctx, []inventory.Item{{Lot: lot("2.4"), Count: 9}})
			require.ErrorIs(t, err, inventory.ErrShort)
			_, err = session.Receive(ctx, Items(1))
			require.Error(t, err, "nothing is booked without the first part")
			return inventory.ErrShort
		},
		"cancelled": func(*inventory.Session) error { cancel(); return context.Canceled },
	} {
		gone, cancel = context.WithCancel(ctx)
		defer cancel()
		session := newBench(t, s).Session(name, inventory.Hash{1})
		_, err := session.Receive(gone, []inventory.Item{{Lot: lot("2.4"), Count: 3}})
		require.NoError(t, err, name)
		require.True(t, session.Holds(), name)
		want := spoil(session)
		_, booked, err := session.Commit(gone, "done", 0)
		require.False(t, booked, name)
		if want == nil {
			require.Error(t, err, name)
		} else {
			require.ErrorIs(t, err, want, name)
		}
		require.Zero(t, pieces(t, s), name)
	}
}

// sessionTriesAgain: a first booking that fails begins nothing, and the command
// may look at the shop as others changed it and try again.
func sessionTriesAgain(t *testing.T, s inventory.Store) {
	session := newBench(t, s).Session("k", inventory.Hash{1})
	defer session.Close()
	scrap := func() error {
		_, err := session.Scrap(ctx, []inventory.Item{{Lot: lot("2.4"), Count: 2}})
		return err
	}
	require.ErrorIs(t, scrap(), inventory.ErrShort)
	require.False(t, session.Holds())
	newBench(t, s).stock(3, "2.4")
	require.Equal(t, 3, (&bench{session.Shop, t}).on("2.4")[0])
	require.NoError(t, scrap())
	_, booked, err := session.Commit(ctx, "", 0)
	require.NoError(t, err)
	require.True(t, booked)
	require.Equal(t, 1, pieces(t, s))
}

// sessionGiven: of two sessions with one key that both found it free, one books.
func sessionGiven(t *testing.T, s inventory.Store) {
	first, second := newBench(t, s).Session("k", inventory.Hash{1}), newBench(t, s).Session("k", inventory.Hash{1})
	defer second.Close()
	for _, one := range []*inventory.Session{first, second} {
		_, found, err := one.Given(ctx)
		require.NoError(t, err)
		require.False(t, found)
	}
	(&bench{first.Shop, t}).stock(3, "2.4")
	_, _, err := first.Commit(ctx, "three came", 0)
	require.NoError(t, err)
	_, err = second.Receive(ctx, Items(3))
	require.True(t, errors.Is(err, inventory.ErrGiven), err)
	c, found, err := second.Given(ctx)
	require.NoError(t, err)
	require.True(t, found)
	require.Equal(t, "three came", c.Answer)
	_, found, err = newBench(t, s).Session("k", inventory.Hash{2}).Given(ctx)
	require.ErrorIs(t, err, inventory.ErrInvalid)
	require.True(t, found)
}
