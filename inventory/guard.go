package inventory

import (
	"cmp"
	"context"
	"errors"
	"fmt"

	"shimwright/shim"
)

// guarded is a store whose rows are verified against their seals whenever they
// are read, and sealed when they are written. Listings are compared with their
// tallies, so that a row which is gone, or which an index hides, is missed. The
// guard wraps every store; rules see no other.
type guarded struct{ Store }

func (s guarded) View(ctx context.Context, f func(Reader) error) error {
	return s.Store.View(ctx, func(r Reader) error { return f(&guard{raw: r, tallies: map[Group]Tally{}}) })
}

func (s guarded) Update(ctx context.Context, f func(Writer) error) error {
	return s.Store.Update(ctx, func(w Writer) error {
		g := guardOf(w)
		if err := f(g); err != nil {
			return err
		}
		return g.flush()
	})
}

func guardOf(w Writer) *guardWriter {
	return &guardWriter{guard{raw: w, tallies: map[Group]Tally{}}, w, map[Group]bool{}}
}

// guard verifies what it reads. It names every method of [Reader], so that a
// new one cannot pass by unseen.
type guard struct {
	raw     Reader
	tallies map[Group]Tally // verified, and as this transaction changed them
}

var (
	_ Reader = (*guard)(nil)
	_ Writer = (*guardWriter)(nil)
)

// String names the group for a message.
func (g Group) String() string {
	switch {
	case g.Job != 0:
		return fmt.Sprintf("%s of job %d", g.What, g.Job)
	case g.Size != 0:
		return fmt.Sprintf("%s of %s", g.What, g.Disc)
	case g.Diameter != 0:
		return fmt.Sprintf("%s of %s", g.What, g.Family)
	}
	return "all " + g.What
}

// Tally implements [Reader].
func (g *guard) Tally(group Group) (Tally, error) {
	if t, known := g.tallies[group]; known {
		return t, nil
	}
	t, err := g.raw.Tally(group)
	if err == nil && (t.Count != 0 || t.Seal != Hash{}) {
		t, err = t.sound()
	}
	if err == nil {
		g.tallies[group] = t
	}
	return t, err
}

// counted compares a number of rows with the group's tally.
func (g *guard) counted(group Group, rows int) error {
	t, err := g.Tally(group)
	if err == nil && t.Count != int64(rows) {
		err = Damaged(group.String(), fmt.Sprintf("are %d, there should be %d", rows, t.Count))
	}
	return err
}

// present counts the group's rows and compares them with the tally.
func (g *guard) present(group Group) error {
	n, err := g.raw.Rows(group)
	if err != nil {
		return err
	}
	return g.counted(group, int(n))
}

// complete compares a listing with its group: a full listing directly, a page by
// counting.
func (g *guard) complete(group Group, whole bool, rows int) error {
	if whole {
		return g.counted(group, rows)
	}
	return g.present(group)
}

// Tallies and Rows pass what is kept.
func (g *guard) Tallies() ([]Tally, error)       { return g.raw.Tallies() }
func (g *guard) Rows(group Group) (int64, error) { return g.raw.Rows(group) }

// Last implements [Reader].
func (g *guard) Last() (Movement, error) {
	m, err := g.raw.Last()
	if err == nil && m.Seq != 0 {
		m, err = m.sound()
	}
	if err != nil {
		return m, err
	}
	head, err := g.Tally(Group{What: Movements})
	if err == nil && (head.Count != m.Seq || head.Head != m.Hash) {
		err = Damaged("the ledger", fmt.Sprintf("ends with movement %d, it should end with movement %d", m.Seq, head.Count))
	}
	return m, err
}

// Movements implements [Reader].
func (g *guard) Movements(f MovementFilter) ([]Movement, error) {
	order := func(x, y Movement) int { return cmp.Compare(x.Seq, y.Seq) }
	if f.Newest {
		order = func(x, y Movement) int { return cmp.Compare(y.Seq, x.Seq) }
	}
	rows, err := g.raw.Movements(f)
	list, err := verified(rows, err, order, func(m Movement) bool {
		return (f.Job == 0 || m.Job == f.Job) && Takes(f.Disc, m.Disc()) &&
			(f.Reverses == 0 || m.Reverses == f.Reverses) && m.Seq > f.After && (f.Before == 0 || m.Seq < f.Before)
	})
	if err != nil {
		return nil, err
	}
	whole := f.After == 0 && f.Before == 0 && (f.Limit <= 0 || len(list) < f.Limit)
	switch {
	case f.Reverses != 0, f.Diameter == 0 && f.Disc != shim.Disc{}:
		return list, nil // one row at most, or read row by row
	case f.Job != 0:
		whole = whole && f.Disc == shim.Disc{}
		return list, g.complete(Group{What: Movements, Job: f.Job}, whole, len(list))
	case f.Diameter != 0:
		return list, g.complete(Group{What: Movements, Disc: f.Disc}, whole, len(list))
	}
	return list, g.gapless(f, list)
}

