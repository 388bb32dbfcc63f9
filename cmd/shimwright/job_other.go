package main

import (
	"fmt"
	"slices"

	"shimwright/inventory"
	"shimwright/shim"
)

// rounds is how far two figures of one size may be apart, in mm and in inches.
const rounds = 5 * shim.Micrometre

// refines is how far a micrometer reading alone may be from the size on record and
// still be of the same shim: half the commonest step between sizes.
const refines = 25 * shim.Micrometre

// otherShims asks about shims that are not those the record has in their valves: a
// slip when they were read, or another shim put in that nobody has booked. Set-up
// shims come and go without a booking, and what a fresh build fitted is refused later.
func (a *app) otherShims(f inventory.File, command string, list []shim.Measurement, yes bool) error {
	e := &f.Engine.Spec
	var asks []doubtful
	for _, m := range list {
		i := slices.IndexFunc(f.Seats, func(s inventory.Seat) bool { return s.Valve == m.Valve })
		if i < 0 || f.Job.Build || f.Seats[i].Empty || !isOther(f.Seats[i].Marks, m.Marks) {
			continue
		}
		shown := func(m shim.Marks) string {
			return ofEngine(e).lot(inventory.Lot{Family: e.FamilyOf(f.Seats[i].Valve), Marks: m})
		}
		was, is, plain := shown(f.Seats[i].Marks), shown(m.Marks), e.Units.Size.FormatAtLeast(m.Size(), 3)
		booked := fmt.Sprintf("if another shim was put in since, book it first: shimwright job fit %d %[2]s --instead %[2]s=%[3]s; then shimwright job %[4]s %[1]d %[2]s=CLEARANCE",
			f.Job.ID, m.Valve, plain, command)
		d := doubtful{fmt.Sprintf("%s: the record has %s in it, this says %s", m.Valve, was, is),
			fmt.Sprintf("if %s was misread and %s was in all the time, add --yes; %s", was, is, booked)}
		if slices.ContainsFunc(f.Standing, func(o inventory.Movement) bool { return o.Valve == m.Valve && o.Kind == inventory.KindFitted }) {
			d.message = fmt.Sprintf("%s: %s is booked as fitted, this says %s", m.Valve, was, is)
			d.way = fmt.Sprintf("if another piece was fitted than booked: shimwright job correct %d %s=%s; %s; --yes takes %s without moving a piece of the box",
				f.Job.ID, m.Valve, plain, booked, is)
		}
		asks = append(asks, d)
	}
	return a.confirm(asks, yes)
}

// isOther reports whether a shim as read now cannot be the one on record: another
// mark, or a micrometer reading too far off.
func isOther(was, is shim.Marks) bool {
	switch {
	case was.Size() == 0 || is.Size() == 0 || (was.Size()-is.Size()).Abs() <= rounds:
		return false
	case was.Stamp != 0 && is.Stamp != 0:
		return (was.Stamp - is.Stamp).Abs() > rounds
	}
	return (was.Size() - is.Size()).Abs() > refines
}
