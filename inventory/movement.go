package inventory

import (
	"fmt"
	"time"

	"shimwright/shim"
)

// A Kind says why pieces moved.
type Kind string

// The kinds of movement. Received and pulled bring pieces into the box, fitted
// and scrapped take them out, counted and corrected go either way.
const (
	Received  Kind = "received"  // bought or taken in
	Fitted    Kind = "fitted"    // into an engine
	Pulled    Kind = "pulled"    // out of an engine
	Counted   Kind = "counted"   // a stocktake's difference
	Scrapped  Kind = "scrapped"  // thrown away
	Corrected Kind = "corrected" // moved to another bin, or its size set right
)

// Kinds lists all kinds of movement.
var Kinds = []Kind{Received, Fitted, Pulled, Counted, Scrapped, Corrected}

// sign is +1 for kinds that bring pieces in, -1 for those that take them out,
// 0 for both.
func (k Kind) sign() int {
	switch k {
	case Received, Pulled:
		return 1
	case Fitted, Scrapped:
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
		return Fail(ErrInvalid, "give the number of pieces", "%d pieces cannot be booked: 1 to %d", m.Count, most)
	}
	sign := m.Kind.sign()
	if m.Reverses == 0 && sign != 0 && (m.Count > 0) != (sign > 0) {
		return fmt.Errorf("%s with %d pieces: %w", m.Kind, m.Count, ErrInvalid)
	}
	if m.Price < 0 {
		return Fail(ErrInvalid, "a price is not negative", "a price of %s cannot be", m.Price)
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
