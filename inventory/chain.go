package inventory

import (
	"crypto/sha256"
	"encoding/binary"
	"encoding/hex"
	"time"
)

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
	return sha256.Sum256(b)
}
