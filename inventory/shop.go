package inventory

import (
	"context"
	"errors"
	"strings"
	"time"

	"shimwright/shim"
)

// A Shop is the box and the jobs over a store. Its methods that change
// something are whole or not at all, and may be called from several processes
// at once as far as the store allows.
type Shop struct {
	store Store // verifies and seals every row
	raw   Store // as it is kept, for the check
	who   string
	now   func() time.Time

	reads   bool     // whether it only reads
	trial   bool     // whether nothing is kept
	command *Command // that the next booking is kept as; nil for none
	kept    bool     // whether it was
}

// New is the shop in the store. Who is booked with every change, and the clock
// gives its time, to the second.
func New(store Store, who string, clock func() time.Time) *Shop {
	return &Shop{store: guarded{store}, raw: store, who: strings.ToValidUTF8(who, ""), now: clock}
}

// Reading is the shop for commands that book nothing.
func (s *Shop) Reading() *Shop {
	only := *s
	only.reads = true
	return &only
}

// Trial is the shop for a look at what a command would do: each is worked out
// to its end, its answer is given, and nothing of it is kept.
func (s *Shop) Trial() *Shop {
	only := *s
	only.trial = true
	return &only
}

// Where names the place that the shop is kept in.
func (s *Shop) Where() string { return s.raw.Where() }

// Info is what the store knows of that place.
func (s *Shop) Info(ctx context.Context) (Info, error) { return s.raw.Info(ctx) }

// Backup writes a checked copy of the shop. See [Store].
func (s *Shop) Backup(ctx context.Context, target string) (Movement, error) {
	return s.raw.Backup(ctx, target)
}

func (s *Shop) time() time.Time { return s.now().UTC().Truncate(time.Second) }

// A Receipt says what a command booked.
type Receipt struct {
	Batch     int64 // what [Shop.Undo] takes; 0 where nothing was booked
	Movements []Movement
	// Released are pieces that other jobs' plans counted on and that were
	// taken away. Those jobs have to be planned again.
	Released []Hold
	// Shifted are promises that went over to other pieces of the same size.
	Shifted []Shift
	// Came are the pieces that [Shop.Arrived] booked in, on the terms that they
	// came on. Those that nobody ordered have neither a supplier nor NoName.
	Came []OrderLine
}

// A Shift is a promise to a job that went over to another lot.
type Shift struct {
	Job      int64
	From, To Lot
	Count    int
}

// update runs a booking as one transaction.
func (s *Shop) update(ctx context.Context, f func(*booking) error) (Receipt, error) {
	var receipt Receipt
	if s.reads {
		return receipt, errors.New("a command that takes no --key books nothing")
	}
	if err := OnTime(s.time()); err != nil {
		return receipt, err
	}
	err := s.store.Update(ctx, func(w Writer) error {
		last, err := w.Last()
		if err != nil {
			return err
		}
		b := &booking{Writer: w, who: s.who, at: s.time(), last: last, first: last.Seq + 1, touched: map[shim.Length]bool{}}
		if err := f(b); err != nil {
			return err
		}
		receipt = b.receipt()
		if s.trial {
			return errTrial
		}
		return s.keep(b)
	})
	if s.trial && errors.Is(err, errTrial) {
		return receipt, nil
	}
	if err != nil {
		return Receipt{}, err
	}
	s.kept = s.command != nil
	return receipt, nil
}

// errTrial takes a trial back.
var errTrial = errors.New("only a trial")

// OnTime refuses what a clock that is set wrong says: a time that cannot be
// written down would spoil the ledger.
func OnTime(at time.Time) error {
	if at.Year() < firstYear || at.Year() > lastYear {
		return Fail(ErrInvalid, "set the clock of this computer, or give the date as 2026-03-02",
			"the date is %s; nothing can be booked before the year %d or after %d", at.Format(time.DateOnly), firstYear, lastYear)
	}
	return nil
}

const firstYear, lastYear = 2000, 9999
