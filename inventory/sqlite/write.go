package sqlite

import (
	"encoding/json"
	"strings"

	"shimwright/inventory"
)

// into is the statement that adds a row with a value for each column.
func into(table, columns string) string {
	return "INSERT INTO " + table + " (" + columns + ") VALUES (?" + strings.Repeat(", ?", strings.Count(columns, ",")) + ")"
}

func (t *tx) Append(m inventory.Movement) error {
	var supplier, part, asked any
	if o := m.Order; o != nil {
		supplier, part, asked = o.Supplier, o.Part, price(o.Price, o.Priced)
	}
	return t.run(into("movements", movementColumns),
		m.Seq, m.Batch, text(m.Time), string(m.Kind), int64(m.Diameter), int64(m.Stamp), int64(m.Mic), m.Used, m.Bin, m.Count,
		null(m.Job), valveText(m.Valve), price(m.Price, m.Priced), m.Who, m.Note, null(m.Reverses), m.Prev[:], m.Hash[:], supplier, part, asked, m.Unordered, m.Family.Kind)
}

func (t *tx) PutBalance(b inventory.Balance) error {
	key := []any{b.Kind, int64(b.Diameter), int64(b.Size()), int64(b.Stamp), int64(b.Mic), b.Used, b.Bin}
	if b.Count == 0 {
		return t.run("DELETE FROM lots WHERE family = ? AND diameter_nm = ? AND size_nm = ? AND stamp_nm = ? AND mic_nm = ? AND used = ? AND bin = ?", key...)
	}
	return t.run(into("lots", "family, diameter_nm, size_nm, stamp_nm, mic_nm, used, bin, count, seal")+
		" ON CONFLICT DO UPDATE SET count = excluded.count, seal = excluded.seal", append(key, b.Count, b.Seal[:])...)
}

func (t *tx) PutStock(s inventory.Stock) error {
	if s.OnHand == 0 && s.Reserved == 0 {
		return t.run("DELETE FROM sizes WHERE family = ? AND diameter_nm = ? AND size_nm = ?", s.Kind, int64(s.Diameter), int64(s.Size))
	}
	return t.run(into("sizes", "family, diameter_nm, size_nm, on_hand, reserved, seal")+
		" ON CONFLICT DO UPDATE SET on_hand = excluded.on_hand, reserved = excluded.reserved, seal = excluded.seal",
		s.Kind, int64(s.Diameter), int64(s.Size), s.OnHand, s.Reserved, s.Seal[:])
}

func (t *tx) PutRevision(r inventory.Revision) error {
	return t.run(into("diameters", "family, diameter_nm, revision, seal")+
		" ON CONFLICT DO UPDATE SET revision = excluded.revision, seal = excluded.seal", r.Kind, int64(r.Diameter), r.Number, r.Seal[:])
}

func (t *tx) AddEngine(e inventory.Engine) (int64, error) {
	return t.insert(into("engines", "name, diameter_nm, source, spec, seal"),
		e.Spec.Name, int64(e.Spec.Diameter), e.Source, string(e.Data), e.Seal[:])
}

func (t *tx) AddJob(j inventory.Job) (int64, error) {
	return t.insert(into("jobs", "id, engine, tag, meter, note, state, who, opened, changed, plan, short, anyway, build, machine, meter_new, reset, seal"),
		null(j.ID), j.Engine, j.Tag, j.Meter, j.Note, string(j.State), j.Who, text(j.Opened), text(j.Changed), j.Plan, j.Short, j.Anyway, j.Build, j.Machine, j.MeterNew, j.Reset, j.Seal[:])
}

func (t *tx) PutJob(j inventory.Job) error {
	result, err := t.exec("UPDATE jobs SET engine = ?, tag = ?, meter = ?, note = ?, state = ?, changed = ?, plan = ?, short = ?, anyway = ?, machine = ?, meter_new = ?, reset = ?, seal = ? WHERE id = ?",
		j.Engine, j.Tag, j.Meter, j.Note, string(j.State), text(j.Changed), j.Plan, j.Short, j.Anyway, j.Machine, j.MeterNew, j.Reset, j.Seal[:], j.ID)
	if err != nil {
		return err
	}
	n, err := result.RowsAffected()
	return unknown(err, n == 1, "there is no job %d", j.ID)
}

func (t *tx) AddRecord(r inventory.Record) (int64, error) {
	err := t.run("INSERT INTO records ("+recordColumns+") SELECT ?, COALESCE(MAX(number), 0) + 1, ?, ?, ?, ? FROM records WHERE kind = ?", r.Kind, r.Name, r.Of, string(r.Body), r.Seal[:], r.Kind)
	if err != nil {
		return 0, err
	}
	n, _, err := one(t, readInt, "SELECT MAX(number) FROM records WHERE kind = ?", r.Kind)
	return n, err
}

func (t *tx) PutRecord(r inventory.Record) error {
	result, err := t.exec("UPDATE records SET name = ?, owner = ?, body = ?, seal = ? WHERE kind = ? AND number = ?", r.Name, r.Of, string(r.Body), r.Seal[:], r.Kind, r.Number)
	if err != nil {
		return err
	}
	n, err := result.RowsAffected()
	if err == nil && n != 1 {
		err = inventory.NoRecord(r.Kind, r.Number)
	}
	return err
}

