package main

import (
	"encoding/json"

	"shimwright/inventory"
	"shimwright/inventory/work"
	"shimwright/shim"
)

// The JSON forms of a job; docs/jobs.md is the contract.

type fileJSON struct {
	jobLine
	Next      string         `json:"next"`
	Unproven  []string       `json:"unproven"`
	Seats     []seatJSON     `json:"seats"`
	Edits     []editJSON     `json:"edits"`
	Checks    []checkJSON    `json:"checks"`
	Plan      *planJSON      `json:"current_plan"`
	Reserved  []holdJSON     `json:"reserved"`
	Purchases []purchaseJSON `json:"purchases"`
	Movements []movedJSON    `json:"movements"`
}

type seatJSON struct {
	Valve string       `json:"valve"`
	Empty bool         `json:"empty"`
	Stamp *shim.Length `json:"stamp_mm"`
	Mic   *shim.Length `json:"mic_mm"`
	SetUp bool         `json:"set_up,omitempty"`
	Mark  string       `json:"mark,omitempty"`
}

type editJSON struct {
	Field string `json:"field"`
	Old   string `json:"old"`
	New   string `json:"new"`
	Time  string `json:"time"`
	Who   string `json:"who"`
}

type checkJSON struct {
	Number   int           `json:"number"`
	Kind     string        `json:"kind"`
	Time     string        `json:"time"`
	Who      string        `json:"who"`
	Note     string        `json:"note"`
	Gauge    *gaugeThen    `json:"gauge_set,omitempty"` // that it was made with, as it was then
	Readings []readingJSON `json:"readings"`
}

// gaugeThen is a gauge set as it was when a check was made.
type gaugeThen struct {
	Set        int64  `json:"set"`
	Name       string `json:"name"`
	Number     string `json:"number"`
	Calibrated string `json:"calibrated"`
	Due        string `json:"due"`
	OutOfDate  bool   `json:"out_of_date"`
}

func gaugeOfCheck(c inventory.Check) *gaugeThen {
	if c.Gauge.ID == 0 {
		return nil
	}
	g := c.Gauge
	return &gaugeThen{g.ID, g.Name, g.Number, dateOr(g.Calibrated), dateOr(g.Due), g.OutOfDate(c.Time)}
}

type readingJSON struct {
	Valve     string           `json:"valve"`
	Reading   string           `json:"reading"` // in mm, as check files write it
	Clearance *shim.Length     `json:"clearance_mm"`
	Stamp     *shim.Length     `json:"stamp_mm"`
	Mic       *shim.Length     `json:"mic_mm"`
	Note      string           `json:"note"`
	Celsius   shim.Temperature `json:"temperature_c,omitempty"` // of the engine
	Mark      string           `json:"mark,omitempty"`
}

type planJSON struct {
	Number     int             `json:"number"`
	Time       string          `json:"time"`
	Who        string          `json:"who"`
	Placements []placementJSON `json:"placements"`
	Document   json.RawMessage `json:"document"` // as docs/json.md has it
}

type placementJSON struct {
	Valve  string      `json:"valve"`
	Size   shim.Length `json:"size_mm"`
	Source string      `json:"source"`
	From   *string     `json:"from"`
	Fitted bool        `json:"fitted"`
	Piece  *pieceJSON  `json:"piece"` // reserved or fitted; null if it is still in the engine or has not arrived
	// Temporary is the shim from the box that sits in the valve until then.
	Temporary *shim.Length `json:"temporary_mm"`
	Mark      string       `json:"mark,omitempty"`
}

type pieceJSON struct {
	Stamp *shim.Length `json:"stamp_mm"`
	Mic   *shim.Length `json:"mic_mm"`
	Used  bool         `json:"used"`
	Bin   string       `json:"bin"`
	Mark  string       `json:"mark,omitempty"`
}

type holdJSON struct {
	shim.Disc
	Count int          `json:"count"`
	Stamp *shim.Length `json:"stamp_mm"`
	Mic   *shim.Length `json:"mic_mm"`
	Used  bool         `json:"used"`
	Bin   string       `json:"bin"`
	Mark  string       `json:"mark,omitempty"`
}

type purchaseJSON struct {
	shim.Disc
	Needed   int         `json:"needed"`
	Ordered  int         `json:"ordered"`
	Arrived  int         `json:"came_in"`
	Price    *shim.Price `json:"price"`
	Supplier string      `json:"supplier"`
	Part     string      `json:"part"`
	Mark     string      `json:"mark,omitempty"`
}

