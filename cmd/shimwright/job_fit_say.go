package main

import (
	"fmt"
	"strings"

	"shimwright/inventory"
	"shimwright/inventory/work"
	"shimwright/shim"
	"shimwright/shim/report"
)

// deviations say what went in otherwise than planned, and what is to be expected
// outside the limits since.
func deviations(f *work.Fitted, u shim.Unit) []string {
	var lines []string
	for _, d := range f.Departures() {
		if d.Planned == 0 {
			lines = append(lines, fmt.Sprintf("%s was not in the plan.", d.Valve))
		} else {
			lines = append(lines, fmt.Sprintf("%s: the plan said %s.", d.Valve, sizeText(d.Planned, u)))
		}
	}
	for _, x := range f.Outside() {
		limits := f.After.Engine.Spec.Train(x.Valve.Side).Limits
		if x.Clearance <= 0 {
			lines = append(lines, fmt.Sprintf("%s has no clearance with the shim that is in: do not turn the engine over; put another one in and book it with --instead.", x.Valve))
		} else {
			lines = append(lines, fmt.Sprintf("%s: expect %s now, outside %s to %s.", x.Valve, u.Show(x.Clearance, 2, 3), u.Show(limits.Tight, 2, 3), u.Show(limits.Loose, 2, 3)))
		}
	}
	return lines
}

// unreceived says which bought pieces the fit booked in, since nobody had.
func unreceived(list []inventory.Movement, u shim.Unit) []string {
	if len(list) == 0 {
		return nil
	}
	return []string{"Nobody had booked in what was bought: " + moved(list, u) + ". The fit did; do not book it in again."}
}

// exchanged is a table of what came out of the valves and what went in, with
// the pieces that were booked: used or new, and from where.
func exchanged(list []work.Exchange, u shim.Unit) *report.Table {
	t := &report.Table{Header: []string{"valve", "came out", "went in", ""}, Right: []int{1, 2}}
	for _, r := range list {
		var out, in, extra []string
		for _, c := range r.Changes {
			size := lotText(c.Lot, u)
			switch c.Kind {
			case work.Scrapped:
				extra = append(extra, size+" thrown away")
			case work.CameOut:
				out = append(out, size)
				if c.Lot.Bin != "" && !c.Passed {
					extra = append(extra, "old one to bin "+c.Lot.Bin)
				}
			case work.FromBox:
				in, extra = append(in, size), append(extra, oneText(c.Lot))
			case work.FromValve:
				in = append(in, size)
				if c.From != (shim.Valve{}) {
					extra = append(extra, "from "+c.From.String())
				}
			}
		}
		t.Rows = append(t.Rows, []string{r.Valve.String(), strings.Join(out, ", "), strings.Join(in, ", "), strings.Join(extra, ", ")})
	}
	return t
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
func elsewhere(list []inventory.Pick, u shim.Unit) []string {
	var lines []string
	for _, p := range list {
		lines = append(lines, fmt.Sprintf("For %s fetch %s now: %s.", p.Valve, lotText(p.Lot, u), pieceText(p.Lot)))
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
	var rows []string
	for _, r := range work.ForNows(f, valves) {
		rows = append(rows, fmt.Sprintf("row %d puts a temporary shim into %s, which is not booked; its own goes in with row %d", r.Row, r.Valve, r.Own))
	}
	if rows == nil {
		return err
	}
	return shim.Fail(nil, strings.Join(append(rows, shim.HintOf(err)), "; "), "%w", err)
}
