package work

import (
	"cmp"
	"slices"

	"shimwright/inventory"
	"shimwright/shim"
	"shimwright/shim/plan"
)

// Ready is a job of the shop made ready to be planned.
type Ready struct {
	basis inventory.Basis
	// Check has one measurement of each valve, in the engine's order: what its
	// reading comes to with the shim that sits in it now. See [Carry].
	Check []shim.Measurement
	// Box is what this job may draw: free pieces and those that it holds itself.
	Box []shim.BoxRow
	// Over holds the measurements that were made over another shim, as they were
	// read.
	Over map[shim.Valve]shim.Measurement
	// StandIns are valves that stand empty in the middle of the fit. Each is
	// planned as if it held a free piece of the box, which Check names and Box
	// no longer has.
	StandIns []inventory.Seat
	// Own are the valves of a fresh build that have a shim of their own.
	Own map[shim.Valve]bool
	// Unseen says that the shim of some valve is not known.
	Unseen bool
	supply *supply
	ahead  *ahead // where the plan looks ahead
}

// Prepare makes a job ready. It is [inventory.ErrInvalid] where a valve stands
// empty and was never measured, or the box has no piece that it could get, and
// where a shim that is in leaves no clearance at all.
func Prepare(basis inventory.Basis) (*Ready, error) {
	r := &Ready{basis: basis, Over: map[shim.Valve]shim.Measurement{}, Own: map[shim.Valve]bool{}}
	e := &basis.Engine.Spec
	free := map[shim.Disc]int{}
	for _, s := range basis.Free {
		free[s.Disc] = s.Free()
	}
	for _, s := range basis.Seats {
		if s.Empty && s.Temporary != 0 {
			free[e.FamilyOf(s.Valve).Of(s.Temporary)]-- // it sits there
		}
	}
	readings := map[shim.Valve]shim.Measurement{}
	for _, m := range basis.Readings {
		readings[m.Valve] = m
	}
	for _, seat := range basis.Seats {
		m, read := readings[seat.Valve]
		if !read {
			m = shim.Measurement{Valve: seat.Valve, Marks: seat.Marks}
		}
		if seat.Empty {
			family := e.FamilyOf(seat.Valve)
			if seat.Temporary != 0 {
				free[family.Of(seat.Temporary)]++
			}
			in, err := standIn(basis, m, seat.Temporary, free)
			if err != nil {
				return nil, err
			}
			free[family.Of(in.Size())]--
			r.StandIns = append(r.StandIns, in)
			seat = in
		}
		if basis.Gauge != nil && m.With == (shim.Gauge{}) && m.Reading.Kind != shim.Unread {
			m.With = e.Measures() // nobody named a set
		}
		if seat.SetUp {
			m.Marks = seat.Marks
			r.Check = append(r.Check, m)
			continue
		}
		build := basis.Job.Build
		if build {
			r.Own[seat.Valve] = true
		}
		if seat.Size() == 0 {
			r.Unseen = true
		}
		carried, fits := carry(e, m, seat.Stamp, seat.Mic, build)
		if !fits {
			return nil, shim.Fail(inventory.ErrInvalid, "fit another shim and book it, or measure first",
				"valve %s: its shim of %s mm leaves no clearance", seat.Valve, seat.Size())
		}
		if (m.Size() != 0 || build) && seat.Size() != 0 && m.Size() != seat.Size() && m.Reading.Kind != shim.Unread {
			r.Over[m.Valve] = m
		}
		r.Check = append(r.Check, carried)
	}
	r.Box = boxOf(basis, free)
	return r, nil
}

