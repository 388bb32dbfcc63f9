package inventory

import (
	"context"
	"errors"
	"fmt"
	"maps"
	"slices"

	"shimwright/shim"
)

// maxFindings limits a check's findings: one damaged page can break thousands
// of rows.
const maxFindings = 50

// auditPage is the number of rows that a check reads at a time, auditSlice the
// number after which others may book.
const (
	auditPage  = 1000
	auditSlice = 10 * auditPage
)

// Check verifies the store, the ledger's chain and sums, the balances kept
// beside it and the reservations. No findings means all is well. It reads the
// whole ledger.
func (s *Shop) Check(ctx context.Context) ([]Finding, error) {
	found, err := s.raw.Verify(ctx)
	if err != nil {
		return nil, err
	}
	a := newAudit()
	a.found = found
	// Rows of the ledger never change, so most of them are read in slices and
	// others can book in between. What is left is read together with the sums.
	for more := true; more && err == nil; {
		err = s.raw.View(ctx, func(r Reader) (err error) {
			more, err = a.ledger(r, auditSlice)
			return err
		})
	}
	if err == nil {
		err = s.raw.View(ctx, a.rest)
	}
	switch {
	case err != nil && len(a.found) > 0:
		// The damage is already reported; no need to report that reading stopped.
		err = nil
	case err != nil && ctx.Err() == nil:
		a.saw(err)
		err = nil
	}
	return a.found[:min(len(a.found), maxFindings)], err
}

type audit struct {
	found   []Finding
	lots    map[Lot]int          // as the ledger adds up
	discs   map[shim.Family]bool // the engines' families
	tallies map[Group]int64      // rows that are there
	last    Movement
	old     bool // rows have the seals of version 1, and no tallies
}

func newAudit() *audit {
	return &audit{lots: map[Lot]int{}, discs: map[shim.Family]bool{}, tallies: map[Group]int64{}}
}

// saw counts a row and reports it if it is not sound.
func (a *audit) saw(err error, groups ...Group) {
	for _, g := range groups {
		a.tallies[g]++
	}
	var row damage
	switch {
	case err == nil:
	case errors.As(err, &row):
		a.found = append(a.found, Finding(row))
	default:
		a.add("file", "cannot be read to the end: %v", err)
	}
}

func (a *audit) add(where, what string, args ...any) {
	a.found = append(a.found, Finding{Where: where, What: fmt.Sprintf(what, args...)})
}

// rest reads the rows the slices left, and everything kept beside the ledger.
func (a *audit) rest(r Reader) error {
	if _, err := a.ledger(r, 1<<40); err != nil {
		return err
	}
	for _, step := range []func(Reader) error{a.balances, a.stocks, a.engines, a.revisions, a.holds, a.purchases, a.jobs, a.records, a.kept} {
		if err := step(r); err != nil {
			return err
		}
	}
	return nil
}

// ledger recomputes the chain and adds up the movements, some rows at a time. It
// reports whether there may be more.
func (a *audit) ledger(r Reader, rows int) (more bool, err error) {
	for ; rows > 0; rows -= auditPage {
		page, err := r.Movements(MovementFilter{After: a.last.Seq, Limit: auditPage})
		if err != nil {
			return false, err
		}
		for i := range page {
			if err := a.row(r, &page[i]); err != nil {
				return false, err
			}
		}
		if len(page) < auditPage || len(a.found) > maxFindings {
			return false, nil
		}
	}
	return true, nil
}

func (a *audit) row(r Reader, m *Movement) error {
	where := fmt.Sprintf("movement %d", m.Seq)
	switch {
	case m.Seq != a.last.Seq+1:
		a.add(where, "follows movement %d: rows between them are gone", a.last.Seq)
	case m.Prev != a.last.Hash:
		a.add(where, "does not carry the hash of movement %d", a.last.Seq)
	}
	if m.digest() != m.Hash {
		a.add(where, "was changed: its content does not match its hash")
	}
	if m.Batch != m.Seq && m.Batch != a.last.Batch {
		a.add(where, "belongs to no booking")
	}
	if err := m.validate(); err != nil {
		a.add(where, "%v", err)
	}
	if m.Reverses != 0 {
		if err := a.reversal(r, m, where); err != nil {
			return err
		}
	}
	a.lots[m.Lot] += m.Count
	a.saw(nil, movementGroups(*m)...)
	if a.lots[m.Lot] < 0 {
		a.add(where, "takes out more shims of %s than there were", m.Lot)
	}
	a.last = *m
	return nil
}

func (a *audit) reversal(r Reader, m *Movement, where string) error {
	rows, err := r.Movements(MovementFilter{After: m.Reverses - 1, Limit: 1})
	if err != nil {
		return err
	}
	if len(rows) == 0 || rows[0].Seq != m.Reverses || m.Reverses >= m.Seq {
		a.add(where, "reverses movement %d, which does not exist", m.Reverses)
		return nil
	}
	old := rows[0]
	if old.Lot != m.Lot || old.Count != -m.Count || old.Kind != m.Kind || old.Job != m.Job {
		a.add(where, "does not match movement %d, which it reverses", m.Reverses)
	}
	return nil
}

