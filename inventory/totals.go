package inventory

import (
	"context"
	"fmt"
)

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
				return Fail(ErrUnknown, "", "no movement has the hash %s", hash)
			}
			after = page[len(page)-1].Seq
		}
	})
	return found, err
}
