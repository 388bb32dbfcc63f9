package main

import (
	"errors"
	"fmt"
	"slices"
	"strings"

	"shimwright/inventory"
	"shimwright/inventory/work"
	"shimwright/shim"
	"shimwright/shim/report"
)

// movedFrom gives, for valves that were fitted as planned with the shim of
// another valve, that valve.
func movedFrom(f inventory.File, fit inventory.Fit) map[shim.Valve]shim.Valve {
	from := map[shim.Valve]shim.Valve{}
	for _, p := range f.Left {
		told := slices.ContainsFunc(fit.Instead, func(i inventory.Instead) bool { return i.Valve == p.Valve && i.Size != p.Size }) ||
			slices.ContainsFunc(fit.Taken, func(t inventory.Taken) bool { return t.Valve == p.Valve })
		if p.Source == inventory.Moved && !told {
			from[p.Valve] = p.From
		}
	}
	return from
}

// expected says what is to be expected where another shim came out than was
// read, or another one went in than planned, and it is outside the limits.
func expected(fit inventory.Fit, f inventory.File, u shim.Unit) []string {
	told := map[shim.Valve]bool{}
	for _, o := range f.Otherwise {
		told[o.Valve] = true
	}
	for _, i := range fit.Instead {
		told[i.Valve] = true
	}
	if f.Plan != nil {
		for _, p := range f.Plan.Placements {
			told[p.Valve] = told[p.Valve] || p.Source == inventory.Moved && told[p.From]
		}
	}
	var lines []string
	for _, x := range f.Expected {
		limits := f.Engine.Spec.Train(x.Valve.Side).Limits
		switch {
		case !told[x.Valve] || limits.Contain(x.Clearance):
		case x.Clearance <= 0:
			lines = append(lines, fmt.Sprintf("%s has no clearance with the shim that is in: do not turn the engine over; put another one in and book it with --instead.", x.Valve))
		default:
			lines = append(lines, fmt.Sprintf("%s: expect %s now, outside %s to %s.", x.Valve, u.Show(x.Clearance, 2, 3), u.Show(limits.Tight, 2, 3), u.Show(limits.Loose, 2, 3)))
		}
	}
	return lines
}

// unreceived says which bought pieces the fit booked in, since nobody had.
func unreceived(r inventory.Receipt, u shim.Unit) []string {
	var list []inventory.Movement
	for _, m := range r.Movements {
		if m.Kind == inventory.Received {
			list = append(list, m)
		}
	}
	if len(list) == 0 {
		return nil
	}
	return []string{"Nobody had booked in what was bought: " + moved(list, u) + ". The fit did; do not book it in again."}
}

// exchanged is a table of what came out of the valves and what went in, with
// the pieces that were booked: used or new, and from where.
func exchanged(list []inventory.Movement, from map[shim.Valve]shim.Valve, u shim.Unit) *report.Table {
	type row struct{ out, in, extra []string }
	rows := map[shim.Valve]*row{}
	var order []shim.Valve
	passed := passedOn(list)
	for _, m := range list {
		if m.Valve == (shim.Valve{}) || m.Kind == inventory.Corrected {
			continue
		}
		r := rows[m.Valve]
		if r == nil {
			r = &row{}
			rows[m.Valve] = r
			order = append(order, m.Valve)
		}
		size := lotText(m.Lot, u)
		donor, moved := from[m.Valve]
		moved = moved && slices.ContainsFunc(list, func(x inventory.Movement) bool { return x.Kind == inventory.Pulled && x.Valve == donor })
		switch {
		case m.Kind == inventory.Scrapped:
			r.extra = append(r.extra, size+" thrown away")
		case m.Count > 0:
			r.out = append(r.out, size)
			if m.Bin != "" && !passed[m.Lot] {
				r.extra = append(r.extra, "old one to bin "+m.Bin)
			}
		case moved:
			r.in, r.extra = append(r.in, size), append(r.extra, "from "+donor.String())
		case passed[m.Lot]:
			r.in = append(r.in, size)
		default:
			r.in, r.extra = append(r.in, size), append(r.extra, oneText(m.Lot))
		}
	}
	slices.SortFunc(order, shim.Valve.Compare)
	t := &report.Table{Header: []string{"valve", "came out", "went in", ""}, Right: []int{1, 2}}
	for _, v := range order {
		r := rows[v]
		t.Rows = append(t.Rows, []string{v.String(), strings.Join(r.out, ", "), strings.Join(r.in, ", "), strings.Join(r.extra, ", ")})
	}
	return t
}

