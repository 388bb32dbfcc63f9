package sqlite

import (
	"encoding/json"
	"fmt"
	"slices"
	"strings"

	"shimwright/inventory"
	"shimwright/shim"
)

// where builds a condition; conditions with a zero argument are left out.
type where struct {
	parts []string
	args  []any
}

func (w *where) add(set bool, part string, args ...any) {
	if set {
		w.parts = append(w.parts, part)
		w.args = append(w.args, args...)
	}
}

// disc is [inventory.Takes] as a condition.
func (w *where) disc(f shim.Disc) {
	w.add(f.Kind != "" || f.Diameter != 0, "family = ?", f.Kind)
	w.add(f.Diameter != 0, "diameter_nm = ?", int64(f.Diameter))
	w.add(f.Size != 0, "size_nm = ?", int64(f.Size))
}

func (w *where) String() string {
	if len(w.parts) == 0 {
		return ""
	}
	return " WHERE " + strings.Join(w.parts, " AND ")
}

func (w *where) page(p inventory.Page) string {
	if p.Limit <= 0 && p.Offset <= 0 {
		return ""
	}
	limit := p.Limit
	if limit <= 0 {
		limit = -1
	}
	w.args = append(w.args, limit, max(p.Offset, 0))
	return " LIMIT ? OFFSET ?"
}

func (t *tx) Last() (inventory.Movement, error) {
	m, _, err := one(t, readMovement, "SELECT "+movementColumns+" FROM movements ORDER BY seq DESC LIMIT 1")
	return m, err
}

func (t *tx) Movements(f inventory.MovementFilter) ([]inventory.Movement, error) {
	var w where
	w.add(f.After > 0, "seq > ?", f.After)
	w.add(f.Before > 0, "seq < ?", f.Before)
	w.disc(f.Disc)
	w.add(f.Job != 0, "job = ?", f.Job)
	w.add(f.Reverses != 0, "reverses = ?", f.Reverses)
	order := " ORDER BY seq"
	if f.Newest {
		order += " DESC"
	}
	text := "SELECT " + movementColumns + " FROM movements" + w.String() + order + w.page(inventory.Page{Limit: f.Limit})
	return query(t, readMovement, text, w.args...)
}

func (t *tx) Balance(l inventory.Lot) (inventory.Balance, error) {
	b, found, err := one(t, readBalance, "SELECT "+lotColumns+" FROM lots WHERE family = ? AND diameter_nm = ? AND size_nm = ? AND stamp_nm = ? AND mic_nm = ? AND used = ? AND bin = ?",
		l.Kind, int64(l.Diameter), int64(l.Size()), int64(l.Stamp), int64(l.Mic), l.Used, l.Bin)
	if !found {
		b.Lot = l
	}
	return b, err
}

func stockWhere(f inventory.StockFilter) *where {
	w := new(where)
	w.disc(f.Disc)
	return w
}

func (t *tx) Balances(f inventory.StockFilter) ([]inventory.Balance, error) {
	w := stockWhere(f)
	text := "SELECT " + lotColumns + " FROM lots" + w.String() +
		" ORDER BY family, diameter_nm, size_nm, stamp_nm, mic_nm, used, bin" + w.page(f.Page)
	return query(t, readBalance, text, w.args...)
}

func (t *tx) Stock(d shim.Disc) (inventory.Stock, error) {
	s, found, err := one(t, readStock, "SELECT "+stockColumns+" FROM sizes WHERE family = ? AND diameter_nm = ? AND size_nm = ?", d.Kind, int64(d.Diameter), int64(d.Size))
	if !found {
		s.Disc = d
	}
	return s, err
}

func (t *tx) Stocks(f inventory.StockFilter) ([]inventory.Stock, error) {
	w := stockWhere(f)
	w.add(true, "on_hand > 0")
	text := "SELECT " + stockColumns + " FROM sizes" + w.String() + " ORDER BY family, diameter_nm, size_nm" + w.page(f.Page)
	return query(t, readStock, text, w.args...)
}

func (t *tx) Revision(f shim.Family) (inventory.Revision, error) {
	r, found, err := one(t, readRevision, "SELECT "+revisionColumns+" FROM diameters WHERE family = ? AND diameter_nm = ?", f.Kind, int64(f.Diameter))
	if !found {
		r.Family = f
	}
	return r, err
}

