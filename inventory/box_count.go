package inventory

import (
	"context"
	"fmt"
	"slices"

	"shimwright/shim"
)

// A Stocktake is a count of the box. A row stands for the pieces of its
// family, stamp and mic, used and new ones together.
type Stocktake struct {
	Rows []Counting
	// ByBin says that the rows name bins; otherwise a row stands for the
	// pieces in all bins.
	ByBin bool
	// Whole says that everything in the rows' families was counted (by bin:
	// in the rows' bins), so that a size without a row is none.
	Whole bool
	Note  string
}

// A Counting is one row of a stocktake.
type Counting struct {
	shim.Family
	shim.Marks
	Bin   string
	Count int // pieces found, 0 and up
}

// A Difference is a lot whose count the stocktake changes.
type Difference struct {
	Lot
	Was, Is int
}

// Tally gives the differences between the stocktake and the record, and books
// nothing.
func (s *Shop) Tally(ctx context.Context, take Stocktake) (list []Difference, err error) {
	err = s.store.View(ctx, func(r Reader) error {
		list, err = take.tally(r)
		return err
	})
	return list, err
}

// Count books the differences that [Shop.Tally] gave. It is [ErrStale] where
// they are no longer the same, since somebody booked meanwhile.
func (s *Shop) Count(ctx context.Context, take Stocktake, tally []Difference) (Receipt, error) {
	return s.update(ctx, func(b *booking) error {
		now, err := take.tally(b)
		if err != nil {
			return err
		}
		if !slices.Equal(now, tally) {
			return shim.Fail(ErrStale, "count the changed sizes again", "the box changed after the count was compared with it")
		}
		// Found pieces come first, so that what was put elsewhere stays promised.
		slices.SortStableFunc(now, func(x, y Difference) int { return compareBool(x.Is < x.Was, y.Is < y.Was) })
		for _, d := range now {
			if err := b.post(Movement{Kind: KindCounted, Lot: d.Lot, Count: d.Is - d.Was, Note: take.Note}, override); err != nil {
				return err
			}
		}
		return nil
	})
}

// group is the key of a stocktake's row.
type group struct {
	shim.Family
	shim.Marks
	bin string
}

func (take Stocktake) group(l Lot) group {
	g := group{l.Family, l.Marks, l.Bin}
	if !take.ByBin {
		g.bin = ""
	}
	return g
}

func (take Stocktake) tally(r Reader) ([]Difference, error) {
	counted := map[group]int{}
	families := map[shim.Family]bool{}
	bins := map[string]bool{}
	for _, row := range take.Rows {
		lot := Lot{Family: row.Family, Marks: row.Marks, Used: true, Bin: row.Bin}
		if err := lot.validate(); err != nil {
			return nil, err
		}
		if row.Count < 0 {
			return nil, shim.Fail(ErrInvalid, "write 0 if none was found", "%d is not a valid count for %s", row.Count, lot)
		}
		if !take.ByBin && row.Bin != "" {
			return nil, fmt.Errorf("a row has bin %q in a count of all bins: %w", row.Bin, ErrInvalid)
		}
		g := take.group(lot)
		if _, twice := counted[g]; twice {
			return nil, shim.Fail(ErrInvalid, "add up the rows", "%s is counted twice", lot)
		}
		counted[g] = row.Count
		families[row.Family], bins[row.Bin] = true, true
	}
	lots := map[group][]Balance{}
	was := map[Lot]int{}
	for family := range families {
		balances, err := r.Balances(StockFilter{Disc: family.Of(0)})
		if err != nil {
			return nil, err
		}
		for _, b := range balances {
			g := take.group(b.Lot)
			if _, listed := counted[g]; !listed {
				if !take.Whole || take.ByBin && !bins[b.Bin] {
					continue
				}
				counted[g] = 0
			}
			lots[g] = append(lots[g], b)
			was[b.Lot] = b.Count
		}
	}
	var list []Difference
	for g, count := range counted {
		list = append(list, spread(g, lots[g], count)...)
	}
	list = keepNew(list, was)
	slices.SortFunc(list, func(x, y Difference) int { return x.Lot.Compare(y.Lot) })
	return list, nil
}

// keepNew books found pieces as new where as many new ones of their kind are
// missing from another bin: they were put elsewhere, not used.
func keepNew(list []Difference, was map[Lot]int) []Difference {
	kind := func(l Lot) Lot { return Lot{Family: l.Family, Marks: l.Marks} }
	missing := map[Lot]int{}
	for _, d := range list {
		if !d.Used {
			missing[kind(d.Lot)] += max(0, d.Was-d.Is)
		}
	}
	var kept []Difference
	// In the order of the lots, so that the same count gives the same rows.
	slices.SortFunc(list, func(x, y Difference) int { return x.Lot.Compare(y.Lot) })
	for _, d := range list {
		if n := min(missing[kind(d.Lot)], d.Is-d.Was); d.Used && n > 0 {
			missing[kind(d.Lot)] -= n
			d.Is -= n
			fresh := d.Lot
			fresh.Used = false
			kept = append(kept, Difference{Lot: fresh, Was: was[fresh], Is: was[fresh] + n})
		}
		if d.Is != d.Was {
			kept = append(kept, d)
		}
	}
	return kept
}

// spread turns the count of a group into counts of its lots. Missing pieces
// are taken from used ones first, and found ones are booked as used: nobody
// can tell any more that they are new.
func spread(g group, lots []Balance, count int) []Difference {
	slices.SortStableFunc(lots, func(x, y Balance) int { return -compareBool(x.Used, y.Used) })
	rest := count
	for _, b := range lots {
		rest -= b.Count
	}
	var list []Difference
	if rest > 0 {
		found := Balance{Lot: Lot{Family: g.Family, Marks: g.Marks, Used: true, Bin: g.bin}}
		if len(lots) > 0 {
			found.Bin = lots[0].Bin
			if lots[0].Used {
				found = lots[0]
			}
		}
		return append(list, Difference{Lot: found.Lot, Was: found.Count, Is: found.Count + rest})
	}
	for _, b := range lots {
		if rest == 0 {
			break
		}
		n := min(b.Count, -rest)
		rest += n
		list = append(list, Difference{Lot: b.Lot, Was: b.Count, Is: b.Count - n})
	}
	return list
}
