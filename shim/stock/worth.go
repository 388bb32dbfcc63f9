package stock

import (
	"context"
	"math"

	"shimwright/shim"
)

// A Kit is what an assortment is worth to a box.
type Kit struct {
	Pieces int
	Saved  int // purchases of the drawn jobs that the whole kit saves
	// Singles is how many single pieces, the best ones, save as much: a part of
	// the last one counts as the part of its saving that is needed.
	Singles float64
	// Enough is false where all singles together save less: Singles is then the
	// number of all that save anything.
	Enough bool
	// Cost is what so many singles cost, in whole cents, and Priced whether all of them
	// have a price.
	Cost   shim.Price
	Priced bool
}

// Each is what a piece of the kit is worth, in best singles.
func (k Kit) Each() float64 {
	if k.Pieces == 0 {
		return 0
	}
	return k.Singles / float64(k.Pieces)
}

// Worth finds how many of the best single pieces save as much as a kit, from the
// request's box. A kit is worth buying below that number times the price of a single
// one. The request's bounds do not count. The error is the context's.
func Worth(ctx context.Context, r Request, kit []Pieces) (k Kit, err error) {
	k = Kit{Pieces: Count(kit), Priced: true}
	before := newGreedy(&r).unserved()
	whole := r
	whole.Box = Sum(r.Box, kit)
	k.Saved = before - newGreedy(&whole).unserved()
	g := newGreedy(&r)
	cost := 0.0
	defer func() { k.Cost = shim.Price(math.Round(cost/100)) * 100 }()
	for left := k.Saved; left > 0; {
		if ctx.Err() != nil {
			return k, context.Cause(ctx)
		}
		best := g.best(nil, false)
		if best < 0 {
			return k, nil
		}
		saves := g.saves[best]
		part := min(1, float64(left)/float64(saves))
		k.Singles += part
		cost += part * float64(g.sale[best][0].Price)
		k.Priced = k.Priced && g.sale[best][0].Priced
		left -= saves
		g.take(best)
		g.add(best)
	}
	k.Enough = true
	return k, nil
}
