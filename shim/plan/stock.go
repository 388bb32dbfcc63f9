package plan

import (
	"cmp"
	"fmt"
	"slices"

	"shimwright/shim"
)

// stock is what can be had, by diameter.
type stock struct {
	*shelf
	diameters []shim.Length
	box       map[shim.Length][]Pieces       // by size
	reachable map[*shim.Engine][]shim.Length // where all jobs reach the same shims
}

// gatherStock sorts the box and the catalogues, and gives rows without a
// diameter the one of the engines at hand.
func gatherStock(q *Request) (*stock, error) {
	s := &stock{
		shelf:     q.shelf,
		box:       map[shim.Length][]Pieces{},
		reachable: map[*shim.Engine][]shim.Length{},
	}
	for i := range q.Jobs {
		s.diameters = append(s.diameters, q.Jobs[i].Engine.Diameter)
	}
	s.diameters = sortedSizes(s.diameters)
	if s.shelf == nil {
		var err error
		if s.shelf, err = newShelf(q, s.diameters); err != nil {
			return nil, err
		}
	}
	for _, row := range q.Box {
		diameter, err := resolve(row.Diameter, "box", s.diameters)
		if err != nil {
			return nil, err
		}
		if row.Count > 0 {
			s.box[diameter] = append(s.box[diameter], Pieces{Disc: shim.Disc{Family: shim.Family{Diameter: diameter}, Size: row.Size()}, Count: row.Count, miked: row.Mic != 0})
		}
	}
	for diameter, lots := range s.box {
		if q.Confidence == 0 {
			mixed(lots)
		}
		s.box[diameter] = gather(lots)
	}
	return s, nil
}

// resolve is the diameter of a row: its own, or the only one of the engines.
func resolve(diameter shim.Length, what string, diameters []shim.Length) (shim.Length, error) {
	switch {
	case diameter != 0 || len(diameters) == 0:
		return diameter, nil
	case len(diameters) > 1:
		return 0, fmt.Errorf("%w: a row of the %s has no diameter, and the engines have shims of %v mm: add a diameter column", ErrRequest, what, diameters)
	}
	return diameters[0], nil
}

// A shelf is what can be bought, sorted by size, cheapest first. Requests that
// differ in other things share one.
type shelf struct {
	fromFile bool
	offers   map[shim.Length][]shim.Offer // of the file, or on order, by diameter
	engines  map[*shim.Engine][]shim.Offer
}

// newShelf sorts the offers of a file; without one the engines' catalogues and
// what is on order count.
func newShelf(q *Request, diameters []shim.Length) (*shelf, error) {
	list := q.Offers
	if list == nil {
		list = q.OnOrder
	}
	s := &shelf{fromFile: q.Offers != nil, offers: map[shim.Length][]shim.Offer{}, engines: map[*shim.Engine][]shim.Offer{}}
	for _, offer := range list {
		var err error
		if offer.Diameter, err = resolve(offer.Diameter, "catalogue", diameters); err != nil {
			return nil, err
		}
		s.offers[offer.Diameter] = append(s.offers[offer.Diameter], offer)
	}
	for _, offers := range s.offers {
		sortOffers(offers)
	}
	return s, nil
}

// mixed calls a size of the box miked only where all its pieces are, where
// that makes no difference to the plan: they are one size then.
func mixed(lots []Pieces) {
	stamped := map[shim.Length]bool{}
	for _, lot := range lots {
		stamped[lot.Size] = stamped[lot.Size] || !lot.miked
	}
	for i := range lots {
		lots[i].miked = !stamped[lots[i].Size]
	}
}

func sortOffers(offers []shim.Offer) {
	slices.SortStableFunc(offers, func(a, b shim.Offer) int {
		return cmp.Or(cmp.Compare(a.Size, b.Size), cmp.Compare(a.Price, b.Price), falseFirst(a.Priced, b.Priced), cmp.Compare(a.Part, b.Part))
	})
}

// falseFirst orders truth values.
func falseFirst(a, b bool) int {
	switch {
	case a == b:
		return 0
	case b:
		return -1
	}
	return 1
}

// catalogue is what may be ordered for the engine, by size, cheapest first.
func (s *shelf) catalogue(e *shim.Engine) []shim.Offer {
	if s.fromFile {
		return s.offers[e.Diameter]
	}
	offers, known := s.engines[e]
	if !known {
		offers = append(e.Offers(), s.offers[e.Diameter]...)
		sortOffers(offers)
		s.engines[e] = offers
	}
	return offers
}

// between narrows offers in order of size to those of an interval.
func between(offers []shim.Offer, thin, thick shim.Length) []shim.Offer {
	from, _ := slices.BinarySearchFunc(offers, thin, func(o shim.Offer, size shim.Length) int { return compareSizes(o.Size, size) })
	to, _ := slices.BinarySearchFunc(offers, thick+1, func(o shim.Offer, size shim.Length) int { return compareSizes(o.Size, size) })
	return offers[from:max(from, to)]
}
