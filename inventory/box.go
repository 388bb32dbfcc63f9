package inventory

import (
	"cmp"
	"context"
	"slices"
	"strings"
	"unicode/utf8"

	"shimwright/shim"
)

// A Lot is a kind of shim in one bin. Shims of one lot cannot be told apart, and
// each shim is in one lot only. All fields are the key, so counting loses
// nothing known about a shim.
type Lot struct {
	shim.Family // a diameter is 2 to 60 mm
	shim.Marks
	Used bool   // was in an engine before
	Bin  string // where it lies; may be empty
}

// Disc is the kind of shim that the pieces are.
func (l Lot) Disc() shim.Disc {
	return l.Of(l.Size())
}

// Compare orders lots by family, size, stamp, mic, new before used, then bin.
func (l Lot) Compare(m Lot) int {
	return cmp.Or(l.Disc().Compare(m.Disc()), cmp.Compare(l.Stamp, m.Stamp),
		cmp.Compare(l.Mic, m.Mic), compareBool(l.Used, m.Used), strings.Compare(l.Bin, m.Bin))
}

func compareBool(a, b bool) int {
	switch {
	case a == b:
		return 0
	case b:
		return -1
	}
	return 1
}

// String names the lot for a message, sizes in mm.
func (l Lot) String() string {
	text := l.Disc().String()
	if l.Bin != "" {
		text += " in bin " + l.Bin
	}
	return text
}

// maxText bounds a bin, a note or a name, in bytes.
const maxText = 2000

func (l Lot) validate() error {
	if err := shim.ImplausibleDiameter(l.Diameter); err != nil {
		return shim.Fail(ErrInvalid, "", "%w", err)
	}
	if err := validText("family", l.Kind); err != nil {
		return err
	}
	if err := shim.ImplausibleKind(l.Kind); err != nil {
		return shim.Fail(ErrInvalid, "", "%w", err)
	}
	if l.Stamp == 0 && l.Mic == 0 {
		return shim.Fail(ErrInvalid, "give the stamp or the micrometer reading", "the shim has no size")
	}
	for _, size := range []shim.Length{l.Stamp, l.Mic} {
		if size == 0 {
			continue
		}
		if err := shim.ImplausibleSize(size, shim.MM); err != nil {
			return shim.Fail(ErrInvalid, "", "%w", err)
		}
	}
	return validText("bin", l.Bin)
}

// validText refuses text that a store could not keep byte for byte.
func validText(name, text string) error {
	switch {
	case len(text) > maxText:
		return shim.Fail(ErrInvalid, "make it shorter", "the %s is longer than %d bytes", name, maxText)
	case !utf8.ValidString(text) || strings.ContainsRune(text, 0):
		return shim.Fail(ErrInvalid, "use plain UTF-8 text", "the %s is not UTF-8 text", name)
	}
	return nil
}

// A Balance is how many pieces of a lot are on hand. The count is never below
// zero.
type Balance struct {
	Lot
	Count int
	Seal  Hash // set by the store; the rules do not see it
}

// A Stock is how many pieces of one family and size are on hand and how many
// of them are reserved: 0 <= Reserved <= OnHand. Plans reserve by size, because
// shims of one size and family are interchangeable.
type Stock struct {
	shim.Disc
	OnHand, Reserved int
	Seal             Hash // set by the store; the rules do not see it
}

// A Revision counts the changes of what is on hand, reserved, to be ordered or on
// order in a family.
type Revision struct {
	shim.Family
	Number int64
	Seal   Hash // set by the store; the rules do not see it
}

// Free is the number of shims not reserved.
func (s Stock) Free() int { return s.OnHand - s.Reserved }

// An Item is a line of a receipt, or of shims to scrap.
type Item struct {
	Lot
	Count int // pieces, above zero
	shim.Quote
	Note string
	// Supplier narrows the orders that pieces that arrived are for; empty for
	// any, or with NoName for those of no named supplier.
	Supplier string
	NoName   bool
}

func (i Item) validate() error {
	if i.Count <= 0 {
		return shim.Fail(ErrInvalid, "give the number of shims, 1 or more", "%d is not a valid number of shims of %s", i.Count, i.Lot)
	}
	return nil
}

// Receive books pieces into the box.
func (s *Shop) Receive(ctx context.Context, items []Item) (Receipt, error) {
	return s.update(ctx, func(b *booking) error {
		for _, i := range items {
			if err := i.validate(); err != nil {
				return err
			}
			m := Movement{Kind: KindReceived, Lot: i.Lot, Count: i.Count, Quote: i.Quote, Note: i.Note}
			if err := b.post(m, respect); err != nil {
				return err
			}
		}
		return nil
	})
}