type movedJSON struct {
	Movement int64  `json:"movement"`
	Batch    int64  `json:"batch"`
	Time     string `json:"time"`
	Kind     string `json:"kind"`
	Valve    string `json:"valve"`
	Count    int    `json:"count"`
	shim.Family
	Stamp    *shim.Length `json:"stamp_mm"`
	Mic      *shim.Length `json:"mic_mm"`
	Used     bool         `json:"used"`
	Bin      string       `json:"bin"`
	Price    *shim.Price  `json:"price"`
	Who      string       `json:"who"`
	Note     string       `json:"note"`
	Reverses *int64       `json:"reverses"`
	Mark     string       `json:"mark,omitempty"`
}

func priceForm(p shim.Price, priced bool) *shim.Price {
	if !priced {
		return nil
	}
	return &p
}

func fileForm(f inventory.File) fileJSON {
	out := fileJSON{jobLine: jobForm(f.Job, f.Engine.Spec.State), Next: next(f), Unproven: append([]string{}, f.Unproven...), Seats: []seatJSON{}, Edits: []editJSON{}, Checks: []checkJSON{},
		Reserved: []holdJSON{}, Purchases: []purchaseJSON{}, Movements: []movedJSON{}}
	text := ofEngine(&f.Engine.Spec)
	at := func(v shim.Valve, m shim.Marks) string { return shimMark(&f.Engine.Spec, v, m) }
	for _, s := range f.Seats {
		out.Seats = append(out.Seats, seatJSON{s.Valve.String(), s.Empty, known(s.Stamp), known(s.Mic), s.SetUp, at(s.Valve, s.Marks)})
	}
	for _, e := range f.Edits {
		out.Edits = append(out.Edits, editJSON{string(e.Field), e.Old, e.New, stamp(e.Time), e.Who})
	}
	for _, c := range f.Checks {
		one := checkJSON{c.Number, string(c.Kind), stamp(c.Time), c.Who, c.Note, gaugeOfCheck(c), []readingJSON{}}
		for _, m := range c.Readings {
			r := readingJSON{m.Valve.String(), m.Reading.Format(shim.MM), nil, known(m.Stamp), known(m.Mic), m.Note, m.Temperature, at(m.Valve, m.Marks)}
			if estimate, measured := m.Reading.Estimate(); measured {
				r.Clearance = &estimate
			}
			one.Readings = append(one.Readings, r)
		}
		out.Checks = append(out.Checks, one)
	}
	if f.Plan != nil {
		out.Plan = planForm(f)
	}
	for _, h := range f.Holds {
		out.Reserved = append(out.Reserved, holdJSON{h.Disc(), h.Count, known(h.Stamp), known(h.Mic), h.Used, h.Bin, text.on(h.Lot)})
	}
	for _, p := range f.Purchases {
		out.Purchases = append(out.Purchases, purchaseJSON{p.Disc, p.Needed, p.Ordered, p.Arrived, priceForm(p.Price, p.Priced), p.Supplier, p.Part, text.mark(p.Disc)})
	}
	for _, m := range f.Movements {
		one := movedJSON{m.Seq, m.Batch, stamp(m.Time), string(m.Kind), valveText(m.Valve), m.Count, m.Family, known(m.Stamp), known(m.Mic), m.Used, m.Bin,
			priceForm(m.Price, m.Priced), m.Who, m.Note, nil, text.on(m.Lot)}
		if m.Reverses != 0 {
			one.Reverses = &m.Reverses
		}
		out.Movements = append(out.Movements, one)
	}
	return out
}

func pieceForm(l inventory.Lot, text shimText) *pieceJSON {
	return &pieceJSON{known(l.Stamp), known(l.Mic), l.Used, l.Bin, text.on(l)}
}

func planForm(f inventory.File) *planJSON {
	p := &planJSON{f.Plan.Number, stamp(f.Plan.Time), f.Plan.Who, []placementJSON{}, f.Plan.Document}
	text := ofEngine(&f.Engine.Spec)
	left := map[shim.Valve]bool{}
	for _, l := range f.Left {
		left[l.Valve] = true
	}
	for _, l := range f.Plan.Placements {
		one := placementJSON{l.Valve.String(), l.Size, string(l.Source), nil, !left[l.Valve], nil, known(l.Temporary), text.mark(f.Engine.Spec.FamilyOf(l.Valve).Of(l.Size))}
		if lot, there := work.PieceOf(f, l.Valve); there {
			one.Piece = pieceForm(lot, text)
		}
		if l.Source == inventory.SourceMoved {
			from := l.From.String()
			one.From = &from
		}
		p.Placements = append(p.Placements, one)
	}
	return p
}
