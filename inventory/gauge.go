package inventory

import (
	"context"
	"slices"
	"strings"
	"time"

	"shimwright/shim"
)

// A Gauge is a set of feeler gauges, or a micrometer, that the shop measures with.
type Gauge struct {
	ID     int64      `json:"-"` // [Record.Number]
	Name   string     // what the shop calls it
	Number string     `json:",omitempty"` // its own, as engraved or on its certificate
	Spec   shim.Gauge `json:",omitzero"`  // what it can tell, zero where nobody said
	// Calibrated is the day when it was last calibrated and Due the last one before it
	// is to be again: midnight UTC, zero where not known.
	Calibrated time.Time `json:",omitzero"`
	Due        time.Time `json:",omitzero"`
	Note       string    `json:",omitempty"`
	Retired    bool      `json:",omitempty"`
}

// OutOfDate reports whether its calibration had run out on the day, by the shop's
// calendar, that a time falls on.
func (g Gauge) OutOfDate(at time.Time) bool {
	return !g.Due.IsZero() && at.Local().Format(time.DateOnly) > g.Due.Format(time.DateOnly)
}

func gauge(r Record) (g Gauge, err error) {
	err = r.read(&g)
	g.ID = r.Number
	return g, err
}

// Gauges lists the sets, retired ones too, by number.
func (s *Shop) Gauges(ctx context.Context) (list []Gauge, err error) {
	err = s.store.View(ctx, func(r Reader) error {
		list, err = gauges(r)
		return err
	})
	return list, err
}

func gauges(r Reader) ([]Gauge, error) { return listed(r, RecordFilter{Kind: Gauges}, gauge) }

// PutGauge adds a set, or changes the one whose ID it has.
func (s *Shop) PutGauge(ctx context.Context, g Gauge) (Gauge, error) {
	_, err := s.update(ctx, func(b *booking) error {
		g.Name, g.Number = strings.TrimSpace(g.Name), strings.TrimSpace(g.Number)
		if TagKey(g.Name) == "" {
			return shim.Fail(ErrInvalid, "give it one, such as \"set 2\"", "a gauge set needs a name")
		}
		for name, text := range map[string]string{"name": g.Name, "number": g.Number, "note": g.Note} {
			if err := validText(name, text); err != nil {
				return err
			}
		}
		if problems := g.Spec.Validate(); len(problems) > 0 {
			return shim.Fail(ErrInvalid, problems[0].Hint, "%s", problems[0].Message)
		}
		if !g.Calibrated.IsZero() && !g.Due.IsZero() && g.Due.Before(g.Calibrated) {
			return shim.Fail(ErrInvalid, "check both dates", "gauge set %s: due on %s, before it was calibrated on %s", g.Name, g.Due.Format(time.DateOnly), g.Calibrated.Format(time.DateOnly))
		}
		all, err := gauges(b)
		if err != nil {
			return err
		}
		for _, other := range all {
			if other.ID != g.ID && TagKey(other.Name) == TagKey(g.Name) {
				return shim.Fail(ErrInvalid, "name it otherwise, or edit that one", "gauge set %d is called %q", other.ID, other.Name)
			}
		}
		g.ID, err = keep(b, Gauges, g.ID, TagKey(g.Name), 0, g)
		return err
	})
	return g, err
}

// gaugeThen is what a check keeps of the set that it is made with.
func gaugeThen(r Reader, id int64) (Gauge, error) {
	if id == 0 {
		return Gauge{}, nil
	}
	row, err := r.Record(Gauges, id)
	if err != nil {
		return Gauge{}, err
	}
	g, err := gauge(row)
	g.Note, g.Retired = "", false
	return g, err
}

// gaugesOf lists the sets that checks were made with, as they were then.
func gaugesOf(checks []Check) (list []Gauge) {
	for _, c := range checks {
		if c.Gauge.ID != 0 && !slices.Contains(list, c.Gauge) {
			list = append(list, c.Gauge)
		}
	}
	return list
}

// gaugeOf is what the set of the last check that names one can tell, nil where none does.
func gaugeOf(checks []Check) *shim.Gauge {
	for _, c := range slices.Backward(checks) {
		if c.Gauge.Spec != (shim.Gauge{}) {
			return &c.Gauge.Spec
		}
	}
	return nil
}

// States is what the set can tell, nil where nobody said.
func (g Gauge) States() *shim.Gauge {
	if g.Spec == (shim.Gauge{}) {
		return nil
	}
	return &g.Spec
}

// Made tells readings that they were made with the set.
func (g Gauge) Made(list []shim.Measurement) []shim.Measurement {
	list = slices.Clone(list)
	for i := range list {
		list[i].With = g.Spec
	}
	return list
}

// original is the check that a valve's reading was made in: a carried one only enters
// it again.
func (w *work) original(c Check, v shim.Valve) Check {
	if !c.carried() {
		return c
	}
	made := c
	for _, earlier := range w.checks {
		read := slices.ContainsFunc(earlier.Readings, func(m shim.Measurement) bool { return m.Valve == v && m.Reading.Kind != shim.Unread })
		if read && earlier.Number < c.Number && earlier.Kind == c.Kind && !earlier.carried() {
			made = earlier
		}
	}
	return made
}

// readWith tells each reading what it was made with.
func (w *work) readWith() {
	for i := range w.checks {
		c := &w.checks[i]
		if c.Gauge.ID == 0 && !c.carried() {
			continue
		}
		c.Readings = slices.Clone(c.Readings)
		for k := range c.Readings {
			c.Readings[k].With = w.original(*c, c.Readings[k].Valve).Gauge.Spec
		}
	}
}
