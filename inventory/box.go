package inventory

import (
	"context"

	"shimwright/shim"
)

// An Item is a row of a receipt or of pieces to throw away.
type Item struct {
	Lot
	Count int // pieces, above zero
	shim.Quote
	Note string
	// Supplier narrows the orders that pieces which came in are for; empty for
	// any, or with NoName for those of no named supplier.
	Supplier string
	NoName   bool
}

func (i Item) validate() error {
	if i.Count <= 0 {
		return Fail(ErrInvalid, "give the number of pieces, 1 or more", "%d pieces of %s cannot be booked", i.Count, i.Lot)
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
			m := Movement{Kind: Received, Lot: i.Lot, Count: i.Count, Quote: i.Quote, Note: i.Note}
			if err := b.post(m, respect); err != nil {
				return err
			}
		}
		return nil
	})
}

// Scrap books pieces out of the box for good. Reserved ones are taken from the
// plans that were made last, which the receipt names.
func (s *Shop) Scrap(ctx context.Context, items []Item) (Receipt, error) {
	return s.update(ctx, func(b *booking) error {
		for _, i := range items {
			if err := i.validate(); err != nil {
				return err
			}
			m := Movement{Kind: Scrapped, Lot: i.Lot, Count: -i.Count, Quote: i.Quote, Note: i.Note}
			if err := b.post(m, override); err != nil {
				return err
			}
		}
		return nil
	})
}

// Correct books pieces of one lot as pieces of another: moved to another bin,
// measured, or entered wrongly before.
func (s *Shop) Correct(ctx context.Context, from, to Lot, count int, note string) (Receipt, error) {
	return s.update(ctx, func(b *booking) error {
		if err := (Item{Lot: from, Count: count}).validate(); err != nil {
			return err
		}
		if from == to {
			return Fail(ErrInvalid, "name what is different", "%s is to become the same lot", from)
		}
		// The pieces come in before they go out where the size stays, so that
		// plans that count on the size keep them. Each lot has its own count, so
		// the order hides no shortage.
		in := Movement{Kind: Corrected, Lot: to, Count: count, Note: note}
		out := Movement{Kind: Corrected, Lot: from, Count: -count, Note: note}
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

// Diameters lists the disc diameters that were ever booked.
func (s *Shop) Diameters(ctx context.Context) (list []shim.Length, err error) {
	err = s.store.View(ctx, func(r Reader) error {
		list = nil
		revisions, err := r.Revisions()
		if err != nil {
			return err
		}
		for _, k := range revisions { // purchases alone raise it as well
			rows, err := r.Movements(MovementFilter{Disc: shim.Disc{Diameter: k.Diameter}, Limit: 1})
			if err != nil {
				return err
			}
			if len(rows) > 0 {
				list = append(list, k.Diameter)
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
