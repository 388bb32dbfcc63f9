package inventory

import (
	"crypto/sha256"
	"encoding/json"
	"fmt"

	"shimwright/shim"
)

// Rows beside the ledger carry a seal: a SHA-256 of their content. A store may
// keep no checksums of its own (SQLite does not), and a flipped bit in a
// reading would go unseen. What is sealed is listed value by value, so that a
// field which a later version adds to a type does not break old seals.
//
// A new kind of row gets a Seal, a sealed method here, its line in the guard's
// reads and writes (guard.go), and its part of the check (audit.go).

func (e Engine) sealed() Engine { e.Seal = seal(e.Source, string(e.Data)); return e }

func (j Job) sealed() Job {
	values := []any{j.ID, j.Engine, j.Name, j.Diameter, j.Tag, j.Meter, j.Note, j.State, j.Who, j.Opened.Unix(), j.Changed.Unix(), j.Plan, j.Short, j.Anyway}
	if j.Build { // versions 1 and 2 know none
		values = append(values, "build")
	}
	if j.Machine != 0 || j.MeterNew != "" || j.Reset != "" { // versions 1 to 3 know none
		values = append(values, "machine", j.Machine, j.MeterNew, j.Reset)
	}
	j.Seal = seal(values...)
	return j
}

func (c Check) sealed() Check {
	rows := make([][]any, len(c.Readings))
	for i, m := range c.Readings {
		rows[i] = []any{m.Valve, m.Reading.Kind, m.Reading.Low, m.Reading.High, m.Stamp, m.Mic, m.Note}
		if second := m.Reading.Second; second.Taken { // versions 1 and 2 know none
			rows[i] = append(rows[i], second.Low, second.High, second.Tighter)
		}
		if m.Reading.Unloaded != (shim.Unloaded{}) { // rows of versions 1 and 2 have none
			u := m.Reading.Unloaded
			rows[i] = append(rows[i], u.Low, u.High, u.Twice, u.Most)
		}
		if m.Temperature != 0 { // nor this
			rows[i] = append(rows[i], "temperature", m.Temperature)
		}
	}
	values := []any{c.Job, c.Number, c.Kind, c.Seq, c.Time.Unix(), c.Who, c.Note, rows}
	if g := c.Gauge; g != (Gauge{}) { // versions 1 to 3 know none
		values = append(values, g.ID, g.Name, g.Number, g.Spec.Step, g.Spec.Leaf, g.Spec.Stamp, g.Spec.Used, g.Spec.Mic, g.Calibrated.Unix(), g.Due.Unix())
	}
	c.Seal = seal(values...)
	return c
}

func (p KeptPlan) sealed() KeptPlan {
	rows := make([][]any, len(p.Placements))
	for i, l := range p.Placements {
		rows[i] = []any{l.Valve, l.Size, l.Source, l.From, l.Price, l.Priced}
		if l.Temporary != 0 { // version 1 knows none
			rows[i] = append(rows[i], l.Temporary)
		}
		if l.Supplier != "" || l.Part != "" { // nor these
			rows[i] = append(rows[i], l.Supplier, l.Part)
		}
		if l.Counted != Anyhow { // versions 1 to 3 know none
			rows[i] = append(rows[i], "counted", int64(l.Counted))
		}
	}
	p.Seal = seal(p.Job, p.Number, p.Seq, p.Revision, p.Time.Unix(), p.Who, rows, string(p.Document))
	return p
}

func (b Balance) sealed() Balance {
	b.Seal = sealIn(b.Family, b.Diameter, b.Stamp, b.Mic, b.Used, b.Bin, b.Count)
	return b
}

func (s Stock) sealed() Stock {
	s.Seal = sealIn(s.Family, s.Diameter, s.Size, s.OnHand, s.Reserved)
	return s
}

func (r Revision) sealed() Revision { r.Seal = sealIn(r.Family, r.Diameter, r.Number); return r }