func (t *tx) Revisions() ([]inventory.Revision, error) {
	return query(t, readRevision, "SELECT "+revisionColumns+" FROM diameters ORDER BY family, diameter_nm")
}

const engineColumns = "id, name, diameter_nm, spec, source, seal"

func (t *tx) Engine(id int64) (inventory.Engine, error) {
	e, found, err := one(t, readEngine, "SELECT "+engineColumns+" FROM engines WHERE id = ?", id)
	return e, unknown(err, found, "there is no engine %d", id)
}

func (t *tx) FindEngine(seal inventory.Hash) (inventory.Engine, error) {
	e, found, err := one(t, readEngine, "SELECT "+engineColumns+" FROM engines WHERE +seal = ?", seal[:]) // row by row: an index could hide it
	return e, unknown(err, found, "the engine is not in the shop yet")
}

func (t *tx) Engines(p inventory.Page) ([]inventory.Engine, error) {
	var w where
	text := "SELECT " + engineColumns + " FROM engines ORDER BY id" + w.page(p)
	return query(t, readEngine, text, w.args...)
}

func (t *tx) Job(id int64) (inventory.Job, error) {
	j, found, err := one(t, readJob, "SELECT "+jobColumns+" FROM jobs j JOIN engines e ON e.id = j.engine WHERE j.id = ?", id)
	return j, unknown(err, found, "there is no job %d", id)
}

func (t *tx) Jobs(f inventory.JobFilter) ([]inventory.Job, error) {
	var w where
	if len(f.States) > 0 {
		states := make([]any, len(f.States))
		for i, s := range f.States {
			states[i] = string(s)
		}
		w.add(true, "j.state IN (?"+strings.Repeat(", ?", len(states)-1)+")", states...)
	}
	if f.Tag != "" || f.TagPart != "" {
		all, err := query(t, func(scan scan) (tag string, err error) { return tag, scan(&tag) }, "SELECT DISTINCT tag FROM jobs")
		if err != nil {
			return nil, err
		}
		tags, err := json.Marshal(append([]string{}, f.Tags(all)...))
		if err != nil {
			return nil, err
		}
		w.add(true, "j.tag IN (SELECT value FROM json_each(?))", string(tags))
	}
	w.add(f.Engine != 0, "j.engine = ?", f.Engine)
	w.add(f.Machine != 0, "j.machine = ?", f.Machine)
	text := "SELECT " + jobColumns + " FROM jobs j JOIN engines e ON e.id = j.engine" + w.String() + " ORDER BY j.id DESC" + w.page(f.Page)
	return query(t, readJob, text, w.args...)
}

const commandColumns = "key, digest, batch, answer, status, seal"

func (t *tx) Command(key string) (inventory.Command, error) {
	c, found, err := one(t, readCommand, "SELECT "+commandColumns+" FROM commands WHERE key = ?", key)
	return c, unknown(err, found, "there is no command of key %q", key)
}

func (t *tx) Record(kind string, number int64) (inventory.Record, error) {
	r, found, err := one(t, readRecord, "SELECT "+recordColumns+" FROM records WHERE kind = ? AND number = ?", kind, number)
	if err == nil && !found {
		err = inventory.NoRecord(kind, number)
	}
	return r, err
}

func (t *tx) Records(f inventory.RecordFilter) ([]inventory.Record, error) {
	var w where
	w.add(true, "kind = ?", f.Kind)
	w.add(f.Name != "", "name = ?", f.Name)
	w.add(f.Of != 0, "owner = ?", f.Of)
	return query(t, readRecord, "SELECT "+recordColumns+" FROM records"+w.String()+" ORDER BY number"+w.page(f.Page), w.args...)
}

func (t *tx) Commands() ([]inventory.Command, error) {
	return query(t, readCommand, "SELECT "+commandColumns+" FROM commands ORDER BY key")
}

func (t *tx) Edits(job int64) ([]inventory.Edit, error) {
	return query(t, readEdit, "SELECT job, number, field, old, new, time, who, seal FROM edits WHERE job = ? ORDER BY number", job)
}

