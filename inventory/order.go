package inventory

import (
	"cmp"
	"context"
	"maps"
	"slices"
	"strings"
	"unicode"

	"shimwright/shim"
)

// Terms are what a shim is bought on.
type Terms struct {
	Supplier string // may be empty
	Part     string // the supplier's part number; may be empty
	shim.Quote
}

// Compare orders by supplier, part and price, a price that is not known first.
func (t Terms) Compare(o Terms) int {
	return cmp.Or(strings.Compare(t.Supplier, o.Supplier), strings.Compare(t.Part, o.Part), t.Quote.Compare(o.Quote))
}

// A Purchase is what a job needs from a supplier in one size and on the same
// terms. 0 <= Arrived <= Ordered. What is on order and no job needs is the
// shop's: it has no job, and nothing of it is needed or arrived.
type Purchase struct {
	Job int64
	shim.Disc
	Terms
	Needed  int // shims the current plan buys
	Ordered int // shims ordered for the current plan, including those arrived
	Arrived int
	Seal    Hash // the store's; rules see none
}

// Compare orders by job, family, size and terms.
func (p Purchase) Compare(o Purchase) int {
	return cmp.Or(compareLine(p.Job, o.Job, p.Disc, o.Disc), p.Terms.Compare(o.Terms))
}

// same reports whether it is the same line of the list, apart from its counts.
func (p Purchase) same(o Purchase) bool { return p.Compare(o) == 0 }

// Missing is the number of shims still to order.
func (p Purchase) Missing() int { return max(0, p.Needed-p.Ordered) }

// Coming is the number of shims on order that have not arrived.
func (p Purchase) Coming() int { return p.Ordered - p.Arrived }

// A Demand is a line of the shopping list: one size on the same terms, over all
// jobs and what is on order for the shop.
type Demand struct {
	shim.Disc
	Terms
	Missing int     // to be ordered
	Coming  int     // on order
	Arrived int     // arrived for current plans
	Jobs    []int64 // the jobs it is for
	Spare   int     // of Coming: on order for the shop, which no job needs
}

// Shopping is the shopping list of all jobs: what to order and what is on order.
func (s *Shop) Shopping(ctx context.Context) (list []Demand, err error) {
	err = s.store.View(ctx, func(r Reader) error {
		purchases, err := r.Purchases(HoldFilter{})
		if err != nil {
			return err
		}
		list = demands(purchases)
		return nil
	})
	return list, err
}

func demands(purchases []Purchase) []Demand {
	sums, names := map[Purchase]*Demand{}, Spelling{}
	for _, p := range purchases {
		if p.Missing() == 0 && p.Coming() == 0 {
			continue
		}
		p.Supplier = names.Of(p.Supplier)
		k := Purchase{Disc: p.Disc, Terms: p.Terms}
		d := sums[k]
		if d == nil {
			d = &Demand{Disc: p.Disc, Terms: p.Terms}
			sums[k] = d
		}
		d.Missing += p.Missing()
		d.Coming += p.Coming()
		d.Arrived += p.Arrived
		if p.Job == 0 {
			d.Spare += p.Coming()
		} else {
			d.Jobs = append(d.Jobs, p.Job)
		}
	}
	var list []Demand
	for _, k := range slices.SortedFunc(maps.Keys(sums), Purchase.Compare) {
		list = append(list, *sums[k])
	}
	return list
}

// An OrderLine is a number of shims ordered from the supplier. In a request an
// empty supplier means any, or with NoName only lines without a supplier.
type OrderLine struct {
	shim.Disc
	Count int
	Terms
	NoName bool
}

// from reports whether the line means shims of the purchase.
func (l OrderLine) from(p Purchase) bool {
	return p.Disc == l.Disc && meant(l.Supplier, l.NoName, p)
}

// meant reports whether the purchase is from the named supplier.
func meant(supplier string, noName bool, p Purchase) bool {
	return supplier == "" && !noName || SameSupplier(supplier, p.Supplier)
}

// Order marks shims of the shopping list as ordered, the oldest job first. No lines means the whole list.
func (s *Shop) Order(ctx context.Context, lines []OrderLine) ([]OrderLine, error) {
	return s.mark(ctx, lines, oldestFirst, Purchase.Missing, func(p *Purchase, n int) { p.Ordered += n }, func(l OrderLine, rest int) error {
		return shim.Fail(ErrInvalid, "order only what the jobs need; receive what the shop buys for itself",
			"%d × %s mm of %s: %d more than the jobs need", l.Count, l.Size, l.Family, rest)
	})
}

// Withdraw takes shims off order that have not arrived: first those no job needs,
// then those of the newest job. What a job needs must be ordered again. No lines
// means everything on order.
func (s *Shop) Withdraw(ctx context.Context, lines []OrderLine) ([]OrderLine, error) {
	return s.mark(ctx, lines, newestFirst, Purchase.Coming, func(p *Purchase, n int) { p.Ordered -= n }, func(l OrderLine, rest int) error {
		return shim.Fail(ErrInvalid, "see what is on order with job order",
			"%d × %s mm of %s: %d more than are on order", l.Count, l.Size, l.Family, rest)
	})
}