// gapless checks a piece of the ledger: no number is missing in it.
func (g *guard) gapless(f MovementFilter, list []Movement) error {
	head, err := g.Tally(Group{What: Movements})
	if err != nil {
		return err
	}
	first, last := f.After+1, head.Count
	if f.Before != 0 {
		last = min(last, f.Before-1)
	}
	want := max(0, last-first+1)
	if f.Limit > 0 {
		want = min(want, int64(f.Limit))
	}
	if want != int64(len(list)) {
		return Damaged("the ledger", fmt.Sprintf("has %d rows where there should be %d", len(list), want))
	}
	for i, m := range list {
		seq := first + int64(i)
		if f.Newest {
			seq = last - int64(i)
		}
		if m.Seq != seq {
			return Damaged(fmt.Sprintf("movement %d", seq), "is gone")
		}
	}
	return nil
}

// Balance implements [Reader].
func (g *guard) Balance(l Lot) (Balance, error) {
	b, err := g.raw.Balance(l)
	if err == nil && b.Count == 0 && b.Seal == (Hash{}) {
		// None is on hand, or the row is hidden, or names another lot.
		_, err = g.Balances(StockFilter{Disc: l.Disc()})
	}
	if err != nil || b.Seal == (Hash{}) {
		return b, err
	}
	return b.sound()
}

func lots(d shim.Disc) Group { return Group{What: Lots, Disc: d} }

// Balances implements [Reader].
func (g *guard) Balances(f StockFilter) ([]Balance, error) {
	rows, err := g.raw.Balances(f)
	list, err := verified(rows, err, func(x, y Balance) int { return x.Lot.Compare(y.Lot) }, func(b Balance) bool {
		return b.Count > 0 && Takes(f.Disc, b.Disc())
	})
	if err != nil {
		return nil, err
	}
	group, exact := Group{What: Lots}, f.Disc == shim.Disc{}
	if f.Diameter != 0 && f.Size != 0 {
		group, exact = lots(f.Disc), true
	}
	return list, g.complete(group, exact && f.whole(len(list)), len(list))
}

// whole reports whether so many rows are all of them and not a page.
func (p Page) whole(rows int) bool { return p.Offset <= 0 && (p.Limit <= 0 || rows < p.Limit) }

// Stock implements [Reader].
func (g *guard) Stock(d shim.Disc) (Stock, error) {
	s, err := g.raw.Stock(d)
	if err != nil {
		return s, err
	}
	if s.OnHand == 0 && s.Seal == (Hash{}) {
		// None is on hand, or the row is hidden.
		t, err := g.Tally(Group{What: Sizes, Disc: d})
		if err == nil && t.Count != 0 {
			err = Damaged(d.String(), "is gone from the box")
		}
		return s, err
	}
	return s.sound()
}

// Stocks implements [Reader].
func (g *guard) Stocks(f StockFilter) ([]Stock, error) {
	rows, err := g.raw.Stocks(f)
	list, err := verified(rows, err, func(x, y Stock) int {
		return x.Disc.Compare(y.Disc)
	}, func(s Stock) bool {
		return s.OnHand > 0 && Takes(f.Disc, s.Disc)
	})
	if err != nil {
		return nil, err
	}
	return list, g.complete(Group{What: Sizes}, f.Disc == shim.Disc{} && f.whole(len(list)), len(list))
}

// Revision implements [Reader].
func (g *guard) Revision(f shim.Family) (Revision, error) {
	r, err := g.raw.Revision(f)
	if err != nil || r.Number == 0 && r.Seal == (Hash{}) {
		return r, cmp.Or(err, g.present(Group{What: Diameters}))
	}
	return r.sound()
}

// Revisions implements [Reader].
func (g *guard) Revisions() ([]Revision, error) {
	rows, err := g.raw.Revisions()
	list, err := verified(rows, err, func(x, y Revision) int { return x.Family.Compare(y.Family) }, func(Revision) bool { return true })
	if err != nil {
		return nil, err
	}
	return list, g.counted(Group{What: Diameters}, len(list))
}

// Engine implements [Reader].
func (g *guard) Engine(id int64) (Engine, error) {
	e, err := g.raw.Engine(id)
	if err != nil {
		return e, g.gone(err, Engines, id, "engine")
	}
	return e.sound()
}

// gone distinguishes a row that is gone from one that never was.
func (g *guard) gone(err error, what string, id int64, name string) error {
	t, counting := g.Tally(Group{What: what})
	switch {
	case !errors.Is(err, ErrUnknown):
		return err
	case counting != nil:
		return counting
	case id >= 1 && id <= t.Count:
		return Damaged(fmt.Sprintf("%s %d", name, id), "is gone")
	}
	return err
}

// FindEngine implements [Reader].
func (g *guard) FindEngine(seal Hash) (Engine, error) {
	e, err := g.raw.FindEngine(seal)
	if errors.Is(err, ErrUnknown) {
		return e, cmp.Or(g.present(Group{What: Engines}), err)
	}
	if err != nil {
		return e, err
	}
	return e.sound()
}