// balances compares the lots with the ledger's sums.
func (a *audit) balances(r Reader) error {
	list, err := r.Balances(StockFilter{})
	if err != nil {
		return err
	}
	kept := map[Lot]int{}
	for _, b := range list {
		kept[b.Lot] = b.Count
		_, err := b.sound()
		a.saw(a.lately(err), b.groups()...)
		a.lots[b.Lot] += 0 // so that a lot unknown to the ledger is compared, too
	}
	for _, lot := range slices.SortedFunc(maps.Keys(a.lots), Lot.Compare) {
		if kept[lot] != a.lots[lot] {
			a.add(lot.String(), "the box says %d, the ledger %d", kept[lot], a.lots[lot])
		}
	}
	return nil
}

// stocks compares the sizes with the ledger's sums and the holds.
func (a *audit) stocks(r Reader) error {
	list, err := r.Stocks(StockFilter{})
	if err != nil {
		return err
	}
	holds, err := r.Holds(HoldFilter{})
	if err != nil {
		return err
	}
	type pair struct{ onHand, reserved int }
	want, kept := map[shim.Disc]pair{}, map[shim.Disc]pair{}
	for lot, n := range a.lots {
		k := lot.Disc()
		p := want[k]
		p.onHand += n
		want[k] = p
	}
	for _, h := range holds {
		k := h.Disc()
		p := want[k]
		p.reserved += h.Count
		want[k] = p
	}
	for _, s := range list {
		k := s.Disc
		kept[k] = pair{s.OnHand, s.Reserved}
		_, err := s.sound()
		a.saw(a.lately(err), s.groups()...)
		if _, known := want[k]; !known {
			want[k] = pair{} // a size that the ledger does not have
		}
	}
	for _, k := range slices.SortedFunc(maps.Keys(want), shim.Disc.Compare) {
		w, have := want[k], kept[k]
		if w.onHand != have.onHand {
			a.add(k.String(), "the box says %d on hand, the ledger %d", have.onHand, w.onHand)
		}
		if w.reserved != have.reserved {
			a.add(k.String(), "the box says %d reserved, the jobs %d", have.reserved, w.reserved)
		}
		if have.reserved > have.onHand {
			a.add(k.String(), "%d are reserved and %d on hand", have.reserved, have.onHand)
		}
	}
	return nil
}

// holds compares the reserved shims with the jobs that reserve them.
func (a *audit) holds(r Reader) error {
	holds, err := r.Holds(HoldFilter{})
	if err != nil {
		return err
	}
	states := map[int64]State{}
	promised := map[Lot]int{}
	for _, h := range holds {
		_, err := h.sound()
		a.saw(a.lately(err), lineGroups(Holds, h.Job, h.Disc())...)
		promised[h.Lot] += h.Count
		if _, known := states[h.Job]; !known {
			job, err := r.Job(h.Job)
			if err != nil && !errors.Is(err, ErrUnknown) {
				return err
			}
			if states[h.Job] = job.State; err != nil {
				states[h.Job] = "gone"
			}
		}
		if !states[h.Job].holds() || h.Count <= 0 {
			a.add(fmt.Sprintf("job %d", h.Job), "is %s and has %d × %s reserved", states[h.Job], h.Count, h.Lot)
		}
	}
	for _, lot := range slices.SortedFunc(maps.Keys(promised), Lot.Compare) {
		if promised[lot] > a.lots[lot] {
			a.add(lot.String(), "%d are reserved for jobs and %d on hand", promised[lot], a.lots[lot])
		}
	}
	return nil
}

// revisions compares the families with the ledger's.
func (a *audit) revisions(r Reader) error {
	list, err := r.Revisions()
	if err != nil {
		return err
	}
	for _, k := range list {
		_, err := k.sound()
		a.saw(a.lately(err), Group{What: Diameters})
		if a.tallies[Group{What: Movements, Disc: k.Of(0)}] == 0 && !a.discs[k.Family] {
			a.add(k.Family.String(), "has a revision, and neither a movement nor an engine")
		}
	}
	return nil
}

// purchases compares the purchases with their seals.
func (a *audit) purchases(r Reader) error {
	list, err := r.Purchases(HoldFilter{})
	if err != nil {
		return err
	}
	for _, p := range list {
		_, err := p.sound()
		a.saw(a.lately(err), lineGroups(Purchases, p.Job, p.Disc)...)
	}
	return nil
}

// engines compares the engines with their seals.
func (a *audit) engines(r Reader) error {
	list, err := r.Engines(Page{})
	for i, e := range list {
		_, err := e.sound()
		a.saw(err, Group{What: Engines})
		for _, f := range e.Spec.Families() {
			a.discs[f] = true
		}
		a.numbered("engine", e.ID, i)
	}
	return err
}

// numbered checks that a list goes 1, 2, 3, …
func (a *audit) numbered(name string, id int64, place int) {
	if id != int64(place)+1 {
		a.add(fmt.Sprintf("%s %d", name, id), "found where %s %d should be", name, place+1)
	}
}