func oldestFirst(x, y Purchase) int { return cmp.Compare(x.Job, y.Job) }

// newestFirst puts the shop's own orders first.
func newestFirst(x, y Purchase) int {
	return cmp.Or(compareBool(x.Job != 0, y.Job != 0), cmp.Compare(y.Job, x.Job))
}

// mark changes the open counts of purchases in the given order and returns what it
// changed.
func (s *Shop) mark(ctx context.Context, lines []OrderLine, order func(x, y Purchase) int, open func(Purchase) int, change func(*Purchase, int), tooMany func(OrderLine, int) error) (done []OrderLine, err error) {
	_, err = s.update(ctx, func(b *booking) error {
		done = nil
		jobs := map[int64]bool{}
		purchases, err := b.Purchases(HoldFilter{})
		if err != nil {
			return err
		}
		slices.SortStableFunc(purchases, order)
		named := lines
		if len(lines) == 0 {
			for _, p := range purchases {
				if n := open(p); n > 0 {
					named = append(named, OrderLine{Disc: p.Disc, Count: n, Terms: p.Terms, NoName: p.Supplier == ""})
				}
			}
		}
		for _, l := range named {
			if l.Count <= 0 {
				return shim.Fail(ErrInvalid, "give the number of shims, 1 or more", "%d is not a valid number of shims", l.Count)
			}
			rest := l.Count
			for i, p := range purchases {
				n := min(rest, open(p))
				if n == 0 || !l.from(p) {
					continue
				}
				rest -= n
				change(&p, n)
				jobs[p.Job] = true
				purchases[i] = p
				if err := b.PutPurchase(p); err != nil {
					return err
				}
				done = add(done, OrderLine{Disc: p.Disc, Count: n, Terms: p.Terms, NoName: p.Supplier == ""})
			}
			if rest > 0 {
				return tooMany(l, rest)
			}
		}
		// Another supplier may have it on the way.
		for _, id := range slices.Sorted(maps.Keys(jobs)) {
			if err := b.settleOrders(id); err != nil {
				return err
			}
		}
		slices.SortFunc(done, func(x, y OrderLine) int {
			return cmp.Or(x.Disc.Compare(y.Disc), x.Terms.Compare(y.Terms))
		})
		return nil
	})
	return done, err
}

// add puts the line to one of the same size and terms.
func add(list []OrderLine, l OrderLine) []OrderLine {
	for i, o := range list {
		if o.Disc == l.Disc && o.Terms == l.Terms && o.NoName == l.NoName {
			list[i].Count += l.Count
			return list
		}
	}
	return append(list, l)
}

// Arrived books in arrived shims: first for the jobs that ordered the size, oldest
// first, then for jobs that need it, then for the shop's own orders; the rest goes
// into the box. A shim that measures another size than ordered is free. Without a
// price it gets that of its order; a different price replaces that of the job's
// purchase.
func (s *Shop) Arrived(ctx context.Context, items []Item) (Receipt, error) {
	var came []OrderLine
	receipt, err := s.update(ctx, func(b *booking) error {
		came = nil
		jobs := map[int64]bool{}
		for _, i := range items {
			if err := i.validate(); err != nil {
				return err
			}
			rest, alike := i.Count, i
			for _, open := range []func(Purchase) int{
				Purchase.waiting, Purchase.Missing, Purchase.Coming,
			} {
				purchases, err := b.Purchases(HoldFilter{Disc: i.Disc()})
				if err != nil {
					return err
				}
				for _, p := range purchases {
					// As it is now: a price may have moved shims of the line before to it.
					if p, err = b.purchase(p.Job, p.Disc, p.Terms); err != nil {
						return err
					}
					n := min(rest, open(p))
					if n == 0 || !meant(i.Supplier, i.NoName, p) {
						continue
					}
					rest -= n
					one := i
					if !i.Priced {
						one.Price, one.Priced = p.Price, p.Priced
						alike = one
					}
					came = add(came, one.line(n, p.Terms, p.Supplier == ""))
					if err := b.came(p, n, one); err != nil {
						return err
					}
					jobs[p.Job] = true
				}
			}
			if rest > 0 {
				came = add(came, alike.line(rest, Terms{}, false))
				if err := b.post(alike.received(rest), respect); err != nil {
					return err
				}
			}
		}
		delete(jobs, 0)
		for _, id := range slices.Sorted(maps.Keys(jobs)) {
			if err := b.settle(id); err != nil {
				return err
			}
		}
		return nil
	})
	receipt.Came = came
	return receipt, err
}