func (h Hold) sealed() Hold {
	h.Seal = sealIn(h.Family, h.Job, h.Diameter, h.Stamp, h.Mic, h.Used, h.Bin, h.Count, h.Plan)
	return h
}

func (p Purchase) sealed() Purchase {
	p.Seal = sealIn(p.Family, p.Job, p.Diameter, p.Size, p.Supplier, p.Part, p.Price, p.Priced, p.Needed, p.Ordered, p.Arrived)
	return p
}

func (t Tally) sealed() Tally {
	t.Seal = sealIn(t.Family, t.What, t.Job, t.Diameter, t.Size, t.Count, t.Head.String())
	return t
}

// seal hashes values by their JSON, which is the same for the same values:
// lengths as exact mm, valves by name, kinds by number or word.
func seal(values ...any) Hash {
	text, err := json.Marshal(values)
	if err != nil {
		panic(fmt.Sprintf("a row has no JSON: %v", err)) // readings and engines always have
	}
	return sha256.Sum256(text)
}

// sealIn seals a row of a family. Versions 1 and 2 know plain discs alone.
func sealIn(f shim.Family, values ...any) Hash {
	if f.Kind != "" {
		values = append(values, f.Kind)
	}
	return seal(values...)
}

// broken is the error for a row that does not match its seal.
func broken(where string) error {
	return Damaged(where, "was changed: its content does not match its seal")
}

// sound verifies a row and clears its seal, so that rules compare rows by their
// content.
func (b Balance) sound() (Balance, error) {
	if b.Seal != b.sealed().Seal {
		return b, broken(b.Lot.String())
	}
	b.Seal = Hash{}
	return b, nil
}

func (s Stock) sound() (Stock, error) {
	if s.Seal != s.sealed().Seal {
		return s, broken(s.Disc.String())
	}
	s.Seal = Hash{}
	return s, nil
}

func (r Revision) sound() (Revision, error) {
	if r.Seal != r.sealed().Seal {
		return r, broken(r.Family.String())
	}
	r.Seal = Hash{}
	return r, nil
}

func (h Hold) sound() (Hold, error) {
	if h.Seal != h.sealed().Seal {
		return h, broken(fmt.Sprintf("what is reserved for job %d of %s", h.Job, h.Lot))
	}
	h.Seal = Hash{}
	return h, nil
}

func (p Purchase) sound() (Purchase, error) {
	if p.Seal != p.sealed().Seal {
		return p, broken(fmt.Sprintf("what job %d buys of %s", p.Job, p.Disc))
	}
	p.Seal = Hash{}
	return p, nil
}

func (e Engine) sound() (Engine, error) {
	if e.Seal != e.sealed().Seal {
		return e, broken(fmt.Sprintf("engine %d", e.ID))
	}
	return e, nil
}

func (j Job) sound() (Job, error) {
	if j.Seal != j.sealed().Seal {
		return j, broken(fmt.Sprintf("job %d", j.ID))
	}
	j.Seal = Hash{}
	return j, nil
}

func (c Check) sound() (Check, error) {
	if c.Seal != c.sealed().Seal {
		return c, broken(fmt.Sprintf("job %d, check %d", c.Job, c.Number))
	}
	c.Seal = Hash{}
	return c, nil
}

func (e Edit) sound() (Edit, error) {
	if e.Seal != e.sealed().Seal {
		return e, broken(fmt.Sprintf("job %d, edit %d", e.Job, e.Number))
	}
	e.Seal = Hash{}
	return e, nil
}

func (p KeptPlan) sound() (KeptPlan, error) {
	if p.Seal != p.sealed().Seal {
		return p, broken(fmt.Sprintf("job %d, plan %d", p.Job, p.Number))
	}
	p.Seal = Hash{}
	return p, nil
}

func (m Movement) sound() (Movement, error) {
	if m.Hash != m.digest() {
		return m, Damaged(fmt.Sprintf("movement %d", m.Seq), "was changed: its content does not match its hash")
	}
	return m, nil
}

