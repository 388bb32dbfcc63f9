package work

import (
	"context"

	"shimwright/inventory"
	"shimwright/shim"
)

// A Sight is all that is known of a machine: its visits, its valves at the last
// one, and its trend.
type Sight struct {
	File  inventory.MachineFile
	Trend *Trend
	Rows  []ValveRow
}

// A ValveRow is one valve at the last visit.
type ValveRow struct {
	Valve       shim.Valve
	Limits      shim.Limits
	Found, Left string      // as read, in the engine's unit
	Shim        shim.Marks  // in it now
	Stack       shim.Length // clearance and shim, where Stacked
	Stacked     bool
	Moved       shim.Length // of the stack since the visit before, where HasMoved
	HasMoved    bool
}

// Engine is the model at the last visit, nil without one.
func (s *Sight) Engine() *shim.Engine {
	if len(s.File.Visits) == 0 {
		return nil
	}
	return &s.File.Visits[len(s.File.Visits)-1].Engine.Spec
}

// Unit is that of the clearances.
func (s *Sight) Unit() shim.Unit {
	if e := s.Engine(); e != nil {
		return e.Units.Clearance
	}
	return shim.MM
}

// See looks at a machine.
func See(ctx context.Context, shop *inventory.Shop, id int64) (*Sight, error) {
	file, err := shop.Machine(ctx, id)
	if err != nil {
		return nil, err
	}
	trend, err := TrendOf(file)
	if err != nil {
		return nil, err
	}
	s := &Sight{File: file, Trend: trend}
	s.rows()
	return s, nil
}

// rows says what the last visit that was not cancelled found and left.
func (s *Sight) rows() {
	var visits []*inventory.Visit
	for i := range s.File.Visits {
		if v := &s.File.Visits[i]; v.Job.State != inventory.StateCancelled && len(v.Found)+len(v.Left) > 0 {
			visits = append(visits, v)
		}
	}
	if len(visits) == 0 {
		return
	}
	last := visits[len(visits)-1]
	e := &last.Engine.Spec
	for _, valve := range e.Valves() {
		train := e.TrainOf(valve)
		row := ValveRow{Valve: valve, Limits: train.Limits}
		if m, read := of(last.Found, valve); read {
			row.Found = m.Reading.Format(e.Units.Clearance)
		}
		if m, read := of(last.Left, valve); read {
			row.Left = m.Reading.Format(e.Units.Clearance)
		}
		for _, seat := range last.Seats {
			if seat.Valve == valve {
				row.Shim = seat.Marks
			}
		}
		row.Stack, row.Stacked = stack(last, valve)
		if len(visits) > 1 {
			before, known := stack(visits[len(visits)-2], valve)
			m, _ := of(last.Found, valve)
			found, read := e.Setting(m)
			if known && read && last.Job.Reset == "" && !last.Job.Build {
				row.Moved, row.HasMoved = found.Stack()-before, true
			}
		}
		s.Rows = append(s.Rows, row)
	}
}

func of(list []shim.Measurement, valve shim.Valve) (shim.Measurement, bool) {
	for _, m := range list {
		if m.Valve == valve && m.Reading.Kind != shim.Unread {
			return m, true
		}
	}
	return shim.Measurement{}, false
}

// stack is a valve's at a visit, by its last reading.
func stack(v *inventory.Visit, valve shim.Valve) (shim.Length, bool) {
	for _, list := range [][]shim.Measurement{v.Left, v.Found} {
		if m, read := of(list, valve); read {
			if setting, known := v.Engine.Spec.Setting(m); known {
				return setting.Stack(), true
			}
		}
	}
	return 0, false
}

// Foreseen lists the machines with what is kept of their next check, worked out
// where nothing is.
func Foreseen(ctx context.Context, shop *inventory.Shop) ([]inventory.Machine, error) {
	all, err := shop.Machines(ctx, "")
	if err != nil {
		return nil, err
	}
	for i := range all {
		if all[i].Outlook != nil {
			continue
		}
		s, err := See(ctx, shop, all[i].ID)
		if err != nil {
			return nil, err
		}
		if o, some := s.Trend.Outlook(); some {
			all[i].Outlook = &o
		}
	}
	return all, nil
}

// KeepOutlook works out when a machine should be looked at again and keeps that
// beside it.
func KeepOutlook(ctx context.Context, shop *inventory.Shop, machine int64) error {
	if machine == 0 {
		return nil
	}
	s, err := See(ctx, shop, machine)
	if err != nil {
		return err
	}
	o, some := s.Trend.Outlook()
	if !some {
		return nil
	}
	return shop.KeepOutlook(ctx, s.File.Machine.ID, o)
}
