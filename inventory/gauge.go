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
	// Calibrated is when it was last calibrated and Due when it is to be again;
	// zero where not known.
	Calibrated time.Time `json:",omitzero"`
	Due        time.Time `json:",omitzero"`
	Note       string    `json:",omitempty"`
	Retired    bool      `json:",omitempty"`
}

// OutOfDate reports whether its calibration had run out on a day.
func (g Gauge) OutOfDate(day time.Time) bool {
	return !g.Due.IsZero() && day.After(g.Due.Add(24*time.Hour))
}

func gauge(r Record) (g Gauge, err error) {
	err = r.read(&g)
	g.ID = r.Number
	return g, err
}

func (g Gauge) record() (Record, error) { return record(Gauges, g.ID, TagKey(g.Name), 0, g) }

// Gauges lists the sets, retired ones too, by number.
func (s *Shop) Gauges(ctx context.Context) (list []Gauge, err error) {
	err = s.store.View(ctx, func(r Reader) error {
		list, err = gauges(r)
		return err
	})
	return list, err
}

func gauges(r Reader) (list []Gauge, err error) {
	rows, err := r.Records(RecordFilter{Kind: Gauges})
	for _, row := range rows {
		g, err := gauge(row)
		if err != nil {
			return nil, err
		}
		list = append(list, g)
	}
	return list, err
}

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
		row, err := g.record()
		if err != nil {
			return err
		}
		if g.ID != 0 {
			return b.PutRecord(row)
		}
		g.ID, err = b.AddRecord(row)
		return err
	})
	return g, err
}

// gaugesOf lists the sets that checks were made with.
func gaugesOf(r Reader, checks []Check) (list []Gauge, err error) {
	for _, c := range checks {
		if c.Gauge == 0 || slices.ContainsFunc(list, func(g Gauge) bool { return g.ID == c.Gauge }) {
			continue
		}
		row, err := r.Record(Gauges, c.Gauge)
		if err != nil {
			return nil, err
		}
		set, err := gauge(row)
		if err != nil {
			return nil, err
		}
		list = append(list, set)
	}
	return list, nil
}

// gaugeOf is what the set of the last check that names one can tell, nil where none does.
func gaugeOf(r Reader, checks []Check) (*shim.Gauge, error) {
	list, err := gaugesOf(r, checks)
	for _, c := range slices.Backward(checks) {
		for i := range list {
			if list[i].ID == c.Gauge && list[i].Spec != (shim.Gauge{}) {
				return &list[i].Spec, nil
			}
		}
	}
	return nil, err
}
