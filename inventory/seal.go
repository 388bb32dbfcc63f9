package inventory

import (
	"crypto/sha256"
	"encoding/json"
	"fmt"
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
	j.Seal = seal(j.ID, j.Engine, j.Name, j.Diameter, j.Tag, j.Meter, j.Note, j.State, j.Who, j.Opened.Unix(), j.Changed.Unix(), j.Plan, j.Short, j.Anyway)
	return j
}

func (c Check) sealed() Check {
	rows := make([][]any, len(c.Readings))
	for i, m := range c.Readings {
		rows[i] = []any{m.Valve, m.Reading.Kind, m.Reading.Low, m.Reading.High, m.Stamp, m.Mic, m.Note}
	}
	c.Seal = seal(c.Job, c.Number, c.Kind, c.Seq, c.Time.Unix(), c.Who, c.Note, rows)
	return c
}

func (p Plan) sealed() Plan {
	rows := make([][]any, len(p.Placements))
	for i, l := range p.Placements {
		rows[i] = []any{l.Valve, l.Size, l.Source, l.From, l.Price, l.Priced}
		if l.Temporary != 0 { // version 1 knows none
			rows[i] = append(rows[i], l.Temporary)
		}
		if l.Supplier != "" || l.Part != "" { // nor these
			rows[i] = append(rows[i], l.Supplier, l.Part)
		}
	}
	p.Seal = seal(p.Job, p.Number, p.Seq, p.Revision, p.Time.Unix(), p.Who, rows, string(p.Document))
	return p
}

func (b Balance) sealed() Balance {
	b.Seal = seal(b.Diameter, b.Stamp, b.Mic, b.Used, b.Bin, b.Count)
	return b
}

func (s Stock) sealed() Stock {
	s.Seal = seal(s.Diameter, s.Size, s.OnHand, s.Reserved)
	return s
}

func (r Revision) sealed() Revision { r.Seal = seal(r.Diameter, r.Number); return r }

func (h Hold) sealed() Hold {
	h.Seal = seal(h.Job, h.Diameter, h.Stamp, h.Mic, h.Used, h.Bin, h.Count, h.Plan)
	return h
}

func (p Purchase) sealed() Purchase {
	p.Seal = seal(p.Job, p.Diameter, p.Size, p.Supplier, p.Part, p.Price, p.Priced, p.Needed, p.Ordered, p.Arrived)
	return p
}

func (t Tally) sealed() Tally {
	t.Seal = seal(t.What, t.Job, t.Diameter, t.Size, t.Count, t.Head.String())
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
