package inventory

import (
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
	shifted  []Shift
	touched  map[shim.Length]bool // diameters whose revision was raised
}

func (b *booking) receipt() Receipt {
	r := Receipt{Movements: b.booked, Released: b.released, Shifted: b.shifted}
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
	if m.Count < 0 {
		if err := b.yield(m.Lot, balance.Count, c); err != nil {
			return err
		}
	}
	stock, err := b.Stock(m.Diameter, m.Size())
	if err != nil {
		return err
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

// setHold replaces a hold and keeps the size's reserved count and the
// diameter's revision with it.
func (b *booking) setHold(h Hold) error {
	old, err := b.held(h.Job, h.Lot)
	if err != nil || h == old || h.Count == 0 && old.Count == 0 {
		return err
	}
	if err := b.PutHold(h); err != nil {
		return err
	}
	stock, err := b.Stock(h.Diameter, h.Size())
	if err != nil {
		return err
	}
	stock.Reserved += h.Count - old.Count
	if err := b.PutStock(stock); err != nil {
		return err
	}
	return b.touch(h.Diameter)
}

// PutPurchase keeps the diameter's revision with the purchases: plans are made
// on what is on order and what other jobs buy.
func (b *booking) PutPurchase(p Purchase) error {
	old, err := b.purchase(p.Job, p.Diameter, p.Size, p.Terms)
	old.Seal = p.Seal
	if err != nil || p == old {
		return err
	}
	if err := b.Writer.PutPurchase(p); err != nil {
		return err
	}
	return b.touch(p.Diameter)
}

// held is what the job holds of a lot.
func (b *booking) held(job int64, lot Lot) (Hold, error) {
	holds, err := b.Holds(HoldFilter{Job: job, Disc: lot.Disc()})
	for _, h := range holds {
		if h.Lot == lot {
			return h, err
		}
	}
	return Hold{Job: job, Lot: lot}, err
}

// freeHolds lets go of all that the job counts on, and gives what that was.
func (b *booking) freeHolds(job int64) ([]Hold, error) {
	holds, err := b.Holds(HoldFilter{Job: job})
	if err != nil {
		return nil, err
	}
	for _, h := range holds {
		h.Count = 0
		if err := b.setHold(h); err != nil {
			return nil, err
		}
	}
	return holds, nil
}
