package shim

import "slices"

// A BoxRow is a number of equal shims in the shop's box. A diameter of 0 is
// the diameter of the engine at hand.
type BoxRow struct {
	Marks
	Family
	Used  bool // whether they have been in an engine
	Count int
	Bin   string
	Note  string
}

// An Offer is one size of a supplier's catalogue. A diameter of 0 is the
// diameter of the engine at hand.
type Offer struct {
	Disc
	Quote
	Limited  bool // whether only Stock pieces can be had
	Stock    int
	Part     string
	Supplier string
}

// Offers is the engine's own catalogue as offers: the openers' shims range by
// range, then each closer family's.
func (e *Engine) Offers() []Offer {
	offers := offersOf(nil, Family{Kind: e.Kind, Diameter: e.Diameter}, e.Catalogue)
	var done []Family
	for _, side := range Sides {
		t := e.Train(side)
		if !t.closers() || slices.Contains(done, t.Closer.Family) {
			continue
		}
		done = append(done, t.Closer.Family)
		offers = offersOf(offers, t.Closer.Family, t.Closer.Catalogue)
	}
	return offers
}

func offersOf(offers []Offer, f Family, ranges []Range) []Offer {
	for _, r := range ranges {
		for _, size := range r.Sizes() {
			offers = append(offers, Offer{Disc: f.Of(size), Quote: r.Quote})
		}
	}
	return offers
}
