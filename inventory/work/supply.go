package work

import (
	"slices"

	"shimwright/inventory"
	"shimwright/shim"
	"shimwright/shim/plan"
)

// A supply is what jobs may buy, with the terms that a piece is bought on.
type supply struct{ offers []offer }

type offer struct {
	shim.Offer
	terms inventory.Terms
	job   int64 // that it is on order for; 0 where for none, or not on order
}

// of reports whether the offer is of shims of the family.
func (o offer) of(f shim.Family) bool {
	return o.Kind == f.Kind && (o.Diameter == 0 || o.Diameter == f.Diameter)
}

// Offers is the catalogue as it stands for jobs that are planned together. What
// is on order for them, or for the shop, is put in: such a piece costs nothing
// more. What is on order, and what the plans of other jobs buy, is taken off a
// limited stock. Nil stands for the engines' own catalogues and is given back;
// what is on order stands beside them then.
func Offers(ready []*Ready, catalogue []shim.Offer) (offers, onOrder []shim.Offer) {
	planned, seen := map[int64]bool{}, map[shim.Family]bool{}
	var market []inventory.Purchase
	for _, r := range ready {
		planned[r.basis.Job.ID] = true
		for _, p := range r.basis.Market {
			if !seen[p.Family] {
				market = append(market, p)
			}
		}
		for _, f := range r.basis.Engine.Spec.Families() {
			seen[f] = true
		}
	}
	s, names := &supply{}, inventory.Spelling{}
	for _, p := range market {
		names.Of(p.Supplier) // the spelling that the shop has
		if n := p.Coming(); n > 0 && (p.Job == 0 || planned[p.Job]) {
			s.offers = append(s.offers, offer{shim.Offer{Disc: p.Disc, Quote: shim.Quote{Priced: true}, Limited: true, Stock: n, Supplier: p.Supplier, Part: p.Part}, p.Terms, p.Job})
		}
	}
	coming := len(s.offers)
	for _, o := range catalogue {
		o.Supplier = names.Of(o.Supplier)
		s.offers = append(s.offers, offer{o, inventory.Terms{Supplier: o.Supplier, Part: o.Part, Quote: o.Quote}, 0})
	}
	for _, p := range market {
		n := p.Coming()
		if !planned[p.Job] {
			n += p.Missing()
		}
		reduce(s.offers[coming:], p, n)
	}
	for _, r := range ready {
		r.supply = s
	}
	list := make([]shim.Offer, len(s.offers))
	for i, o := range s.offers {
		list[i] = o.Offer
	}
	if catalogue == nil {
		return nil, list
	}
	return list, nil
}

// reduce takes pieces of the purchase off the limited offers of its supplier
// and part, those at its price first.
func reduce(offers []offer, p inventory.Purchase, count int) {
	for _, exact := range []bool{true, false} {
		for i := range offers {
			o := &offers[i]
			if !o.Limited || o.Size != p.Size || !o.of(p.Family) || !inventory.SameSupplier(o.Supplier, p.Supplier) || o.Part != p.Part || exact && o.terms != p.Terms {
				continue
			}
			n := min(count, o.Stock)
			o.Stock -= n
			count -= n
		}
	}
}

// take gives the terms of the offer that a valve's piece is bought by, and takes
// the piece off it. The plan names its size and price; of several offers at one
// price those on order go first, the job's own before the shop's, as the shop
// lets them serve, then those that the plan sorts first.
func (s *supply) take(job int64, f shim.Family, v *plan.ValvePlan) inventory.Terms {
	none := inventory.Terms{Quote: v.Quote}
	if s == nil {
		return none
	}
	at := -1
	for _, suits := range []func(o offer) bool{
		func(o offer) bool { return o.Limited && o.job == job },
		func(o offer) bool { return o.Limited && o.job == 0 },
		func(o offer) bool { return o.Limited },
		func(o offer) bool { return !o.Limited },
	} {
		at = slices.IndexFunc(s.offers, func(o offer) bool {
			return suits(o) && (!o.Limited || o.Stock > 0) && o.Size == v.Size && o.Price == v.Price && o.Priced == v.Priced && o.of(f)
		})
		if at >= 0 {
			break
		}
	}
	if at < 0 {
		return none
	}
	s.offers[at].Stock-- // which counts where it is limited
	return s.offers[at].terms
}
