package plan

import (
	"cmp"
	"fmt"
	"slices"

	"shimwright/shim"
	"shimwright/shim/doubt"
)

// stock is what can be had, by family.
type stock struct {
	*shelf
	families  []shim.Family
	box       map[shim.Family][]Pieces // by size
	mix       map[shim.Disc]mix        // what the box's sizes consist of, where no lot says so
	reachable map[asked][]shim.Length  // where all jobs reach the same shims
}

// asked is whose shims are asked for: an engine's of one family.
type asked struct {
	engine *shim.Engine
	family shim.Family
}

// gatherStock sorts the box and the catalogues, and gives rows without a
// diameter the one of the engines at hand.
func gatherStock(q *Request) (*stock, error) {
	s := &stock{
		shelf:     q.shelf,
		box:       map[shim.Family][]Pieces{},
		mix:       map[shim.Disc]mix{},
		reachable: map[asked][]shim.Length{},
	}
	for i := range q.Jobs {
		s.families = append(s.families, q.Jobs[i].Engine.Families()...)
	}
	slices.SortFunc(s.families, shim.Family.Compare)
	s.families = slices.Compact(s.families)
	if s.shelf == nil {
		var err error
		if s.shelf, err = newShelf(q, s.families); err != nil {
			return nil, err
		}
	}
	for _, row := range q.Box {
		family, err := resolve(row.Family, "box", s.families)
		if err != nil {
			return nil, err
		}
		if row.Count > 0 {
			s.box[family] = append(s.box[family], Pieces{Disc: family.Of(row.Size()), Count: row.Count, known: doubt.SourceOf(row.Mic != 0, row.Used)})
		}
	}
	for family, lots := range s.box {
		if !q.apart() {
			s.mixed(lots)
		}
		s.box[family] = gather(lots)
	}
	return s, nil
}

// resolve is the family of a row: with its own diameter, or with the only one
// that the engines have of its kind.
func resolve(f shim.Family, what string, families []shim.Family) (shim.Family, error) {
	if f.Diameter != 0 {
		return f, nil
	}
	var diameters []shim.Length
	for _, known := range families {
		if known.Kind == f.Kind {
			diameters = append(diameters, known.Diameter)
		}
	}
	switch len(diameters) {
	case 0:
		return f, nil
	case 1:
		return shim.Family{Kind: f.Kind, Diameter: diameters[0]}, nil
	}
	return f, fmt.Errorf("%w: a row of the %s has no diameter, and the engines have shims of %v mm: add a diameter column", ErrRequest, what, diameters)
}

// A shelf is what can be bought, sorted by size, cheapest first. Requests that
// differ in other things share one.
type shelf struct {
	fromFile bool
	offers   map[shim.Family][]shim.Offer // of the file, or on order
	engines  map[asked][]shim.Offer
}

// newShelf sorts the offers of a file; without one the engines' catalogues and
// what is on order count.
func newShelf(q *Request, families []shim.Family) (*shelf, error) {
	list := q.Offers
	if list == nil {
		list = q.OnOrder
	}
	s := &shelf{fromFile: q.Offers != nil, offers: map[shim.Family][]shim.Offer{}, engines: map[asked][]shim.Offer{}}
	for _, offer := range list {
		var err error
		if offer.Family, err = resolve(offer.Family, "catalogue", families); err != nil {
			return nil, err
		}
		s.offers[offer.Family] = append(s.offers[offer.Family], offer)
	}
	for _, offers := range s.offers {
		sortOffers(offers)
	}
	return s, nil
}

// A mix is what a size of the box consists of: so many used pieces, known by their
// marks, and the rest, as well known as the least known of them.
type mix struct {
	used int
	rest doubt.Source
}

// next takes a piece, a used one while there is one, and says how its size is known.
func (m *mix) next() doubt.Source {
	if m.used > 0 {
		m.used--
		return doubt.Used
	}
	return m.rest
}

// mixed calls a size of the box as well known as the least known of its pieces,
// where that makes no difference to which shims are chosen: they are one size then.
// What each valve gets of it the mix says.
func (s *stock) mixed(lots []Pieces) {
	for _, lot := range lots {
		m, seen := s.mix[lot.Disc]
		if !seen {
			m.rest = doubt.Miked
		}
		switch lot.known {
		case doubt.Used:
			m.used += lot.Count
		case doubt.Stamped:
			m.rest = doubt.Stamped
		}
		s.mix[lot.Disc] = m
	}
	for i := range lots {
		if m := s.mix[lots[i].Disc]; m.used > 0 {
			lots[i].known = doubt.Used
		} else {
			lots[i].known = m.rest
		}
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

// catalogue is what may be ordered of a family of the engine's, by size,
// cheapest first.
func (s *shelf) catalogue(e *shim.Engine, f shim.Family) []shim.Offer {
	if s.fromFile {
		return s.offers[f]
	}
	offers, known := s.engines[asked{e, f}]
	if !known {
		offers = slices.DeleteFunc(e.Offers(), func(o shim.Offer) bool { return o.Family != f })
		offers = append(offers, s.offers[f]...)
		sortOffers(offers)
		s.engines[asked{e, f}] = offers
	}
	return offers
}

// between narrows offers in order of size to those of an interval.
func between(offers []shim.Offer, thin, thick shim.Length) []shim.Offer {
	from, _ := slices.BinarySearchFunc(offers, thin, func(o shim.Offer, size shim.Length) int { return compareSizes(o.Size, size) })
	to, _ := slices.BinarySearchFunc(offers, thick+1, func(o shim.Offer, size shim.Length) int { return compareSizes(o.Size, size) })
	return offers[from:max(from, to)]
}