// Scrap books shims out of the box for good. Reserved ones are taken from the
// latest plans, which the receipt names.
func (s *Shop) Scrap(ctx context.Context, items []Item) (Receipt, error) {
	return s.update(ctx, func(b *booking) error {
		for _, i := range items {
			if err := i.validate(); err != nil {
				return err
			}
			m := Movement{Kind: KindScrapped, Lot: i.Lot, Count: -i.Count, Quote: i.Quote, Note: i.Note}
			if err := b.post(m, override); err != nil {
				return err
			}
		}
		return nil
	})
}

// Correct books shims of one lot as shims of another: moved to another bin,
// measured, or entered wrongly.
func (s *Shop) Correct(ctx context.Context, from, to Lot, count int, note string) (Receipt, error) {
	return s.update(ctx, func(b *booking) error {
		if err := (Item{Lot: from, Count: count}).validate(); err != nil {
			return err
		}
		if from == to {
			return shim.Fail(ErrInvalid, "give what is different", "%s: nothing to change", from)
		}
		// The pieces come in before they go out where the size stays, so that
		// plans that count on the size keep them. Each lot has its own count, so
		// the order hides no shortage.
		in := Movement{Kind: KindCorrected, Lot: to, Count: count, Note: note}
		out := Movement{Kind: KindCorrected, Lot: from, Count: -count, Note: note}
		for _, m := range []Movement{in, out} {
			if err := b.post(m, override); err != nil {
				return err
			}
		}
		return nil
	})
}

// Balances lists what is on hand, lot by lot.
func (s *Shop) Balances(ctx context.Context, f StockFilter) (list []Balance, err error) {
	err = s.store.View(ctx, func(r Reader) error {
		list, err = r.Balances(f)
		return err
	})
	return list, err
}

// Stocks lists what is on hand and reserved, size by size.
func (s *Shop) Stocks(ctx context.Context, f StockFilter) (list []Stock, err error) {
	err = s.store.View(ctx, func(r Reader) error {
		list, err = r.Stocks(f)
		return err
	})
	return list, err
}

// Families lists the families of shims that were ever booked.
func (s *Shop) Families(ctx context.Context) (list []shim.Family, err error) {
	err = s.store.View(ctx, func(r Reader) error {
		list = nil
		revisions, err := r.Revisions()
		if err != nil {
			return err
		}
		for _, k := range revisions { // purchases alone raise it as well
			rows, err := r.Movements(MovementFilter{Disc: k.Of(0), Limit: 1})
			if err != nil {
				return err
			}
			if len(rows) > 0 {
				list = append(list, k.Family)
			}
		}
		return nil
	})
	return list, err
}

// History lists movements.
func (s *Shop) History(ctx context.Context, f MovementFilter) (list []Movement, err error) {
	err = s.store.View(ctx, func(r Reader) error {
		list, err = r.Movements(f)
		return err
	})
	return list, err
}

// A Gap is a run of neighbouring sizes that a box of this range would have and
// that this one has no piece of.
type Gap struct {
	shim.Family
	From, To shim.Length
	Sizes    int // how many, both ends included
}

// Gaps lists the sizes of the range that are missing among the stocks of one
// family, neighbours together. A size on hand parts a gap even where it is
// none of the range. Both lists run from the thinnest to the thickest.
func Gaps(stocks []Stock, of []shim.Length) []Gap {
	var list []Gap
	at, parted := 0, true
	for _, size := range of {
		for at < len(stocks) && stocks[at].Size < size {
			at, parted = at+1, true
		}
		if at < len(stocks) && stocks[at].Size == size {
			continue
		}
		if parted {
			gap := Gap{From: size}
			if len(stocks) > 0 {
				gap.Family = stocks[0].Family
			}
			list, parted = append(list, gap), false
		}
		last := &list[len(list)-1]
		last.To, last.Sizes = size, last.Sizes+1
	}
	return list
}

// minStep is the finest step of a range. Common practice: ranges step by 0.02
// to 0.05 mm.
const minStep = 10 * shim.Micrometre

// RangeOf guesses the range from the sizes marked on shims of one diameter:
// from the thinnest to the thickest, in the widest step that has them all. It
// is empty where that is finer than any range's.
func RangeOf(stamps []shim.Length) []shim.Length {
	if len(stamps) == 0 {
		return nil
	}
	first, last := slices.Min(stamps), slices.Max(stamps)
	var step shim.Length
	for _, s := range stamps {
		step = gcd(step, s-first)
	}
	if step < minStep {
		return nil
	}
	var list []shim.Length
	for size := first; size <= last; size += step {
		list = append(list, size)
	}
	return list
}

func gcd(x, y shim.Length) shim.Length {
	for y != 0 {
		x, y = y, x%y
	}
	return x
}
