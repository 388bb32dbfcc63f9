package work

import (
	"context"
	"slices"

	"shimwright/inventory"
	"shimwright/shim"
	"shimwright/shim/stock"
)

// A Rhythm is how long the box has to last: until the next delivery that can still be
// ordered for, its time on the way included. It is told in jobs or, where Days is not
// 0, in days.
type Rhythm struct{ Jobs, Days int }

// Advising says what advice is asked for.
type Advising struct {
	Pieces int         // the most to add; 0 for no bound where there is a budget
	Budget *shim.Price // nil for no bound
	Rhythm
	// Wanted selects families; nil for all. Only valves that take such shims count.
	Wanted func(shim.Family) bool
	// Offers is what is on sale, nil for the catalogues of the shop's models. A
	// diameter of 0 is that of each model.
	Offers   []shim.Offer
	Seed     uint64
	Progress func(done, of int)
}

// An Advice is what to add to the box, and what comes of it.
type Advice struct {
	*Shelf
	*stock.Advice
	// Points are the box as it is, then with each ten more pieces, and with all. They
	// are replayed on other drawn jobs than the pieces were chosen by. Without records
	// there are none.
	Points []Point
	More   *Point         // with ten pieces more than asked for, where those help
	Spare  []stock.Pieces // that no drawn job missed
	Levels []stock.Pieces // what the box is to hold from then on
}

// Advise finds which pieces to add to the box. With too few records it spreads them
// evenly over the used range.
func Advise(ctx context.Context, shop *inventory.Shop, q Advising) (*Advice, error) {
	s, err := GatherShelf(ctx, shop, q)
	if err != nil {
		return nil, err
	}
	a := &Advice{Shelf: s}
	r := s.request(q)
	ten := 0
	if q.Pieces > 0 && q.Budget == nil {
		ten = tens // to say what more would be good for
	}
	if s.Few() {
		a.Advice = s.spread(q, q.Pieces+ten)
	} else {
		r.Pieces += ten
		if a.Advice, err = stock.Advise(ctx, r); err != nil {
			return nil, err
		}
	}
	all := len(a.Steps)
	asked := all
	if ten > 0 {
		asked = min(all, q.Pieces)
	}
	if len(s.Records) > 0 {
		other := s.Drawing
		other.Stream = 1
		unseen := stock.Draw(s.Records, s.Offers, other)
		replay := func(n int) (Point, error) {
			got, err := stock.Replay(ctx, unseen, s.Period, stock.Sum(s.Box, a.Added(n)))
			return Point{n, got}, err
		}
		for n := 0; ; n = min(n+tens, asked) {
			p, err := replay(n)
			if err != nil {
				return nil, err
			}
			if a.Points = append(a.Points, p); n == asked {
				break
			}
		}
		if all > asked {
			p, err := replay(all)
			if err != nil {
				return nil, err
			}
			a.More = &p
		}
	}
	if !s.Few() { // a few jobs do not tell what is never missed
		if a.Spare, err = stock.Spare(ctx, r.Jobs, s.Period, s.Box); err != nil {
			return nil, err
		}
	}
	a.Steps = a.Steps[:asked]
	a.Cost = 0
	for _, step := range a.Steps {
		a.Cost += step.Price
	}
	less := slices.Clone(a.Spare)
	for i := range less {
		less[i].Count *= -1
	}
	a.Levels = stock.Sum(s.Box, a.Added(asked), less)
	return a, nil
}

// tens is how many pieces a point is apart from the next.
const tens = 10