// boxOf are the free pieces, by size and by how their size is known. What stands in
// for the shim of an empty valve was taken from the used ones first.
func boxOf(basis inventory.Basis, free map[shim.Disc]int) []shim.BoxRow {
	type kind struct {
		shim.Disc
		miked, used bool
	}
	there, all := map[kind]int{}, map[shim.Disc]int{}
	for _, l := range basis.Lots {
		there[kind{l.Disc(), l.Mic != 0, l.Used && l.Mic == 0}] += l.Count
		all[l.Disc()] += l.Count
	}
	var box []shim.BoxRow
	for _, s := range basis.Free {
		gone := max(0, all[s.Disc]-free[s.Disc])
		for _, k := range []kind{{s.Disc, false, true}, {s.Disc, false, false}, {s.Disc, true, false}} {
			taken := min(gone, there[k])
			gone -= taken
			row := shim.BoxRow{Marks: shim.Marks{Stamp: s.Size}, Family: s.Family, Used: k.used, Count: there[k] - taken}
			if k.miked {
				row.Mic = s.Size
			}
			if row.Count > 0 {
				box = append(box, row)
			}
		}
	}
	return box
}

// Carry is what a measurement comes to where another shim sits in the valve
// than the one that it was made with: the stack stays (see [shim.Setting]). It
// is false where no clearance is left, or more than there can be.
func Carry(e *shim.Engine, m shim.Measurement, stamp, mic shim.Length) (shim.Measurement, bool) {
	return carry(e, m, stamp, mic, false)
}

// carry is [Carry]; in a fresh build a measurement without a size was made
// without a shim.
func carry(e *shim.Engine, m shim.Measurement, stamp, mic shim.Length, build bool) (shim.Measurement, bool) {
	with := m.Size()
	m.Stamp, m.Mic = stamp, mic
	if with == 0 && !build || m.Size() == 0 || m.Size() == with || m.Reading.Kind == shim.Unread {
		return m, true
	}
	by := e.TrainOf(m.Valve).Ratio.Of(with - m.Size())
	m.Reading = m.Reading.Shift(by)
	for _, c := range []shim.Length{m.Reading.Low, m.Reading.High, m.Reading.Second.Low, m.Reading.Second.High} {
		if shim.ImplausibleClearance(c, shim.MM) != nil {
			return m, false
		}
	}
	return m, true
}

// standIn finds the free piece that an empty valve is planned with: the temporary
// shim that the plan put there, its own size where one is free, else the one that would serve it best.
func standIn(basis inventory.Basis, m shim.Measurement, temporary shim.Length, free map[shim.Disc]int) (inventory.Seat, error) {
	none := func(why string) error {
		return shim.Fail(inventory.ErrInvalid, "fit a shim and book it: job fit --instead", "valve %s has no shim fitted and %s", m.Valve, why)
	}
	setting, known := basis.Engine.Spec.Setting(m)
	if !known {
		return inventory.Seat{}, none("no clearance was measured to size one")
	}
	family := basis.Engine.Spec.FamilyOf(m.Valve)
	var sizes []shim.Length
	for _, s := range basis.Free {
		_, fits := Carry(&basis.Engine.Spec, m, s.Size, 0)
		if s.Family == family && free[s.Disc] > 0 && fits {
			sizes = append(sizes, s.Size)
		}
	}
	if len(sizes) == 0 {
		return inventory.Seat{}, none("the box has no free shim for it")
	}
	if slices.Contains(sizes, temporary) {
		return inventory.Seat{Valve: m.Valve, Marks: shim.Marks{Stamp: temporary}}, nil // it sits there
	}
	if free[family.Of(m.Size())] > 0 {
		return inventory.Seat{Valve: m.Valve, Marks: shim.Marks{Stamp: m.Size()}}, nil
	}
	best := slices.MinFunc(sizes, func(x, y shim.Length) int {
		return cmp.Or(cmp.Compare((setting.Expect(x)-setting.Aim).Abs(), (setting.Expect(y)-setting.Aim).Abs()), cmp.Compare(x, y))
	})
	return inventory.Seat{Valve: m.Valve, Marks: shim.Marks{Stamp: best}}, nil
}

// Job is the job as package plan takes it.
func (r *Ready) Job(lift shim.Lift) plan.JobRequest {
	return plan.JobRequest{Engine: &r.basis.Engine.Spec, Check: r.Check, Lift: lift, Provisional: r.Unseen, Over: r.Over, Build: r.basis.Job.Build, Own: r.Own, CloserFirst: r.basis.CloserFirst, Gauge: r.basis.Gauge}
}