func (t Tally) sound() (Tally, error) {
	if t.Seal != t.sealed().Seal {
		return t, broken("the count of " + t.Group.String())
	}
	return t, nil
}

// verified verifies a listing row by row, and that its rows are in order and none
// is listed twice.
func verified[T interface{ sound() (T, error) }](list []T, err error, compare func(x, y T) int, in func(T) bool) ([]T, error) {
	if err != nil {
		return nil, err
	}
	for i, row := range list {
		if list[i], err = row.sound(); err != nil {
			return nil, err
		}
		if i > 0 && compare(list[i-1], list[i]) >= 0 || !in(list[i]) {
			return nil, Damaged("an index", "leads to the wrong rows")
		}
	}
	return list, nil
}

func (e Edit) sealed() Edit {
	e.Seal = seal(e.Job, e.Number, e.Field, e.Old, e.New, e.Time.Unix(), e.Who)
	return e
}

func (c Command) sealed() Command {
	c.Seal = seal(c.Key, c.Digest.String(), c.Batch, c.Answer, c.Status)
	return c
}

func (c Command) sound() (Command, error) {
	if c.Seal != c.sealed().Seal {
		return c, broken(fmt.Sprintf("the command of key %q", c.Key))
	}
	return c, nil
}

// soundVersion1 verifies a job under the seal that version 1 of the shop file
// gave it: without its number.
func (j Job) soundVersion1() error {
	if j.Seal != seal(j.Engine, j.Name, j.Diameter, j.Tag, j.Meter, j.Note, j.State, j.Who, j.Opened.Unix(), j.Changed.Unix(), j.Plan, j.Short) {
		return broken(fmt.Sprintf("job %d", j.ID))
	}
	return nil
}

// Reseal brings the rows of a version 1 shop to version 2: everything that
// version 1 could verify is verified, then every row is sealed and counted. If
// anything is damaged, the error is [ErrDamaged] and names the first finding: a
// row that was not verified is never sealed.
func Reseal(w Writer) error {
	a := newAudit()
	a.old = true
	if err := a.rest(w); err != nil {
		return err
	}
	if len(a.found) > 0 {
		return Damaged(a.found[0].Where, a.found[0].What)
	}
	for _, step := range []func(Writer) error{resealStock, resealLines, resealJobs} {
		if err := step(w); err != nil {
			return err
		}
	}
	for g, n := range a.tallies {
		t := Tally{Group: g, Count: n}
		if g == (Group{What: Movements}) {
			t.Head = a.last.Hash
		}
		if err := w.PutTally(t.sealed()); err != nil {
			return err
		}
	}
	return nil
}

func resealStock(w Writer) error {
	lots, err := w.Balances(StockFilter{})
	if err != nil {
		return err
	}
	if err := each(lots, func(b Balance) error { return w.PutBalance(b.sealed()) }); err != nil {
		return err
	}
	sizes, err := w.Stocks(StockFilter{})
	if err != nil {
		return err
	}
	if err := each(sizes, func(s Stock) error { return w.PutStock(s.sealed()) }); err != nil {
		return err
	}
	revisions, err := w.Revisions()
	if err != nil {
		return err
	}
	return each(revisions, func(r Revision) error { return w.PutRevision(r.sealed()) })
}

func resealLines(w Writer) error {
	holds, err := w.Holds(HoldFilter{})
	if err != nil {
		return err
	}
	if err := each(holds, func(h Hold) error { return w.PutHold(h.sealed()) }); err != nil {
		return err
	}
	purchases, err := w.Purchases(HoldFilter{})
	if err != nil {
		return err
	}
	return each(purchases, func(p Purchase) error { return w.PutPurchase(p.sealed()) })
}

func resealJobs(w Writer) error {
	jobs, err := w.Jobs(JobFilter{})
	if err != nil {
		return err
	}
	return each(jobs, func(j Job) error { return w.PutJob(j.sealed()) })
}

func each[T any](list []T, do func(T) error) error {
	for _, row := range list {
		if err := do(row); err != nil {
			return err
		}
	}
	return nil
}
