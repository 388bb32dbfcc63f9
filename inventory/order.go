package inventory

import (
	"cmp"
	"context"
	"maps"
	"slices"

	"shimwright/shim"
)

// A Demand is a line of the shopping list: one size over all jobs.
type Demand struct {
	Diameter, Size shim.Length
	Missing        int // to be ordered
	Coming         int // on order
	Arrived        int // came in for plans that stand
	Price          shim.Price
	Priced         bool
	Jobs           []int64 // the jobs that it is for
}

// Shopping is the shopping list across all jobs: what is to be ordered and
// what is on order.
func (s *Shop) Shopping(ctx context.Context) (list []Demand, err error) {
	err = s.store.View(ctx, func(r Reader) error {
		purchases, err := r.Purchases(HoldFilter{})
		if err != nil {
			return err
		}
		list = demands(purchases)
		return nil
	})
	return list, err
}

func demands(purchases []Purchase) []Demand {
	type key struct{ diameter, size shim.Length }
	sums := map[key]*Demand{}
	for _, p := range purchases {
		if p.Missing() == 0 && p.Coming() == 0 {
			continue
		}
		k := key{p.Diameter, p.Size}
		d := sums[k]
		if d == nil {
			d = &Demand{Diameter: p.Diameter, Size: p.Size}
			sums[k] = d
		}
		d.Missing += p.Missing()
		d.Coming += p.Coming()
		d.Arrived += p.Arrived
		if p.Priced {
			d.Price, d.Priced = p.Price, true
		}
		d.Jobs = append(d.Jobs, p.Job)
	}
	var list []Demand
	for _, d := range sums {
		list = append(list, *d)
	}
	slices.SortFunc(list, func(x, y Demand) int { return cmp.Or(cmp.Compare(x.Diameter, y.Diameter), cmp.Compare(x.Size, y.Size)) })
	return list
}

// An OrderLine is a number of pieces ordered from the supplier.
type OrderLine struct {
	Diameter, Size shim.Length
	Count          int
}

// Order marks pieces of the shopping list as ordered, those of the oldest job
// first. No lines means the whole list.
func (s *Shop) Order(ctx context.Context, lines []OrderLine) (placed []OrderLine, err error) {
	_, err = s.update(ctx, func(b *booking) error {
		placed = nil
		purchases, err := b.Purchases(HoldFilter{})
		if err != nil {
			return err
		}
		placed = lines
		if len(lines) == 0 {
			for _, d := range demands(purchases) {
				if d.Missing > 0 {
					placed = append(placed, OrderLine{d.Diameter, d.Size, d.Missing})
				}
			}
		}
		for _, l := range placed {
			if l.Count <= 0 {
				return Fail(ErrInvalid, "give the number of pieces, 1 or more", "%d pieces cannot be ordered", l.Count)
			}
			rest := l.Count
			for i, p := range purchases {
				if p.Diameter != l.Diameter || p.Size != l.Size {
					continue
				}
				n := min(rest, p.Missing())
				rest -= n
				p.Ordered += n
				purchases[i] = p
				if n > 0 {
					if err := b.PutPurchase(p); err != nil {
						return err
					}
				}
			}
			if rest > 0 {
				return Fail(ErrInvalid, "order for the jobs only; receive what the shop buys for itself",
					"%d × %s mm of diameter %s: %d more than the jobs need", l.Count, l.Size, l.Diameter, rest)
			}
		}
		return nil
	})
	return placed, err
}

// Arrived books pieces that came in: for the jobs that ordered their size, the
// oldest first, then for those that need it, and what is left for the box. A
// piece whose mic reading is not the size that was ordered is free.
func (s *Shop) Arrived(ctx context.Context, items []Item) (Receipt, error) {
	return s.update(ctx, func(b *booking) error {
		jobs := map[int64]bool{}
		for _, i := range items {
			if err := i.validate(); err != nil {
				return err
			}
			purchases, err := b.Purchases(HoldFilter{Diameter: i.Diameter, Size: i.Size()})
			if err != nil {
				return err
			}
			rest := i.Count
			for _, open := range []func(Purchase) int{Purchase.Coming, Purchase.Missing} {
				for k, p := range purchases {
					n := min(rest, open(p))
					if n == 0 {
						continue
					}
					rest -= n
					p.Arrived += n
					p.Ordered = max(p.Ordered, p.Arrived)
					purchases[k] = p
					if err := b.PutPurchase(p); err != nil {
						return err
					}
					if err := b.in(i, n, p.Job); err != nil {
						return err
					}
					jobs[p.Job] = true
				}
			}
			if rest > 0 {
				if err := b.in(i, rest, 0); err != nil {
					return err
				}
			}
		}
		for _, id := range slices.Sorted(maps.Keys(jobs)) {
			if err := b.settle(id); err != nil {
				return err
			}
		}
		return nil
	})
}

// in receives pieces for a job.
func (b *booking) in(i Item, count int, job int64) error {
	return b.post(Movement{Kind: Received, Lot: i.Lot, Count: count, Job: job, Price: i.Price, Priced: i.Priced, Note: i.Note}, respect)
}