// Engines implements [Reader].
func (g *guard) Engines(p Page) ([]Engine, error) {
	rows, err := g.raw.Engines(p)
	list, err := verified(rows, err, func(x, y Engine) int { return cmp.Compare(x.ID, y.ID) }, func(Engine) bool { return true })
	if err != nil {
		return nil, err
	}
	return list, g.complete(Group{What: Engines}, p.whole(len(list)), len(list))
}

// Job implements [Reader].
func (g *guard) Job(id int64) (Job, error) {
	j, err := g.raw.Job(id)
	if err != nil {
		return j, g.gone(err, Jobs, id, "job")
	}
	if j.ID != id {
		return j, broken(fmt.Sprintf("job %d", id))
	}
	return j.sound()
}

// Jobs implements [Reader].
func (g *guard) Jobs(f JobFilter) ([]Job, error) {
	rows, err := g.raw.Jobs(f)
	list, err := verified(rows, err, func(x, y Job) int { return cmp.Compare(y.ID, x.ID) }, func(Job) bool { return true })
	if err != nil {
		return nil, err
	}
	return list, g.present(Group{What: Jobs})
}

// Checks implements [Reader].
func (g *guard) Checks(job int64) ([]Check, error) {
	rows, err := g.raw.Checks(job)
	list, err := verified(rows, err, func(x, y Check) int { return cmp.Compare(x.Number, y.Number) }, func(c Check) bool { return c.Job == job })
	if err != nil {
		return nil, err
	}
	return list, g.counted(Group{What: Checks, Job: job}, len(list))
}

// Command implements [Reader]. A row that is gone is for the check to find.
func (g *guard) Command(key string) (Command, error) {
	c, err := g.raw.Command(key)
	if err != nil {
		return c, err
	}
	if c.Key != key {
		return c, broken(fmt.Sprintf("the command of key %q", key))
	}
	return c.sound()
}

// Commands implements [Reader].
func (g *guard) Commands() ([]Command, error) {
	rows, err := g.raw.Commands()
	list, err := verified(rows, err, func(x, y Command) int { return cmp.Compare(x.Key, y.Key) }, func(Command) bool { return true })
	if err != nil {
		return nil, err
	}
	return list, g.counted(Group{What: Commands}, len(list))
}

// Edits implements [Reader].
func (g *guard) Edits(job int64) ([]Edit, error) {
	rows, err := g.raw.Edits(job)
	list, err := verified(rows, err, func(x, y Edit) int { return cmp.Compare(x.Number, y.Number) }, func(e Edit) bool { return e.Job == job })
	if err != nil {
		return nil, err
	}
	return list, g.counted(Group{What: Edits, Job: job}, len(list))
}

// Plan implements [Reader].
func (g *guard) Plan(job int64, number int) (KeptPlan, error) {
	p, err := g.raw.Plan(job, number)
	if err != nil {
		return p, err
	}
	if p.Job != job || p.Number != number {
		return p, broken(fmt.Sprintf("job %d, plan %d", job, number))
	}
	return p.sound()
}

// in reports whether the filter includes the row.
func (f HoldFilter) in(job int64, d shim.Disc) bool {
	return (f.Job == 0 || job == f.Job) && Takes(f.Disc, d)
}

// group is the smallest counted group that has all rows of the filter, and
// whether it has no others.
func (f HoldFilter) group(what string) (Group, bool) {
	switch {
	case f.Job != 0:
		return Group{What: what, Job: f.Job}, f.Disc == shim.Disc{}
	case f.Diameter != 0 && f.Size != 0:
		return Group{What: what, Disc: f.Disc}, true
	}
	return Group{What: what}, f == HoldFilter{}
}

func compareLine(job, other int64, x, y shim.Disc) int {
	return cmp.Or(cmp.Compare(job, other), x.Compare(y))
}

// Holds implements [Reader].
func (g *guard) Holds(f HoldFilter) ([]Hold, error) {
	rows, err := g.raw.Holds(f)
	list, err := verified(rows, err, func(x, y Hold) int {
		return cmp.Or(cmp.Compare(x.Job, y.Job), x.Lot.Compare(y.Lot))
	}, func(h Hold) bool { return f.in(h.Job, h.Disc()) })
	if err != nil {
		return nil, err
	}
	group, exact := f.group(Holds)
	return list, g.complete(group, exact, len(list))
}

// Purchases implements [Reader].
func (g *guard) Purchases(f HoldFilter) ([]Purchase, error) {
	rows, err := g.raw.Purchases(f)
	list, err := verified(rows, err, Purchase.Compare, func(p Purchase) bool { return f.in(p.Job, p.Disc) })
	if err != nil {
		return nil, err
	}
	group, exact := f.group(Purchases)
	return list, g.complete(group, exact, len(list))
}
