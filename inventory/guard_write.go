package inventory

import (
	"cmp"
	"errors"
	"fmt"
	"maps"
	"slices"
	"strings"

	"shimwright/shim"
)

// guardWriter seals what it writes. A row is replaced only after the old one
// was read and verified: a seal never covers up damage.
type guardWriter struct {
	guard
	w       Writer
	changed map[Group]bool
}

// count changes tallies.
func (g *guardWriter) count(by int64, groups ...Group) error {
	for _, group := range groups {
		if by == 0 {
			break
		}
		t, err := g.Tally(group)
		if err != nil {
			return err
		}
		t.Count += by
		if t.Count < 0 {
			return Damaged("the count of "+group.String(), "is too low")
		}
		g.tallies[group], g.changed[group] = t, true
	}
	return nil
}

// flush writes the tallies that changed.
func (g *guardWriter) flush() error {
	for _, group := range slices.SortedFunc(maps.Keys(g.changed), compareGroup) {
		if err := g.w.PutTally(g.tallies[group].sealed()); err != nil {
			return err
		}
	}
	clear(g.changed)
	return nil
}

func compareGroup(x, y Group) int {
	return cmp.Or(strings.Compare(x.What, y.What), compareLine(x.Job, y.Job, x.Disc, y.Disc))
}

// change is +1 where a row comes, -1 where it goes.
func change(before, after bool) int64 {
	switch {
	case !before && after:
		return 1
	case before && !after:
		return -1
	}
	return 0
}

// PutTally is the guard's own: rules write none.
func (g *guardWriter) PutTally(t Tally) error {
	return fmt.Errorf("a rule wrote the count of %s", t.Group)
}

// Append implements [Writer].
func (g *guardWriter) Append(m Movement) error {
	all := Group{What: Movements}
	head, err := g.Tally(all)
	if err != nil {
		return err
	}
	if head.Count+1 != m.Seq || head.Head != m.Prev {
		return Damaged("the ledger", fmt.Sprintf("does not end with movement %d", m.Seq-1))
	}
	if err := g.w.Append(m); err != nil {
		return err
	}
	groups := movementGroups(m)
	if err := g.count(1, groups...); err != nil {
		return err
	}
	head = g.tallies[all]
	head.Head = m.Hash
	g.tallies[all] = head
	return nil
}

// movementGroups lists the groups that the movement belongs to.
func movementGroups(m Movement) []Group {
	list := []Group{{What: Movements}, {What: Movements, Disc: m.Of(0)}, {What: Movements, Disc: m.Disc()}}
	if m.Job != 0 {
		list = append(list, Group{What: Movements, Job: m.Job})
	}
	return list
}

// PutBalance implements [Writer].
func (g *guardWriter) PutBalance(b Balance) error {
	old, err := g.Balance(b.Lot)
	if err != nil {
		return err
	}
	if err := g.w.PutBalance(b.sealed()); err != nil {
		return err
	}
	return g.count(change(old.Count != 0, b.Count != 0), b.groups()...)
}

func (b Balance) groups() []Group { return []Group{{What: Lots}, lots(b.Disc())} }

// PutStock implements [Writer].
func (g *guardWriter) PutStock(s Stock) error {
	old, err := g.Stock(s.Disc)
	if err != nil {
		return err
	}
	if err := g.w.PutStock(s.sealed()); err != nil {
		return err
	}
	return g.count(change(old.OnHand != 0, s.OnHand != 0), s.groups()...)
}

func (s Stock) groups() []Group {
	return []Group{{What: Sizes}, {What: Sizes, Disc: s.Disc}}
}

// PutRevision implements [Writer].
func (g *guardWriter) PutRevision(r Revision) error {
	old, err := g.Revision(r.Family)
	if err != nil {
		return err
	}
	if err := g.w.PutRevision(r.sealed()); err != nil {
		return err
	}
	return g.count(change(old.Number != 0, r.Number != 0), Group{What: Diameters})
}

// AddEngine implements [Writer].
func (g *guardWriter) AddEngine(e Engine) (int64, error) {
	id, err := g.w.AddEngine(e.sealed())
	if err != nil {
		return 0, err
	}
	return id, g.added(Engines, id)
}

// added counts a new row, whose number is the count.
func (g *guardWriter) added(what string, id int64) error {
	if err := g.count(1, Group{What: what}); err != nil {
		return err
	}
	return g.counted(Group{What: what}, int(id))
}

// AddJob implements [Writer]. The number is sealed with the job.
func (g *guardWriter) AddJob(j Job) (int64, error) {
	t, err := g.Tally(Group{What: Jobs})
	if err != nil {
		return 0, err
	}
	j.ID = t.Count + 1
	if _, err := g.w.AddJob(j.sealed()); err != nil {
		return 0, err
	}
	return j.ID, g.added(Jobs, j.ID)
}

// PutJob implements [Writer].
func (g *guardWriter) PutJob(j Job) error {
	if _, err := g.Job(j.ID); err != nil {
		return err
	}
	return g.w.PutJob(j.sealed())
}

// AddCheck implements [Writer].
func (g *guardWriter) AddCheck(c Check) error {
	if err := g.w.AddCheck(c.sealed()); err != nil {
		return err
	}
	return g.count(1, Group{What: Checks, Job: c.Job})
}

// PutCommand implements [Writer].
func (g *guardWriter) PutCommand(c Command) error {
	_, err := g.Command(c.Key)
	known := err == nil
	if err != nil && !errors.Is(err, ErrUnknown) {
		return err
	}
	if err := g.w.PutCommand(c.sealed()); err != nil {
		return err
	}
	return g.count(change(known, true), Group{What: Commands})
}

// AddEdit implements [Writer].
func (g *guardWriter) AddEdit(e Edit) error {
	if err := g.w.AddEdit(e.sealed()); err != nil {
		return err
	}
	return g.count(1, Group{What: Edits, Job: e.Job})
}

// AddPlan implements [Writer].
func (g *guardWriter) AddPlan(p KeptPlan) error { return g.w.AddPlan(p.sealed()) }

// PutHold implements [Writer].
func (g *guardWriter) PutHold(h Hold) error {
	list, err := g.Holds(HoldFilter{Job: h.Job, Disc: h.Disc()})
	if err != nil {
		return err
	}
	old := slices.ContainsFunc(list, func(o Hold) bool { return o.Lot == h.Lot })
	if err := g.w.PutHold(h.sealed()); err != nil {
		return err
	}
	return g.count(change(old, h.Count != 0), lineGroups(Holds, h.Job, h.Disc())...)
}

// lineGroups lists the groups that a hold or a purchase belongs to. What is on
// order for the shop belongs to no job.
func lineGroups(what string, job int64, d shim.Disc) []Group {
	groups := []Group{{What: what}, {What: what, Disc: d}}
	if job != 0 {
		groups = append(groups, Group{What: what, Job: job})
	}
	return groups
}

// PutPurchase implements [Writer].
func (g *guardWriter) PutPurchase(p Purchase) error {
	list, err := g.Purchases(HoldFilter{Job: p.Job, Disc: p.Disc})
	if err != nil {
		return err
	}
	old := slices.ContainsFunc(list, p.same)
	if err := g.w.PutPurchase(p.sealed()); err != nil {
		return err
	}
	return g.count(change(old, p.Needed != 0 || p.Ordered != 0), lineGroups(Purchases, p.Job, p.Disc)...)
}
