package main

import (
	"fmt"
	"strings"

	"shimwright/inventory"
	"shimwright/inventory/work"
	"shimwright/shim"
	"shimwright/shim/report"
)

// deviations says which shims are not the planned ones, and which valves to
// expect outside their limits.
func deviations(f *work.Fitted, u shimText) []string {
	var lines []string
	for _, d := range f.Departures() {
		if d.Planned == 0 {
			lines = append(lines, fmt.Sprintf("%s was not in the plan.", d.Valve))
		} else {
			lines = append(lines, fmt.Sprintf("%s: the plan said %s.", d.Valve, u.size(f.After.Engine.Spec.FamilyOf(d.Valve).Of(d.Planned))))
		}
	}
	for _, x := range f.Outside() {
		limits := f.After.Engine.Spec.TrainOf(x.Valve).Limits
		if x.Clearance <= 0 {
			lines = append(lines, fmt.Sprintf("%s has no clearance with this shim: do not turn the engine over.", x.Valve))
		} else {
			c := f.After.Engine.Spec.Units.Clearance
			show := func(l shim.Length) string { return c.Show(l, 2, c.Places()) }
			lines = append(lines, fmt.Sprintf("%s: expect %s, outside the limits %s to %s %s.", x.Valve, show(x.Clearance), show(limits.Tight), show(limits.Loose), c))
		}
	}
	return lines
}

// unreceived says which bought shims the fit booked in because nobody had.
func unreceived(list []inventory.Movement, u shimText) []string {
	if len(list) == 0 {
		return nil
	}
	return []string{"Booked in with the fit: " + moved(list, u) + ". Do not book it in again."}
}

// exchanged is a table of the shims taken out and put in: used or new, and from
// which bin.
func exchanged(list []work.Exchange, u shimText) *report.Table {
	t := &report.Table{Header: []string{"valve", "taken out", "put in", ""}, Right: []int{1, 2}}
	for _, r := range list {
		var out, in, extra []string
		for _, c := range r.Changes {
			size := u.lot(c.Lot)
			switch c.Kind {
			case work.Scrapped:
				extra = append(extra, size+" scrapped")
			case work.Unscrapped:
				in, extra = append(in, size), append(extra, size+" was scrapped, take it back")
			case work.CameOut:
				out = append(out, size)
				if c.Lot.Bin != "" && !c.Passed {
					extra = append(extra, "old shim to bin "+c.Lot.Bin)
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

// pieceText describes a shim: "used, bin A1", "new".
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

// oneText is [pieceText] in a sentence: "used shim from bin A1", "new shim".
func oneText(l inventory.Lot) string {
	text := "new shim"
	if l.Used {
		text = "used shim"
	}
	if l.Bin != "" {
		text += " from bin " + l.Bin
	}
	return text
}

// given says which reservations moved to other shims, and which jobs lost one.
func given(r inventory.Receipt, u shimText) []string {
	var lines []string
	for _, s := range r.Shifted {
		lines = append(lines, fmt.Sprintf("Job %d had %d × %s (%s) reserved; it now gets %s (%s).", s.Job, s.Count, u.disc(s.From.Disc()),
			pieceText(s.From), u.lot(s.To), pieceText(s.To)))
	}
	for _, h := range r.Released {
		lines = append(lines, fmt.Sprintf("Job %d lost its reserved %d × %s (%s); plan it again: shimwright job plan %d", h.Job, h.Count, u.disc(h.Disc()), pieceText(h.Lot), h.Job))
	}
	return lines
}

// elsewhere says for which valves of this job a different shim is reserved now.
func elsewhere(list []inventory.Pick, u shimText) []string {
	var lines []string
	for _, p := range list {
		lines = append(lines, fmt.Sprintf("For %s take %s instead: %s.", p.Valve, u.lot(p.Lot), pieceText(p.Lot)))
	}
	return lines
}

// forNow says which lines of the fitting list put a temporary shim into the
// valves: those are not booked.
func forNow(err error, f inventory.File, valves []shim.Valve) error {
	var rows []string
	for _, r := range work.ForNows(f, valves) {
		rows = append(rows, fmt.Sprintf("row %d puts a temporary shim into %s and is not booked; its own shim goes in at row %d", r.Row, r.Valve, r.Own))
	}
	if rows == nil {
		return err
	}
	return shim.Fail(nil, strings.Join(append(rows, shim.HintOf(err)), "; "), "%w", err)
}