func (t *tx) PutCommand(c inventory.Command) error {
	return t.run(into("commands", "key, digest, batch, answer, status, seal")+
		" ON CONFLICT DO UPDATE SET digest = excluded.digest, batch = excluded.batch, answer = excluded.answer, status = excluded.status, seal = excluded.seal",
		c.Key, c.Digest[:], c.Batch, c.Answer, c.Status, c.Seal[:])
}

func (t *tx) AddEdit(e inventory.Edit) error {
	return t.run(into("edits", "job, number, field, old, new, time, who, seal"),
		e.Job, e.Number, string(e.Field), e.Old, e.New, text(e.Time), e.Who, e.Seal[:])
}

func (t *tx) AddCheck(c inventory.Check) error {
	var then []byte
	var err error
	if c.Gauge.ID != 0 {
		then, err = json.Marshal(c.Gauge)
	}
	if err == nil {
		err = t.run(into("checks", "job, number, kind, seq, time, who, note, gauge, gauge_then, seal"),
			c.Job, c.Number, string(c.Kind), c.Seq, text(c.Time), c.Who, c.Note, c.Gauge.ID, string(then), c.Seal[:])
	}
	for place, m := range c.Readings {
		if err != nil {
			break
		}
		second := m.Reading.Second
		var low, high any
		if second.Taken {
			low, high = int64(second.Low), int64(second.High)
		}
		err = t.run(into("readings", "job, number, place, valve, kind, low_nm, high_nm, stamp_nm, mic_nm, note, second_low_nm, second_high_nm, tighter, unloaded_low_nm, unloaded_high_nm, temperature_mk, unloaded_twice, unloaded_most_nm"),
			c.Job, c.Number, place, m.Valve.String(), readingKinds[m.Reading.Kind], int64(m.Reading.Low), int64(m.Reading.High), int64(m.Stamp), int64(m.Mic), m.Note, low, high, second.Tighter, int64(m.Reading.Unloaded.Low), int64(m.Reading.Unloaded.High), int64(m.Temperature), m.Reading.Unloaded.Twice, int64(m.Reading.Unloaded.Most))
	}
	return err
}

func (t *tx) AddPlan(p inventory.KeptPlan) error {
	var document any
	if p.Document != nil {
		document = string(p.Document)
	}
	err := t.run(into("plans", "job, number, seq, revision, time, who, document, seal"),
		p.Job, p.Number, p.Seq, p.Revision, text(p.Time), p.Who, document, p.Seal[:])
	for place, l := range p.Placements {
		if err != nil {
			break
		}
		err = t.run(into("placements", "job, plan, place, valve, size_nm, source, from_valve, price, temporary_nm, supplier, part, counted"),
			p.Job, p.Number, place, l.Valve.String(), int64(l.Size), string(l.Source), valveText(l.From), price(l.Price, l.Priced), int64(l.Temporary), l.Supplier, l.Part, int64(l.Counted))
	}
	return err
}

func (t *tx) PutHold(h inventory.Hold) error {
	key := []any{h.Job, h.Kind, int64(h.Diameter), int64(h.Size()), int64(h.Stamp), int64(h.Mic), h.Used, h.Bin}
	if h.Count == 0 {
		return t.run("DELETE FROM holds WHERE job = ? AND family = ? AND diameter_nm = ? AND size_nm = ? AND stamp_nm = ? AND mic_nm = ? AND used = ? AND bin = ?", key...)
	}
	return t.run(into("holds", "job, family, diameter_nm, size_nm, stamp_nm, mic_nm, used, bin, count, plan_seq, seal")+
		" ON CONFLICT DO UPDATE SET count = excluded.count, plan_seq = excluded.plan_seq, seal = excluded.seal", append(key, h.Count, h.Plan, h.Seal[:])...)
}

func (t *tx) PutPurchase(p inventory.Purchase) error {
	cost := int64(-1)
	if p.Priced {
		cost = int64(p.Price)
	}
	key := []any{p.Job, p.Kind, int64(p.Diameter), int64(p.Size), p.Supplier, p.Part, cost}
	if p.Needed == 0 && p.Ordered == 0 {
		return t.run("DELETE FROM purchases WHERE job = ? AND family = ? AND diameter_nm = ? AND size_nm = ? AND supplier = ? AND part = ? AND price = ?", key...)
	}
	return t.run(into("purchases", "job, family, diameter_nm, size_nm, supplier, part, price, needed, ordered, arrived, seal")+
		" ON CONFLICT DO UPDATE SET needed = excluded.needed, ordered = excluded.ordered, arrived = excluded.arrived, seal = excluded.seal",
		append(key, p.Needed, p.Ordered, p.Arrived, p.Seal[:])...)
}

func (t *tx) PutTally(c inventory.Tally) error {
	key := []any{c.What, c.Job, c.Kind, int64(c.Diameter), int64(c.Size)}
	if c.Count == 0 {
		return t.run("DELETE FROM counts WHERE what = ? AND job = ? AND family = ? AND diameter_nm = ? AND size_nm = ?", key...)
	}
	var head any
	if c.Group == ledger {
		head = c.Head[:]
	}
	return t.run(into("counts", "what, job, family, diameter_nm, size_nm, count, head, seal")+
		" ON CONFLICT DO UPDATE SET count = excluded.count, head = excluded.head, seal = excluded.seal", append(key, c.Count, head, c.Seal[:])...)
}
