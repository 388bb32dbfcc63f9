package shim

// A BoxRow is a number of equal shims in the shop's box. A diameter of 0 is
// the diameter of the engine at hand.
type BoxRow struct {
	Marks
	Diameter Length
	Count    int
	Bin      string
	Note     string
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

// Offers is the engine's own catalogue as offers, range by range.
func (e *Engine) Offers() []Offer {
	var offers []Offer
	for _, r := range e.Catalogue {
		for _, size := range r.Sizes() {
			offers = append(offers, Offer{Disc: Disc{Family: Family{Diameter: e.Diameter}, Size: size}, Quote: r.Quote})
		}
	}
	return offers
}
