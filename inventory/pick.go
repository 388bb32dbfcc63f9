package inventory

import (
	"context"

	"shimwright/shim"
)

// A Pick says where the shim for a placement lies.
type Pick struct {
	Placement
	Lot    // the lot that [Shop.Fit] takes it from; the zero lot where OnHand is false
	OnHand bool
}

// Picks tells, for what is left of the job's plan, the lots that the shims will
// be taken from: what to fetch from which bin. Shims that are still in the
// engine, or have not come in, are not on hand.
func (s *Shop) Picks(ctx context.Context, job int64) (list []Pick, err error) {
	err = s.store.View(ctx, func(r Reader) error {
		list = nil
		w, err := load(r, job)
		if err != nil {
			return err
		}
		lots := map[shim.Length][]Balance{}
		for _, p := range w.left() {
			here := p.Source == Drawn || p.Source == Bought && w.arrived(p.Size) > w.used(p.Size)
			if p.Source == Moved {
				_, here = w.since(p.From, Pulled)
			}
			if _, read := lots[p.Size]; here && !read {
				if lots[p.Size], err = r.Balances(StockFilter{Diameter: w.Diameter, Size: p.Size}); err != nil {
					return err
				}
			}
			entry := Pick{Placement: p}
			if best := pick(lots[p.Size]); here && best >= 0 {
				entry.Lot, entry.OnHand = lots[p.Size][best].Lot, true
				lots[p.Size][best].Count--
			}
			list = append(list, entry)
		}
		return nil
	})
	return list, err
}

// pick chooses among lots of one size: used pieces before new ones, which a
// supplier may take back; -1 where there is none.
func pick(lots []Balance) int {
	best := -1
	for i, l := range lots {
		if l.Count > 0 && (best < 0 || l.Used && !lots[best].Used) {
			best = i
		}
	}
	return best
}
