package work

import (
	"context"
	"errors"
	"slices"

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
	Found, Left shim.Reading
	Shim        shim.Marks  // in it now
	Stack       shim.Length // clearance and shim, where Stacked
	Stacked     bool
	Moved       shim.Length // of the stack since the visit before in the same state, where HasMoved
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
			row.Found = m.Reading
		}
		if m, read := of(last.Left, valve); read {
			row.Left = m.Reading
		}
		for _, seat := range last.Seats {
			if seat.Valve == valve {
				row.Shim = seat.Marks
			}
		}
		row.Stack, row.Stacked = stack(last, valve)
		if before := comparable(visits[:len(visits)-1], e.State); before != nil {
			before, known := stack(before, valve)
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

// Foreseen lists the machines with what is kept of their next check. Where nothing
// is, it is worked out and kept; long is told beforehand for how many machines.
func Foreseen(ctx context.Context, shop *inventory.Shop, long func(machines int)) ([]inventory.Machine, error) {
	all, err := shop.Machines(ctx, "")
	if err != nil {
		return nil, err
	}
	var missing []int64
	for _, m := range all {
		if m.Outlook == nil {
			missing = append(missing, m.ID)
		}
	}
	if len(missing) == 0 {
		return all, nil
	}
	long(len(missing))
	const together = 20 // short enough for others to book in between
	for some := range slices.Chunk(missing, together) {
		err := KeepOutlook(ctx, shop, some...)
		if errors.Is(err, inventory.ErrReadOnly) {
			return all, outlooks(ctx, shop, all)
		}
		if err != nil {
			return nil, err
		}
	}
	return shop.Machines(ctx, "")
}

// outlooks works out what is not kept, in a shop that cannot be written to.
func outlooks(ctx context.Context, shop *inventory.Shop, all []inventory.Machine) error {
	for i := range all {
		if all[i].Outlook != nil {
			continue
		}
		file, err := shop.Machine(ctx, all[i].ID)
		if err != nil {
			return err
		}
		o, err := outlookOf(file)
		if err != nil {
			return err
		}
		all[i].Outlook = &o
	}
	return nil
}

// KeepOutlook works out when machines should be looked at again and keeps that
// beside them; 0 is none.
func KeepOutlook(ctx context.Context, shop *inventory.Shop, machines ...int64) error {
	machines = slices.DeleteFunc(slices.Clone(machines), func(id int64) bool { return id == 0 })
	if len(machines) == 0 {
		return nil
	}
	return shop.KeepOutlooks(ctx, machines, outlookOf)
}

func outlookOf(file inventory.MachineFile) (inventory.Outlook, error) {
	t, err := TrendOf(file)
	if err != nil {
		return inventory.Outlook{}, err
	}
	o, _ := t.Outlook()
	return o, nil
}
