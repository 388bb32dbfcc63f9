package inventory

import (
	"context"
	"time"
)

// An Outlook is when a machine should be looked at again, as its last check made
// it likely. Meters count in Unit.
type Outlook struct {
	Job     int64     // the visit
	Made    time.Time // of that visit
	Unit    string    // km, mi or h
	Meter   float64   // at the visit
	PerDay  float64   `json:",omitempty"` // how fast the meter runs from visit to visit, 0 where not known
	Told    bool      // whether wear is known well enough for what follows
	Outside bool      `json:",omitempty"` // whether a valve is outside as it was left
	CheckBy float64   `json:",omitempty"` // the recommendation: the maker's, or earlier; 0 for none
	Maker   float64   `json:",omitempty"` // when the maker's interval is up, 0 for none
	Early   float64   `json:",omitempty"` // 1 in 20 that the first valve is outside before this
	First   float64   `json:",omitempty"` // as likely before as after
	Late    float64   `json:",omitempty"` // 19 in 20 that it is outside before this; 0 for not to be foreseen
	Due     time.Time `json:",omitzero"`  // when CheckBy is expected to be reached
}

// KeepOutlooks works out when machines should be looked at again and keeps that
// beside them, with no booking in between. It is kept until a visit changes.
func (s *Shop) KeepOutlooks(ctx context.Context, machines []int64, of func(MachineFile) (Outlook, error)) error {
	keeps := *s
	keeps.reads = false // it books nothing, it spares the next one the work
	_, err := keeps.update(ctx, func(b *booking) error {
		for _, id := range machines {
			f, err := machineFile(b, id)
			if err != nil {
				return err
			}
			o, err := of(f)
			if err != nil {
				return err
			}
			f.Machine.Outlook = &o
			if err := b.putMachine(f.Machine); err != nil {
				return err
			}
		}
		return nil
	})
	return err
}

// AddJob implements [Writer].
func (b *booking) AddJob(j Job) (int64, error) {
	id, err := b.Writer.AddJob(j)
	if err != nil {
		return id, err
	}
	return id, b.stale(j.Machine)
}

// PutJob implements [Writer].
func (b *booking) PutJob(j Job) error {
	if err := b.Writer.PutJob(j); err != nil {
		return err
	}
	return b.stale(j.Machine)
}

// stale drops what was kept of a machine's next check: one of its visits changed.
func (b *booking) stale(machine int64) error {
	if machine == 0 {
		return nil
	}
	m, err := machineAt(b, machine)
	if err != nil || m.Outlook == nil {
		return err
	}
	m.Outlook = nil
	return b.putMachine(m)
}
