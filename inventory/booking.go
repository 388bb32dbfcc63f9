package inventory

import (
	"cmp"
	"fmt"
	"slices"
	"time"

	"shimwright/shim"
)

// A booking is one transaction that adds rows to the ledger and keeps the
// balances beside it.
type booking struct {
	Writer
	who      string
	at       time.Time
	last     Movement // the ledger's end
	first    int64    // the batch
	booked   []Movement
	released []Hold
	touched  map[shim.Length]bool // diameters whose revision was raised
}

func (b *booking) receipt() Receipt {
	r := Receipt{Movements: b.booked, Released: b.released}
	if len(b.booked) > 0 {
		r.Batch = b.first
	}
	return r
}

// A claim says what happens when a movement wants reserved pieces.
type claim bool

const (
	// respect refuses the movement.
	respect claim = false
	// override books it, since the pieces are gone in fact, and takes them from
	// the plans that were made last.
	override claim = true
)

// post adds one row. The lot's count and the size's stock never go below zero,
// not even between two rows of a batch.
func (b *booking) post(m Movement, c claim) error {
	if err := m.validate(); err != nil {
		return err
	}
	m.Seq, m.Batch, m.Time, m.Who = b.last.Seq+1, b.first, b.at, b.who
	m.Prev = b.last.Hash
	m.Hash = m.digest()

	balance, err := b.Balance(m.Lot)
	if err != nil {
		return err
	}
	balance.Count += m.Count
	if balance.Count < 0 {
		return Fail(ErrShort, "see what is there with a listing of the box", "%d × %s: %d on hand", -m.Count, m.Lot, balance.Count-m.Count)
	}
	stock, err := b.Stock(m.Diameter, m.Size())
	if err != nil {
		return err
	}
	if short := stock.Reserved - (stock.OnHand + m.Count); short > 0 {
		if c == respect {
			return b.reserved(m.Diameter, m.Size())
		}
		if err := b.release(m.Diameter, m.Size(), short); err != nil {
			return err
		}
		stock.Reserved -= short
	}
	stock.OnHand += m.Count
	if err := b.Append(m); err != nil {
		return err
	}
	if err := b.PutBalance(balance); err != nil {
		return err
	}
	if err := b.PutStock(stock); err != nil {
		return err
	}
	b.last = m
	b.booked = append(b.booked, m)
	return b.touch(m.Diameter)
}

// touch raises the diameter's revision, once a transaction.
func (b *booking) touch(diameter shim.Length) error {
	if b.touched[diameter] {
		return nil
	}
	b.touched[diameter] = true
	revision, err := b.Revision(diameter)
	if err != nil {
		return err
	}
	revision.Number++
	return b.PutRevision(revision)
}

// reserved is the error for pieces that other jobs' plans count on.
func (b *booking) reserved(diameter, size shim.Length) error {
	holds, err := b.Holds(HoldFilter{Diameter: diameter, Size: size})
	if err != nil {
		return err
	}
	jobs := ""
	for i, h := range holds {
		if i > 0 {
			jobs += ", "
		}
		jobs += fmt.Sprint(h.Job)
	}
	return Fail(ErrShort, "choose another size, or plan or cancel the job that holds it",
		"%s mm of diameter %s: all pieces on hand are reserved by job %s", shim.MM.FormatAtLeast(size, 3), diameter, jobs)
}

// release takes pieces from the plans that were made last.
func (b *booking) release(diameter, size shim.Length, count int) error {
	holds, err := b.Holds(HoldFilter{Diameter: diameter, Size: size})
	if err != nil {
		return err
	}
	slices.SortFunc(holds, func(x, y Hold) int { return cmp.Or(cmp.Compare(y.Plan, x.Plan), cmp.Compare(y.Job, x.Job)) })
	for _, h := range holds {
		if count == 0 {
			break
		}
		taken := h
		taken.Count = min(h.Count, count)
		count -= taken.Count
		h.Count -= taken.Count
		if err := b.setHold(h); err != nil {
			return err
		}
		job, err := b.Job(h.Job)
		if err != nil {
			return err
		}
		job.Short += taken.Count
		if err := b.PutJob(job); err != nil {
			return err
		}
		b.released = append(b.released, taken)
	}
	return nil
}

// setHold replaces a hold and keeps the size's reserved count and the
// diameter's revision with it.
func (b *booking) setHold(h Hold) error {
	before := 0
	old, err := b.Holds(HoldFilter{Job: h.Job, Diameter: h.Diameter, Size: h.Size})
	if err != nil {
		return err
	}
	if len(old) > 0 {
		before = old[0].Count
	}
	if before == h.Count && (before == 0 || old[0] == h) {
		return nil
	}
	if err := b.PutHold(h); err != nil {
		return err
	}
	stock, err := b.Stock(h.Diameter, h.Size)
	if err != nil {
		return err
	}
	stock.Reserved += h.Count - before
	if err := b.PutStock(stock); err != nil {
		return err
	}
	return b.touch(h.Diameter)
}

// freeHolds lets go of all that the job counts on.
func (b *booking) freeHolds(job int64) error {
	holds, err := b.Holds(HoldFilter{Job: job})
	if err != nil {
		return err
	}
	for _, h := range holds {
		h.Count = 0
		if err := b.setHold(h); err != nil {
			return err
		}
	}
	return nil
}