// jobs compares the jobs, their checks and plans with their seals, and what
// they hold with what their plans count on.
func (a *audit) jobs(r Reader) error {
	list, err := r.Jobs(JobFilter{})
	if err != nil {
		return err
	}
	commands, err := r.Commands()
	if err != nil {
		return err
	}
	for _, c := range commands {
		_, err := c.sound()
		a.saw(err, Group{What: Commands})
	}
	slices.Reverse(list)
	visits := map[int64][]Job{} // by machine
	for i, j := range list {
		where := fmt.Sprintf("job %d", j.ID)
		a.saw(a.job(j), Group{What: Jobs})
		a.numbered("job", j.ID, i)
		edits, err := r.Edits(j.ID)
		if err != nil {
			return err
		}
		for _, e := range edits {
			_, err := e.sound()
			a.saw(err, Group{What: Edits, Job: j.ID})
		}
		checks, err := r.Checks(j.ID)
		if err != nil {
			return err
		}
		for _, c := range checks {
			_, err := c.sound()
			a.saw(err, Group{What: Checks, Job: j.ID})
		}
		for number := 1; number <= j.Plan; number++ {
			p, err := r.Plan(j.ID, number)
			if err != nil {
				return err
			}
			_, err = p.sound()
			a.saw(err)
		}
		if j.Machine != 0 {
			// Only another engine file can have other families.
			if slices.ContainsFunc(visits[j.Machine], func(before Job) bool { return before.Engine != j.Engine }) {
				a.families(r, j.ID, where)
			}
			visits[j.Machine] = append(visits[j.Machine], j)
		}
		if j.State.holds() {
			if err := a.counts(r, j.ID, where); err != nil {
				return err
			}
		}
	}
	return nil
}

func (a *audit) job(j Job) error {
	if a.old {
		return j.soundVersion1()
	}
	_, err := j.sound()
	return err
}

// lately drops the error for a seal that version 1 rows do not have.
func (a *audit) lately(err error) error {
	if a.old {
		return nil
	}
	return err
}

// kept compares the tallies with the rows that exist, and the ledger's head with
// its last row.
func (a *audit) kept(r Reader) error {
	if a.old {
		return nil
	}
	list, err := r.Tallies()
	if err != nil {
		return err
	}
	kept := map[Group]int64{}
	for _, t := range list {
		_, err := t.sound()
		a.saw(err)
		kept[t.Group] = t.Count
		a.tallies[t.Group] += 0
		if t.Group == (Group{What: Movements}) && t.Head != a.last.Hash {
			a.add("the ledger", "ends with movement %d, whose hash is not the one that was kept", a.last.Seq)
		}
	}
	for _, g := range slices.SortedFunc(maps.Keys(a.tallies), compareGroup) {
		if kept[g] != a.tallies[g] {
			a.add(g.String(), "are %d, there should be %d", a.tallies[g], kept[g])
		}
	}
	return nil
}

// counts compares what a job holds and needs with its plan.
func (a *audit) counts(r Reader, id int64, where string) error {
	w, err := load(r, id)
	if err != nil {
		return err
	}
	want, held := map[shim.Disc]int{}, map[shim.Disc]int{}
	short := 0
	for _, n := range w.holdable(w.left()) {
		short++
		want[n.Disc]++
	}
	holds, err := r.Holds(HoldFilter{Job: id})
	if err != nil {
		return err
	}
	for _, h := range holds {
		short -= h.Count
		held[h.Disc()] += h.Count
	}
	for _, k := range slices.SortedFunc(maps.Keys(held), shim.Disc.Compare) {
		if held[k] > want[k] {
			a.add(where, "has %d × %s reserved, its plan needs %d", held[k], k, want[k])
		}
	}
	if short != w.Short {
		a.add(where, "its plan is %d shims short, its row says %d", short, w.Short)
	}
	bought := map[shim.Disc]Purchase{}
	for _, p := range w.purchases {
		sum := bought[p.Disc]
		sum.Needed, sum.Ordered, sum.Arrived = sum.Needed+p.Needed, sum.Ordered+p.Ordered, sum.Arrived+p.Arrived
		bought[p.Disc] = sum
		if p.Arrived > p.Ordered {
			a.add(where, "%s: %d shims arrived, %d ordered", p.Disc, p.Arrived, p.Ordered)
		}
	}
	for _, d := range slices.SortedFunc(maps.Keys(bought), shim.Disc.Compare) {
		if p, needed := bought[d], w.needs(d); p.Needed != needed {
			a.add(where, "%s: %d needed by its plan; %d needed, %d ordered and %d arrived by its rows", d, needed, p.Needed, p.Ordered, p.Arrived)
		}
	}
	return nil
}

// families finds a job whose engine file makes other shims of those that were
// fitted. What keeps it from being read is found elsewhere.
func (a *audit) families(r Reader, job int64, where string) {
	w, err := load(r, job)
	if err != nil {
		return
	}
	if s, err := w.strange(r); err == nil && s != nil && w.booked(s.Valve) { // a file alone is no fault of the record
		a.add(where, "%s", s)
	}
}
