package shim

// A BoxRow is a number of equal shims in the shop's box. A diameter of 0 is
// the diameter of the engine at hand.
type BoxRow struct {
	Stamp    Length // the size marked on the shims
	Mic      Length // the size that a micrometer reads, 0 where nobody measured
	Diameter Length
	Count    int
	Bin      string
	Note     string
}

// Size is the size to calculate with: the mic reading where there is one.
func (r BoxRow) Size() Length {
	if r.Mic != 0 {
		return r.Mic
	}
	return r.Stamp
}

// An Offer is one size of a supplier's catalogue. A diameter of 0 is the
// diameter of the engine at hand.
type Offer struct {
	Size     Length
	Diameter Length
	Price    Price
	Priced   bool // whether Price is known
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
			offers = append(offers, Offer{Size: size, Diameter: e.Diameter, Price: r.Price, Priced: r.Priced})
		}
	}
	return offers
}