// passedOn are the lots whose pieces only went from valve to valve: no bin saw
// them.
func passedOn(list []inventory.Movement) map[inventory.Lot]bool {
	net, in := map[inventory.Lot]int{}, map[inventory.Lot]bool{}
	for _, m := range list {
		if m.Valve != (shim.Valve{}) && (m.Kind != inventory.Corrected || m.Count < 0) {
			net[m.Lot] += m.Count
			in[m.Lot] = in[m.Lot] || m.Count > 0
		}
	}
	passed := map[inventory.Lot]bool{}
	for lot := range net {
		passed[lot] = in[lot] && net[lot] == 0
	}
	return passed
}

// pieceText says which piece of a size is meant: "used, bin A1", "new".
func pieceText(l inventory.Lot) string {
	text := "new"
	if l.Used {
		text = "used"
	}
	if l.Bin != "" {
		text += ", bin " + l.Bin
	}
	return text
}

// oneText is [pieceText] in a sentence: "used one from bin A1", "new one".
func oneText(l inventory.Lot) string {
	text := "new one"
	if l.Used {
		text = "used one"
	}
	if l.Bin != "" {
		text += " from bin " + l.Bin
	}
	return text
}

// given says which promises to jobs went over to other pieces, and which jobs
// lost a piece.
func given(r inventory.Receipt, u shim.Unit) []string {
	var lines []string
	for _, s := range r.Shifted {
		lines = append(lines, fmt.Sprintf("Job %d was promised %d × %s (%s); it now gets %s (%s).", s.Job, s.Count, sizeText(s.From.Size(), u),
			pieceText(s.From), lotText(s.To, u), pieceText(s.To)))
	}
	for _, h := range r.Released {
		lines = append(lines, fmt.Sprintf("Job %d counted on %d × %s (%s): plan it again with shimwright job plan %d.", h.Job, h.Count, sizeText(h.Size(), u), pieceText(h.Lot), h.Job))
	}
	return lines
}

// elsewhere says for which of the job's own valves another piece lies ready
// than before.
func elsewhere(before, after inventory.File, u shim.Unit) []string {
	var lines []string
	for _, p := range after.Picks {
		for _, old := range before.Picks {
			if old.Valve == p.Valve && old.ForNow == p.ForNow && old.OnHand && p.OnHand && old.Lot != p.Lot {
				lines = append(lines, fmt.Sprintf("For %s fetch %s now: %s.", p.Valve, lotText(p.Lot, u), pieceText(p.Lot)))
			}
		}
	}
	return lines
}

// lotText is a shim's size for people, its stamp as well where it was miked.
func lotText(l inventory.Lot, u shim.Unit) string {
	if l.Mic != 0 && l.Stamp != 0 && l.Mic != l.Stamp {
		return fmt.Sprintf("%s (mic %s)", sizeText(l.Stamp, u), sizeText(l.Mic, u))
	}
	return sizeText(l.Size(), u)
}

// forNow says which rows of the fitting list put a temporary shim into the
// valves: they are not booked.
func forNow(err error, f inventory.File, valves []shim.Valve) error {
	p, broken := work.PlanOf(f, f.Plan)
	if broken != nil {
		return err // the plan is older than its fitting list
	}
	var rows []string
	moves := p.Jobs[0].Moves
	for _, m := range moves {
		if !m.Temporary || !slices.Contains(valves, m.Valve) {
			continue
		}
		for _, own := range moves {
			if own.Valve == m.Valve && !own.Temporary {
				rows = append(rows, fmt.Sprintf("row %d puts a temporary shim into %s, which is not booked; its own goes in with row %d", m.Step, m.Valve, own.Step))
			}
		}
	}
	var e *inventory.Error
	if rows == nil || !errors.As(err, &e) {
		return err
	}
	return hint(err, strings.Join(append(rows, e.Hint), "; "))
}