func (t *tx) Checks(job int64) ([]inventory.Check, error) {
	checks, err := query(t, readCheck, "SELECT job, number, kind, seq, time, who, note, gauge, gauge_then, seal FROM checks WHERE job = ? ORDER BY number", job)
	if err != nil {
		return nil, err
	}
	readings, err := query(t, readReading, "SELECT number, place, valve, kind, low_nm, high_nm, stamp_nm, mic_nm, note, second_low_nm, second_high_nm, tighter, unloaded_low_nm, unloaded_high_nm, temperature_mk, unloaded_twice, unloaded_most_nm FROM readings WHERE job = ? ORDER BY number, place", job)
	if err != nil {
		return nil, err
	}
	for i := range checks {
		for _, r := range readings {
			if r.number == checks[i].Number {
				if r.place != len(checks[i].Readings) {
					return nil, misplaced("reading", r.place, "job %d, check %d", job, r.number)
				}
				checks[i].Readings = append(checks[i].Readings, r.Measurement)
			}
		}
	}
	return checks, nil
}

func (t *tx) Plan(job int64, number int) (inventory.KeptPlan, error) {
	p, found, err := one(t, readPlan, "SELECT job, number, seq, revision, time, who, document, seal FROM plans WHERE job = ? AND number = ?", job, number)
	if err := unknown(err, found, "job %d has no plan %d", job, number); err != nil {
		return p, err
	}
	placements, err := query(t, readPlacement, "SELECT place, valve, size_nm, source, from_valve, price, temporary_nm, supplier, part, counted FROM placements WHERE job = ? AND plan = ? ORDER BY place", job, number)
	for i, l := range placements {
		if l.place != i {
			return p, misplaced("placement", l.place, "job %d, plan %d", job, number)
		}
		p.Placements = append(p.Placements, l.Placement)
	}
	return p, err
}

func holdWhere(f inventory.HoldFilter) *where {
	w := new(where)
	w.add(f.Job != 0, "job = ?", f.Job)
	w.disc(f.Disc)
	return w
}

func (t *tx) Holds(f inventory.HoldFilter) ([]inventory.Hold, error) {
	w := holdWhere(f)
	return query(t, readHold, "SELECT job, family, diameter_nm, stamp_nm, mic_nm, used, bin, count, plan_seq, seal FROM holds"+w.String()+" ORDER BY job, family, diameter_nm, size_nm, stamp_nm, mic_nm, used, bin", w.args...)
}

func (t *tx) Purchases(f inventory.HoldFilter) ([]inventory.Purchase, error) {
	w := holdWhere(f)
	return query(t, readPurchase, "SELECT job, family, diameter_nm, size_nm, supplier, part, price, needed, ordered, arrived, seal FROM purchases"+w.String()+" ORDER BY job, family, diameter_nm, size_nm, supplier, part, price", w.args...)
}

// ledger is the group of all movements.
var ledger = inventory.Group{What: inventory.Movements}

const tallyColumns = "what, job, family, diameter_nm, size_nm, count, head, seal"

func (t *tx) Tally(g inventory.Group) (inventory.Tally, error) {
	c, found, err := one(t, readTally, "SELECT "+tallyColumns+" FROM counts WHERE what = ? AND job = ? AND family = ? AND diameter_nm = ? AND size_nm = ?", g.What, g.Job, g.Kind, int64(g.Diameter), int64(g.Size))
	if !found {
		c.Group = g
	}
	return c, err
}

func (t *tx) Tallies() ([]inventory.Tally, error) {
	return query(t, readTally, "SELECT "+tallyColumns+" FROM counts ORDER BY what, job, family, diameter_nm, size_nm")
}

func (t *tx) Rows(g inventory.Group) (int64, error) {
	if g == ledger {
		n, _, err := one(t, readInt, "SELECT COALESCE(MAX(seq), 0) FROM movements")
		return n, err
	}
	if slices.Contains(inventory.RecordKinds, g.What) {
		n, _, err := one(t, readInt, "SELECT COUNT(*) FROM records WHERE kind = ?", g.What)
		return n, err
	}
	w := holdWhere(inventory.HoldFilter{Job: g.Job, Disc: g.Disc})
	n, _, err := one(t, readInt, "SELECT COUNT(*) FROM "+g.What+w.String(), w.args...)
	return n, err
}

// misplaced is the error for a row that does not stand where it was put.
func misplaced(what string, place int, format string, args ...any) error {
	return inventory.Damaged(fmt.Sprintf(format, args...)+fmt.Sprintf(", %s %d", what, place+1), "does not stand where it was put")
}

// unknown is the error for a row that is not there.
func unknown(err error, found bool, format string, args ...any) error {
	if err == nil && !found {
		return shim.Fail(inventory.ErrUnknown, "", format, args...)
	}
	return err
}
