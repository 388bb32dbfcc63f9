package inventory

import (
	"cmp"
	"context"
	"slices"
	"strings"
	"time"

	"shimwright/shim"
	"shimwright/shim/files"
)

// A Supplier is one that the shop buys from. Names are told apart as [SameSupplier] does.
type Supplier struct {
	ID       int64       `json:"-"` // [Record.Number]
	Name     string      // what the shop calls it
	Carriage shim.Quote  `json:",omitzero"`  // for one order
	Least    shim.Price  `json:",omitzero"`  // that an order has to come to, without carriage
	Pack     int         `json:",omitempty"` // shims in a pack, 0 where they are sold singly
	Form     files.Form  `json:",omitzero"`  // of its price lists
	Family   shim.Family `json:",omitzero"`  // of rows in them that name none
	Note     string      `json:",omitempty"`
	Retired  bool        `json:",omitempty"` // no longer bought from
}

// A PriceList is what a supplier asked from a day on. Lists are never removed: a later
// one of the same day takes an earlier one's place.
type PriceList struct {
	ID       int64     `json:"-"` // [Record.Number]
	Supplier int64     `json:"-"` // [Supplier.ID]
	Day      time.Time // midnight UTC
	Kept     time.Time
	Who      string
	Source   string       // the file's name
	Offers   []shim.Offer // their Supplier is empty
}

// mostOffers bounds a price list.
const mostOffers = 20_000

// maxPack bounds the shims in a pack.
const maxPack = 10_000

func supplier(r Record) (s Supplier, err error) {
	err = r.read(&s)
	s.ID = r.Number
	return s, err
}

func priceList(r Record) (l PriceList, err error) {
	err = r.read(&l)
	l.ID, l.Supplier = r.Number, r.Of
	return l, err
}

// Suppliers lists the suppliers, retired ones too, by number.
func (s *Shop) Suppliers(ctx context.Context) (list []Supplier, err error) {
	err = s.store.View(ctx, func(r Reader) error {
		list, err = suppliers(r)
		return err
	})
	return list, err
}

func suppliers(r Reader) ([]Supplier, error) {
	return listed(r, RecordFilter{Kind: Suppliers}, supplier)
}

func (s Supplier) valid() error {
	if supplierKey(s.Name) == "" {
		return shim.Fail(ErrInvalid, "give it one, such as \"Willow Road\"", "a supplier needs a name")
	}
	for name, text := range map[string]string{"name": s.Name, "note": s.Note} {
		if err := validText(name, text); err != nil {
			return err
		}
	}
	if s.Carriage.Price < 0 || s.Least < 0 || s.Pack < 0 || s.Pack > maxPack {
		return shim.Fail(ErrInvalid, "write them as figures above zero", "supplier %s: carriage, least order or pack make no sense", s.Name)
	}
	return s.Form.OfPrices()
}

// PutSupplier adds a supplier, or changes the one whose ID it has.
func (s *Shop) PutSupplier(ctx context.Context, one Supplier) (Supplier, error) {
	_, err := s.update(ctx, func(b *booking) error {
		one.Name = strings.TrimSpace(one.Name)
		if err := one.valid(); err != nil {
			return err
		}
		all, err := suppliers(b)
		if err != nil {
			return err
		}
		for _, other := range all {
			if other.ID != one.ID && SameSupplier(other.Name, one.Name) {
				return shim.Fail(ErrInvalid, "change it with shimwright supplier edit", "supplier %d is called %q", other.ID, other.Name)
			}
		}
		one.ID, err = keep(b, Suppliers, one.ID, supplierKey(one.Name), 0, one)
		return err
	})
	return one, err
}

// KeepPrices keeps a price list.
func (s *Shop) KeepPrices(ctx context.Context, l PriceList) (PriceList, error) {
	_, err := s.update(ctx, func(b *booking) (err error) {
		if _, err := b.Record(Suppliers, l.Supplier); err != nil {
			return err
		}
		if err := OnTime(l.Day); err != nil {
			return err
		}
		if len(l.Offers) == 0 || len(l.Offers) > mostOffers {
			return shim.Fail(ErrInvalid, "leave out what is no shim", "a price list has 1 to %d rows, not %d", mostOffers, len(l.Offers))
		}
		if err := validText("file's name", l.Source); err != nil {
			return err
		}
		l.Offers = slices.Clone(l.Offers)
		for i := range l.Offers {
			o := &l.Offers[i]
			o.Supplier = ""
			if err := validText("part number", o.Part); err != nil {
				return err
			}
			if o.Size <= 0 || o.Price < 0 || o.Stock < 0 {
				return shim.Fail(ErrInvalid, "", "a price list has %s at %s", o.Disc, o.Price)
			}
		}
		slices.SortStableFunc(l.Offers, compareOffers)
		l.Kept, l.Who = b.at, s.who
		l.ID, err = keep(b, PriceLists, 0, "", l.Supplier, l)
		return err
	})
	return l, err
}

