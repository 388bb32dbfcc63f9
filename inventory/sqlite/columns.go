package sqlite

import (
	"database/sql"
	"encoding/json"
	"fmt"
	"time"

	"shimwright/inventory"
	"shimwright/shim"
)

// text writes a time as the file keeps it. A bound time.Time would be stored
// with its monotonic clock.
func text(t time.Time) string { return t.UTC().Format(time.RFC3339) }

// null is nil for the zero value.
func null[T comparable](v T) any {
	var zero T
	if v == zero {
		return nil
	}
	return v
}

func price(p shim.Price, known bool) any {
	if !known {
		return nil
	}
	return int64(p)
}

// parseValve reads a name that was written by [shim.Valve.String].
func parseValve(name string) (shim.Valve, error) {
	v, err := shim.ParseValve(name)
	if err == nil && v.String() != name {
		err = fmt.Errorf("%q is not a valve", name)
	}
	return v, err
}

func valveText(v shim.Valve) any {
	if v == (shim.Valve{}) {
		return nil
	}
	return v.String()
}

var readingKinds = map[shim.ReadingKind]string{
	shim.Unread: "unread", shim.Single: "single", shim.Bracket: "bracket", shim.Below: "below", shim.Above: "above",
}

func readingKind(name string) (shim.ReadingKind, error) {
	for kind, known := range readingKinds {
		if known == name {
			return kind, nil
		}
	}
	return shim.Unread, fmt.Errorf("unknown kind of reading %q", name)
}

const movementColumns = "seq, batch, time, kind, diameter_nm, stamp_nm, mic_nm, used, bin, count, job, valve, price, who, note, reverses, prev, hash, supplier, part, asked, unordered, family"

func readMovement(scan scan) (inventory.Movement, error) {
	var (
		m                    inventory.Movement
		at                   string
		job, price, reverses sql.NullInt64
		valve                sql.NullString
		supplier, part       sql.NullString
		asked                sql.NullInt64
	)
	err := scan(&m.Seq, &m.Batch, &at, &m.Kind, &m.Diameter, &m.Stamp, &m.Mic, &m.Used, &m.Bin, &m.Count, &job, &valve, &price,
		&m.Who, &m.Note, &reverses, sealOf(&m.Prev), sealOf(&m.Hash), &supplier, &part, &asked, &m.Unordered, &m.Family.Kind)
	if err != nil {
		return m, err
	}
	if m.Time, err = clock(at); err != nil {
		return m, fmt.Errorf("movement %d: %w", m.Seq, err)
	}
	if valve.Valid {
		if m.Valve, err = parseValve(valve.String); err != nil {
			return m, fmt.Errorf("movement %d: %w", m.Seq, err)
		}
	}
	m.Job, m.Reverses = job.Int64, reverses.Int64
	m.Price, m.Priced = shim.Price(price.Int64), price.Valid
	if supplier.Valid {
		m.Order = &inventory.Terms{Supplier: supplier.String, Part: part.String, Quote: shim.Quote{Price: shim.Price(asked.Int64), Priced: asked.Valid}}
	}
	return m, nil
}

const lotColumns = "family, diameter_nm, stamp_nm, mic_nm, used, bin, count, seal"

func readBalance(scan scan) (b inventory.Balance, err error) {
	err = scan(&b.Family.Kind, &b.Diameter, &b.Stamp, &b.Mic, &b.Used, &b.Bin, &b.Count, sealOf(&b.Seal))
	return b, err
}

const stockColumns = "family, diameter_nm, size_nm, on_hand, reserved, seal"

func readStock(scan scan) (s inventory.Stock, err error) {
	err = scan(&s.Kind, &s.Diameter, &s.Size, &s.OnHand, &s.Reserved, sealOf(&s.Seal))
	return s, err
}

const revisionColumns = "family, diameter_nm, revision, seal"

func readRevision(scan scan) (r inventory.Revision, err error) {
	err = scan(&r.Kind, &r.Diameter, &r.Number, sealOf(&r.Seal))
	return r, err
}

func readTally(scan scan) (c inventory.Tally, err error) {
	var head []byte
	if err = scan(&c.What, &c.Job, &c.Kind, &c.Diameter, &c.Size, &c.Count, &head, sealOf(&c.Seal)); err != nil {
		return c, err
	}
	if copy(c.Head[:], head) > 0 != (c.Group == ledger) {
		err = inventory.Damaged("the count of "+c.What, "has lost the ledger's last hash")
	}
	return c, err
}

// hashColumn reads a hash; a seal of another length is none.
type hashColumn inventory.Hash

// sealOf is where a row's seal is read to.
func sealOf(h *inventory.Hash) *hashColumn { return (*hashColumn)(h) }

// Scan implements [sql.Scanner].
func (h *hashColumn) Scan(value any) error {
	data, ok := value.([]byte)
	if !ok || len(data) != len(h) {
		return inventory.Damaged("a row", "has no seal")
	}
	copy(h[:], data)
	return nil
}

// clock reads a time that was written by [text].
func clock(at string) (time.Time, error) {
	t, err := time.Parse(time.RFC3339, at)
	if err == nil && text(t) != at {
		err = fmt.Errorf("%q is not a time", at)
	}
	return t, err
}

func readInt(scan scan) (n int64, err error) {
	err = scan(&n)
	return n, err
}

