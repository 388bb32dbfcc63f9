package inventory

import (
	"context"
	"errors"
	"fmt"
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
	command *Command // of the session; nil for none
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

// A Receipt is what a command booked.
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
		if s.command != nil {
			if err := s.command.begin(w); err != nil {
				return err
			}
		}
		last, err := w.Last()
		if err != nil {
			return err
		}
		b := &booking{Writer: w, who: s.who, at: s.time(), last: last, first: last.Seq + 1, touched: map[shim.Family]bool{}}
		if err := f(b); err != nil {
			return err
		}
		receipt = b.receipt()
		if s.trial {
			return errTrial
		}
		return nil
	})
	if s.trial && errors.Is(err, errTrial) {
		return receipt, nil
	}
	if err != nil {
		return Receipt{}, err
	}
	if s.command != nil && s.command.Batch == 0 {
		s.command.Batch = receipt.Batch
	}
	return receipt, nil
}

// errTrial takes a trial back.
var errTrial = errors.New("trial run only")

// OnTime refuses what a clock that is set wrong says: a time that cannot be
// written down would spoil the ledger.
func OnTime(at time.Time) error {
	if at.Year() < firstYear || at.Year() > lastYear {
		return shim.Fail(ErrInvalid, "set the clock of this computer, or give the date as 2026-03-02",
			"the date is %s; nothing can be booked before the year %d or after %d", at.Format(time.DateOnly), firstYear, lastYear)
	}
	return nil
}

const firstYear, lastYear = 2000, 9999

// Totals are how much a shop holds.
type Totals struct {
	Diameters, Engines, Jobs, Movements int64
	Pieces, Reserved                    int64 // on hand, and of them reserved
}

// Totals counts what the shop holds.
func (s *Shop) Totals(ctx context.Context) (t Totals, err error) {
	err = s.store.View(ctx, func(r Reader) error {
		for _, c := range []struct {
			what string
			into *int64
		}{{Diameters, &t.Diameters}, {Engines, &t.Engines}, {Jobs, &t.Jobs}, {Movements, &t.Movements}} {
			kept, err := r.Tally(Group{What: c.what})
			if err != nil {
				return err
			}
			if *c.into, err = r.Rows(kept.Group); err != nil {
				return err
			}
			if *c.into != kept.Count {
				return Damaged(kept.Group.String(), fmt.Sprintf("are %d, there should be %d", *c.into, kept.Count))
			}
		}
		stocks, err := r.Stocks(StockFilter{})
		for _, k := range stocks {
			t.Pieces += int64(k.OnHand)
			t.Reserved += int64(k.Reserved)
		}
		return err
	})
	return t, err
}

// Last is the ledger's last movement, the zero one where nothing was booked.
func (s *Shop) Last(ctx context.Context) (m Movement, err error) {
	err = s.store.View(ctx, func(r Reader) error {
		m, err = r.Last()
		return err
	})
	return m, err
}

// Anchor finds the movement with this hash, which was written down elsewhere.
// Where the chain is sound, nothing up to it was changed. It is [ErrUnknown]
// where there is none: the ledger is another one, or was cut off or rewritten.
func (s *Shop) Anchor(ctx context.Context, hash Hash) (found Movement, err error) {
	err = s.raw.View(ctx, func(r Reader) error {
		for after := int64(0); ; {
			page, err := r.Movements(MovementFilter{After: after, Limit: auditPage})
			if err != nil {
				return err
			}
			for _, m := range page {
				if m.Hash == hash {
					found = m
					return nil
				}
			}
			if len(page) < auditPage {
				return shim.Fail(ErrUnknown, "", "no movement has the hash %s", hash)
			}
			after = page[len(page)-1].Seq
		}
	})
	return found, err
}

// Kinds of error, told apart with [errors.Is].
var (
	// ErrStale: the box changed since the plan or the count was made. Make it
	// again on the box as it is now.
	ErrStale = errors.New("the box has changed")
	// ErrShort: there are not enough free pieces.
	ErrShort = errors.New("not enough shims")
	// ErrState: the job is not in a state that allows this.
	ErrState = errors.New("the job's state does not allow this")
	// ErrInvalid: the request makes no sense.
	ErrInvalid = errors.New("not valid")
	// ErrRing: a ring of shims on top cannot be booked in part.
	ErrRing = errors.New("a valve would have no shim")
	// ErrUnknown: the job, movement or engine does not exist.
	ErrUnknown = errors.New("not found")

	// ErrGiven: the command was booked before, under the same key.
	ErrGiven = errors.New("already booked")
	// ErrUnsure: it is not known whether the booking was made, or will last.
	ErrUnsure = errors.New("outcome not known")

	// ErrMissing: there is no shop file.
	ErrMissing = errors.New("no shop file")
	// ErrExists: a file is in the way.
	ErrExists = errors.New("already exists")
	// ErrForeign: the file is not a shop file.
	ErrForeign = errors.New("not a shop file")
	// ErrNewer: the file was written by a newer version.
	ErrNewer = errors.New("written by a newer version")
	// ErrDamaged: the file is damaged.
	ErrDamaged = errors.New("damaged")
	// ErrReadOnly: the file cannot be written.
	ErrReadOnly = errors.New("read-only")
	// ErrRights: the folder does not allow it.
	ErrRights = errors.New("permission denied")
	// ErrFull: the disk is full.
	ErrFull = errors.New("disk full")
	// ErrDisk: the disk gave an error.
	ErrDisk = errors.New("disk error")
	// ErrBusy: another command kept the file for too long.
	ErrBusy = errors.New("busy")
)

// Damaged is the error for a row that is not what was written. The store adds
// the file's name.
func Damaged(where, what string) error {
	return shim.Fail(damage{where, what}, "nothing was changed; shop check lists all damage, shop restore brings back a backup", "%s %s", where, what)
}

// damage is the kind of error for a damaged row: [ErrDamaged], and which one.
type damage Finding

func (d damage) Error() string        { return ErrDamaged.Error() }
func (d damage) Is(target error) bool { return target == ErrDamaged }