// line is what arrived of the item on the terms of its order, at the item's price.
func (i Item) line(count int, t Terms, noName bool) OrderLine {
	t.Price, t.Priced = i.Price, i.Priced
	return OrderLine{Disc: i.Disc(), Count: count, Terms: t, NoName: noName}
}

// Awaited is what is still to come of a size.
type Awaited struct {
	Open int // shims on order or to order
	// Fitted is the last receipt of the size that a fit booked, since nobody had;
	// the zero movement where none did, or a new piece that was not on order was
	// booked in since.
	Fitted Movement
}

// Awaited returns what is still to come of a size, by the stamp: the supplier does
// not know the micrometer reading.
func (s *Shop) Awaited(ctx context.Context, mark shim.Disc) (a Awaited, err error) {
	err = s.store.View(ctx, func(r Reader) error {
		a = Awaited{}
		list, err := r.Purchases(HoldFilter{Disc: mark})
		if err != nil {
			return err
		}
		for _, p := range list {
			a.Open += p.Missing() + p.Coming()
		}
		a.Fitted, err = lastByFit(r, mark)
		return err
	})
	return a, err
}

// lastByFit is [Awaited.Fitted] of a size.
func lastByFit(r Reader, mark shim.Disc) (found Movement, err error) {
	rows, err := r.Movements(MovementFilter{Disc: mark})
	if err != nil {
		return found, err
	}
	fits := map[int64]bool{} // batches; a fit may book the size right first. One taken back by a cancel is one.
	for _, m := range rows {
		if m.Job != 0 && (m.Kind == KindFitted || m.Kind == KindCorrected) && m.Reverses == 0 {
			fits[m.Batch] = true
		}
	}
	for _, m := range standingRows(rows) {
		if m.Kind == KindReceived && fits[m.Batch] {
			found = m
		}
	}
	if found.Seq == 0 {
		return found, nil
	}
	since, err := r.Movements(MovementFilter{After: found.Seq, Disc: mark.Of(0)})
	if err != nil {
		return found, err
	}
	for _, m := range standingRows(since) {
		if m.Kind == KindReceived && !m.Used && m.Job == 0 && m.Order == nil && cmp.Or(m.Stamp, m.Mic) == mark.Size {
			return Movement{}, nil
		}
	}
	return found, nil
}

// waiting is the number of shims on order that a job waits for.
func (p Purchase) waiting() int {
	if p.Job == 0 {
		return 0
	}
	return p.Coming()
}

// came books in shims of a purchase.
func (b *booking) came(p Purchase, count int, i Item) error {
	row := i.received(count)
	row.Job, row.Order, row.Unordered = p.Job, &p.Terms, p.Coming() < count
	if err := b.post(row, respect); err != nil {
		return err
	}
	if p.Job == 0 {
		p.Ordered -= count
		return b.PutPurchase(p)
	}
	to := p.Terms
	if i.Priced {
		to.Price, to.Priced = i.Price, true
	}
	return b.reprice(p, to, count, count)
}

// reprice moves shims of a purchase to other terms, arrived ones too. Shims that
// were not on order are from now on.
func (b *booking) reprice(p Purchase, to Terms, count, arrived int) error {
	ordered, needed := min(count, p.Coming()), min(count, p.Needed)
	p.Ordered -= ordered
	p.Needed -= needed
	if err := b.PutPurchase(p); err != nil {
		return err
	}
	q, err := b.purchase(p.Job, p.Disc, to)
	if err != nil {
		return err
	}
	q.Ordered += count
	q.Needed += needed
	q.Arrived += arrived
	return b.PutPurchase(q)
}

// purchase is the row of the job, with zero counts if there is none.
func (b *booking) purchase(job int64, d shim.Disc, t Terms) (Purchase, error) {
	p := Purchase{Job: job, Disc: d, Terms: t}
	list, err := b.Purchases(HoldFilter{Disc: d})
	if at := slices.IndexFunc(list, p.same); at >= 0 {
		p = list[at]
	}
	return p, err
}

// received is the row that books in shims of the item.
func (i Item) received(count int) Movement {
	return Movement{Kind: KindReceived, Lot: i.Lot, Count: count, Quote: i.Quote, Note: i.Note}
}

// supplierKey is what supplier names are compared by: lower case, without spaces.
func supplierKey(name string) string {
	return strings.Map(func(r rune) rune {
		if unicode.IsSpace(r) {
			return -1
		}
		return unicode.ToLower(r)
	}, name)
}

// SameSupplier reports whether two names mean one supplier, as "Willow Road" and
// "willowroad" do.
func SameSupplier(x, y string) bool { return supplierKey(x) == supplierKey(y) }

// A Spelling keeps to the first spelling of each supplier's name that it meets.
type Spelling map[string]string

// Of is the name in its first spelling, without blanks at its ends.
func (s Spelling) Of(name string) string {
	key := supplierKey(name)
	if _, known := s[key]; !known {
		s[key] = strings.TrimSpace(name)
	}
	return s[key]
}