func readEngine(scan scan) (e inventory.Engine, err error) {
	var name, spec string
	var diameter shim.Length
	if err = scan(&e.ID, &name, &diameter, &spec, &e.Source, sealOf(&e.Seal)); err != nil {
		return e, err
	}
	e.Data = json.RawMessage(spec)
	if err = e.Read(); err == nil && (e.Spec.Name != name || e.Spec.Diameter != diameter) {
		err = inventory.Damaged(fmt.Sprintf("engine %d", e.ID), "has another name or diameter beside it")
	}
	return e, err
}

const jobColumns = "j.id, j.engine, e.name, e.diameter_nm, j.tag, j.meter, j.note, j.state, j.who, j.opened, j.changed, j.plan, j.short, j.anyway, j.build, j.machine, j.meter_new, j.reset, j.seal"

func readJob(scan scan) (j inventory.Job, err error) {
	var opened, changed string
	if err = scan(&j.ID, &j.Engine, &j.Name, &j.Diameter, &j.Tag, &j.Meter, &j.Note, &j.State, &j.Who, &opened, &changed, &j.Plan, &j.Short, &j.Anyway, &j.Build, &j.Machine, &j.MeterNew, &j.Reset, sealOf(&j.Seal)); err != nil {
		return j, err
	}
	if j.Opened, err = clock(opened); err != nil {
		return j, err
	}
	j.Changed, err = clock(changed)
	return j, err
}

const recordColumns = "kind, number, name, owner, body, seal"

func readRecord(scan scan) (r inventory.Record, err error) {
	var body string
	err = scan(&r.Kind, &r.Number, &r.Name, &r.Of, &body, sealOf(&r.Seal))
	r.Body = json.RawMessage(body)
	return r, err
}

func readCommand(scan scan) (c inventory.Command, err error) {
	err = scan(&c.Key, sealOf(&c.Digest), &c.Batch, &c.Answer, &c.Status, sealOf(&c.Seal))
	return c, err
}

func readEdit(scan scan) (e inventory.Edit, err error) {
	var at string
	if err = scan(&e.Job, &e.Number, &e.Field, &e.Old, &e.New, &at, &e.Who, sealOf(&e.Seal)); err != nil {
		return e, err
	}
	e.Time, err = clock(at)
	return e, err
}

func readCheck(scan scan) (c inventory.Check, err error) {
	var at, then string
	var set int64
	if err = scan(&c.Job, &c.Number, &c.Kind, &c.Seq, &at, &c.Who, &c.Note, &set, &then, sealOf(&c.Seal)); err != nil {
		return c, err
	}
	if then != "" {
		if err := json.Unmarshal([]byte(then), &c.Gauge); err != nil {
			return c, inventory.Damaged(fmt.Sprintf("check %d of job %d", c.Number, c.Job), "cannot be read: "+err.Error())
		}
	}
	c.Gauge.ID = set
	c.Time, err = clock(at)
	return c, err
}

// reading is a measurement with the check that it belongs to.
type reading struct {
	number, place int
	shim.Measurement
}

func readReading(scan scan) (r reading, err error) {
	var valve, kind string
	var low, high sql.NullInt64
	second := &r.Reading.Second
	if err = scan(&r.number, &r.place, &valve, &kind, &r.Reading.Low, &r.Reading.High, &r.Stamp, &r.Mic, &r.Note, &low, &high, &second.Tighter, &r.Reading.Unloaded.Low, &r.Reading.Unloaded.High, (*int64)(&r.Temperature), &r.Reading.Unloaded.Twice, &r.Reading.Unloaded.Most); err != nil {
		return r, err
	}
	second.Taken, second.Low, second.High = low.Valid, shim.Length(low.Int64), shim.Length(high.Int64)
	if r.Valve, err = parseValve(valve); err != nil {
		return r, err
	}
	r.Reading.Kind, err = readingKind(kind)
	return r, err
}

func readPlan(scan scan) (p inventory.KeptPlan, err error) {
	var at string
	var document sql.NullString
	if err = scan(&p.Job, &p.Number, &p.Seq, &p.Revision, &at, &p.Who, &document, sealOf(&p.Seal)); err != nil {
		return p, err
	}
	if document.Valid {
		p.Document = json.RawMessage(document.String)
	}
	p.Time, err = clock(at)
	return p, err
}

// placement is a placement with its number in the plan.
type placement struct {
	place int
	inventory.Placement
}

func readPlacement(scan scan) (p placement, err error) {
	var valve string
	var from sql.NullString
	var price sql.NullInt64
	if err = scan(&p.place, &valve, &p.Size, &p.Source, &from, &price, &p.Temporary, &p.Supplier, &p.Part, &p.Counted); err != nil {
		return p, err
	}
	p.Price, p.Priced = shim.Price(price.Int64), price.Valid
	if from.Valid {
		if p.From, err = parseValve(from.String); err != nil {
			return p, err
		}
	}
	p.Valve, err = parseValve(valve)
	return p, err
}

func readHold(scan scan) (h inventory.Hold, err error) {
	err = scan(&h.Job, &h.Kind, &h.Diameter, &h.Stamp, &h.Mic, &h.Used, &h.Bin, &h.Count, &h.Plan, sealOf(&h.Seal))
	return h, err
}

func readPurchase(scan scan) (p inventory.Purchase, err error) {
	var price int64
	err = scan(&p.Job, &p.Kind, &p.Diameter, &p.Size, &p.Supplier, &p.Part, &price, &p.Needed, &p.Ordered, &p.Arrived, sealOf(&p.Seal))
	if price >= 0 {
		p.Price, p.Priced = shim.Price(price), true
	}
	return p, err
}
