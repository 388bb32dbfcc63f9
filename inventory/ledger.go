package inventory

import (
	"crypto/sha256"
	"encoding/binary"
	"encoding/hex"
	"fmt"
	"time"

	"shimwright/shim"
)

// A Kind says why pieces moved.
type Kind string

// The kinds of movement. Received and pulled bring pieces into the box, fitted
// and scrapped take them out, counted and corrected go either way.
const (
	KindReceived  Kind = "received"  // bought or taken in
	KindFitted    Kind = "fitted"    // into an engine
	KindPulled    Kind = "pulled"    // out of an engine
	KindCounted   Kind = "counted"   // a stocktake's difference
	KindScrapped  Kind = "scrapped"  // thrown away
	KindCorrected Kind = "corrected" // moved to another bin, or its size set right
)

// Kinds lists all kinds of movement.
var Kinds = []Kind{KindReceived, KindFitted, KindPulled, KindCounted, KindScrapped, KindCorrected}

// sign is +1 for kinds that bring pieces in, -1 for those that take them out,
// 0 for both.
func (k Kind) sign() int {
	switch k {
	case KindReceived, KindPulled:
		return 1
	case KindFitted, KindScrapped:
		return -1
	}
	return 0
}

// A Movement is one row of the ledger. Rows are numbered 1, 2, 3, … without a
// gap and never change.
type Movement struct {
	Seq   int64
	Batch int64 // the Seq of the first row that the same command booked
	Time  time.Time
	Kind  Kind
	Lot
	Count      int        // pieces, signed: above zero into the box
	Job        int64      // 0 where no job is concerned
	Valve      shim.Valve // the zero valve where none is concerned
	shim.Quote            // the supplier's, per piece
	Order      *Terms     // what a received piece was to be bought on; nil where nobody waited for it or version 1 booked it
	Unordered  bool       // with Order: nobody had ordered the pieces yet when they came; version 1 booked none so
	Who        string
	Note       string
	Reverses   int64 // the row that this one takes back, or 0
	Prev       Hash  // the hash of the row before
	Hash       Hash  // over Prev and all the above
}

// validate checks what every row must satisfy by itself.
func (m *Movement) validate() error {
	if err := m.Lot.validate(); err != nil {
		return err
	}
	for name, text := range map[string]string{"who": m.Who, "note": m.Note} {
		if err := validText(name, text); err != nil {
			return err
		}
	}
	const most = 1_000_000
	if m.Count == 0 || m.Count > most || m.Count < -most {
		return shim.Fail(ErrInvalid, "give the number of shims", "%d is not a valid number of shims: 1 to %d", m.Count, most)
	}
	sign := m.Kind.sign()
	if m.Reverses == 0 && sign != 0 && (m.Count > 0) != (sign > 0) {
		return fmt.Errorf("%s with %d shims: %w", m.Kind, m.Count, ErrInvalid)
	}
	if m.Price < 0 {
		return shim.Fail(ErrInvalid, "a price is not negative", "%s is not a valid price", m.Price)
	}
	return nil
}

// paid are the terms that a received piece came on.
func (m *Movement) paid() Terms {
	t := Terms{Quote: m.Quote}
	if m.Order != nil {
		t.Supplier, t.Part = m.Order.Supplier, m.Order.Part
	}
	return t
}

// valveName is the valve's name, empty for the zero valve.
func (m *Movement) valveName() string {
	if m.Valve == (shim.Valve{}) {
		return ""
	}
	return m.Valve.String()
}

// A Hash chains a ledger row to the one before (SHA-256, FIPS 180-4).
type Hash [sha256.Size]byte

// String is the hash in hexadecimal.
func (h Hash) String() string { return hex.EncodeToString(h[:]) }

// digest is the row's hash: SHA-256 over the previous row's hash and the row's
// content. Every text is preceded by its length and every number has eight
// bytes, so two different rows never give the same bytes.
func (m *Movement) digest() Hash {
	b := make([]byte, 0, 256)
	b = append(b, m.Prev[:]...)
	number := func(n int64) { b = binary.BigEndian.AppendUint64(b, uint64(n)) }
	text := func(s string) {
		number(int64(len(s)))
		b = append(b, s...)
	}
	flag := func(f bool) {
		if f {
			b = append(b, 1)
		} else {
			b = append(b, 0)
		}
	}
	number(m.Seq)
	number(m.Batch)
	text(m.Time.UTC().Format(time.RFC3339))
	text(string(m.Kind))
	number(int64(m.Diameter))
	number(int64(m.Stamp))
	number(int64(m.Mic))
	flag(m.Used)
	text(m.Bin)
	number(int64(m.Count))
	number(m.Job)
	text(m.valveName())
	flag(m.Priced)
	number(int64(m.Price))
	text(m.Who)
	text(m.Note)
	number(m.Reverses)
	if o := m.Order; o != nil { // version 1 knows none
		text(o.Supplier)
		text(o.Part)
		flag(o.Priced)
		number(int64(o.Price))
	}
	if m.Unordered { // earlier rows know none
		flag(true)
	}
	if m.Family.Kind != "" { // nor families
		text(m.Family.Kind)
	}
	return sha256.Sum256(b)
}

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
	touched  map[shim.Family]bool // families whose revision was raised
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
		return shim.Fail(ErrShort, "see what is there with box list", "%d × %s: %d on hand", -m.Count, m.Lot, balance.Count-m.Count)
	}
	if m.Count < 0 {
		if err := b.yield(m.Lot, balance.Count, c); err != nil {
			return err
		}
	}
	stock, err := b.Stock(m.Disc())
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
	return b.touch(m.Family)
}

// touch raises the family's revision, once a transaction.
func (b *booking) touch(f shim.Family) error {
	if b.touched[f] {
		return nil
	}
	b.touched[f] = true
	revision, err := b.Revision(f)
	if err != nil {
		return err
	}
	revision.Number++
	return b.PutRevision(revision)
}

// setHold replaces a hold and keeps the size's reserved count and the
// family's revision with it.
func (b *booking) setHold(h Hold) error {
	old, err := b.held(h.Job, h.Lot)
	if err != nil || h == old || h.Count == 0 && old.Count == 0 {
		return err
	}
	if err := b.PutHold(h); err != nil {
		return err
	}
	stock, err := b.Stock(h.Disc())
	if err != nil {
		return err
	}
	stock.Reserved += h.Count - old.Count
	if err := b.PutStock(stock); err != nil {
		return err
	}
	return b.touch(h.Family)
}

// PutPurchase keeps the family's revision with the purchases: plans are made
// on what is on order and what other jobs buy.
func (b *booking) PutPurchase(p Purchase) error {
	old, err := b.purchase(p.Job, p.Disc, p.Terms)
	old.Seal = p.Seal
	if err != nil || p == old {
		return err
	}
	if err := b.Writer.PutPurchase(p); err != nil {
		return err
	}
	return b.touch(p.Family)
}

// held is the number of shims of a lot reserved for the job.
func (b *booking) held(job int64, lot Lot) (Hold, error) {
	holds, err := b.Holds(HoldFilter{Job: job, Disc: lot.Disc()})
	for _, h := range holds {
		if h.Lot == lot {
			return h, err
		}
	}
	return Hold{Job: job, Lot: lot}, err
}

// freeHolds frees everything reserved for the job and returns it.
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