func compareOffers(x, y shim.Offer) int {
	return cmp.Or(x.Disc.Compare(y.Disc), cmp.Compare(x.Part, y.Part))
}

// PriceLists gives a supplier's price lists, the one that counts last: by day, those of
// one day as they were kept.
func (s *Shop) PriceLists(ctx context.Context, supplier int64) (list []PriceList, err error) {
	err = s.store.View(ctx, func(r Reader) error {
		list, err = listed(r, RecordFilter{Kind: PriceLists, Of: supplier}, priceList)
		slices.SortStableFunc(list, func(x, y PriceList) int { return x.Day.Compare(y.Day) })
		return err
	})
	return list, err
}

// PricesOn is the list that counts on a day, of a supplier's lists in their order; nil
// where none does yet.
func PricesOn(lists []PriceList, day time.Time) *PriceList {
	for i := range slices.Backward(lists) {
		if !lists[i].Day.After(day) {
			return &lists[i]
		}
	}
	return nil
}

// PricesThatCount leaves out the lists that a later one of the same day took the place of.
func PricesThatCount(lists []PriceList) (list []PriceList) {
	for i, l := range lists {
		if i+1 == len(lists) || !lists[i+1].Day.Equal(l.Day) {
			list = append(list, l)
		}
	}
	return list
}

// Kinds of [PriceChange].
const (
	PriceNew      = "new"
	PriceDearer   = "dearer"
	PriceCheaper  = "cheaper"
	PriceKnown    = "price known"
	PriceUnknown  = "price not known"
	PriceGone     = "gone"
	StockChanged  = "stock"
	NumberChanged = "part number"
)

// A PriceChange is what another price list says otherwise of one shim.
type PriceChange struct {
	Kind    string
	Was, Is shim.Offer // zero where it was not in the list
}

// PriceChanges compares two price lists of one supplier, by family and size, then by
// part number where a size stands there more than once.
func PriceChanges(was, is []shim.Offer) (list []PriceChange) {
	before, after := byDisc(was), byDisc(is)
	all := slices.Concat(was, is)
	slices.SortStableFunc(all, compareOffers)
	seen := map[shim.Disc]bool{}
	for _, o := range all {
		if seen[o.Disc] {
			continue
		}
		seen[o.Disc] = true
		for _, pair := range pairs(before[o.Disc], after[o.Disc]) {
			if kind := changed(pair[0], pair[1]); kind != "" {
				c := PriceChange{Kind: kind}
				if pair[0] != nil {
					c.Was = *pair[0]
				}
				if pair[1] != nil {
					c.Is = *pair[1]
				}
				list = append(list, c)
			}
		}
	}
	return list
}

func byDisc(list []shim.Offer) map[shim.Disc][]*shim.Offer {
	m := map[shim.Disc][]*shim.Offer{}
	for i := range list {
		m[list[i].Disc] = append(m[list[i].Disc], &list[i])
	}
	return m
}

// pairs says which offer of one size became which; nil is none.
func pairs(was, is []*shim.Offer) (list [][2]*shim.Offer) {
	if len(was) == 1 && len(is) == 1 {
		return [][2]*shim.Offer{{was[0], is[0]}}
	}
	left := slices.Clone(is)
	for _, w := range was {
		at := slices.IndexFunc(left, func(o *shim.Offer) bool { return o.Part == w.Part })
		if at < 0 {
			list = append(list, [2]*shim.Offer{w, nil})
			continue
		}
		list = append(list, [2]*shim.Offer{w, left[at]})
		left = slices.Delete(left, at, at+1)
	}
	for _, o := range left {
		list = append(list, [2]*shim.Offer{nil, o})
	}
	return list
}

// changed is the kind of the change, empty where the two say the same.
func changed(was, is *shim.Offer) string {
	switch {
	case was == nil:
		return PriceNew
	case is == nil:
		return PriceGone
	case !was.Priced && is.Priced:
		return PriceKnown
	case was.Priced && !is.Priced:
		return PriceUnknown
	case is.Price > was.Price:
		return PriceDearer
	case is.Price < was.Price:
		return PriceCheaper
	case was.Limited != is.Limited || was.Stock != is.Stock:
		return StockChanged
	case was.Part != is.Part:
		return NumberChanged
	}
	return ""
}
