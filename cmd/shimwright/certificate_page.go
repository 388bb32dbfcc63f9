package main

import (
	"fmt"
	"io"
	"regexp"
	"slices"
	"strings"

	"shimwright/inventory"
	"shimwright/shim"
	"shimwright/shim/paper"
	"shimwright/shim/report"
)

// certificatePage prints a certificate: everything on the page is in its JSON.
func certificatePage(w io.Writer, c inventory.Certificate) error {
	u, err := shim.ParseUnit(c.Units)
	if err != nil {
		return err
	}
	size, err := shim.ParseUnit(c.ShimUnits)
	if err != nil {
		return err
	}
	page := paper.Certificate{
		Title:   fmt.Sprintf("Certificate %d, job %d, issue %d", c.Number, c.Job, c.Issue),
		Heading: fmt.Sprintf("Job %d: %s, issue %d", c.Job, c.Model.Name, c.Issue),
		Fields: []paper.Entry{
			{Label: "Shop", Value: c.Shop}, {Label: "Customer", Value: c.Customer}, {Label: "Machine", Value: c.Tag}, {Label: "Frame or engine number", Value: c.Serial},
			{Label: "Odometer or hours", Value: c.Meter}, {Label: "Came in", Value: day(c.Opened)}, {Label: "Closed", Value: day(c.Closed)},
			{Label: "Certificate", Value: fmt.Sprintf("%d, issued %s", c.Number, day(c.Issued))},
			{Label: "Limits", Value: fmt.Sprintf("engine file version %d (%.12s), %s engine", c.Model.Version, c.Model.SHA256, c.Model.State), Wide: true},
			{Label: "Remark", Value: c.Remark, Wide: true},
		},
		Sections: []report.Section{measuredSection(c), valvesSection(c, u, size)},
		Signs:    []paper.Sign{{Label: "Measured by", Name: strings.Join(measuredBy(c), ", ")}, {Label: "Checked by", Name: c.CheckedBy}, {Label: "Approved by", Name: c.ApprovedBy}},
		Cautions: c.Cautions,
		Ledger: fmt.Sprintf("Certificate %d, issue %d, made %s by %s. %s.",
			c.Number, c.Issue, when(c.Issued), c.By, ledgerText(c.Ledger)),
	}
	if c.Replaces != nil {
		page.Replaces = replacesText(c) + " " + strings.Join(changesText(c), " ")
	}
	if lines := remarks(c); len(lines) > 0 {
		page.Sections = append(page.Sections, report.Section{Heading: "To be noted", Lines: lines})
	}
	return paper.Certify(w, page)
}

func ledgerText(l inventory.LedgerMark) string {
	switch {
	case l.Row == 0:
		return "The shop's ledger was still empty"
	case l.Booking == 0:
		return fmt.Sprintf("The shop's ledger then ended with row %d, SHA-256 %s; the job moved no shim", l.Row, l.Hash)
	}
	return fmt.Sprintf("The shop's ledger then ended with row %d, SHA-256 %s; the job's last booking is %d", l.Row, l.Hash, l.Booking)
}

// measuredBy lists who measured.
func measuredBy(c inventory.Certificate) (list []string) {
	for _, check := range c.Checks {
		if !slices.Contains(list, check.By) {
			list = append(list, check.By)
		}
	}
	return list
}

// measuredSection lists the checks: when, by whom, with what.
func measuredSection(c inventory.Certificate) report.Section {
	t := &report.Table{Kind: "measured", Header: []string{"check", "when", "measured by", "gauge set", "calibrated", "due", "engine", "note"}, Right: []int{0}}
	for _, check := range c.Checks {
		set := []string{"not named", "", ""}
		if g := check.Gauge; g != nil {
			set = []string{gaugeText(inventory.Gauge{Name: g.Name, Number: g.Number}), g.Calibrated, g.Due}
			if g.OutOfDate {
				set[2] += " OUT OF DATE"
			}
		}
		engine := c.Model.State
		if at := check.Temperatures; len(at) == 1 {
			engine += ", " + at[0].String()
		} else if len(at) == 2 {
			engine += ", " + shim.Window{From: at[0], To: at[1]}.String()
		}
		t.Rows = append(t.Rows, append(append([]string{fmt.Sprint(check.Number), when(check.Time) + ", " + before(check.Kind) + " the fit", check.By}, set...), engine, check.Note))
	}
	return report.Section{Heading: "Measured", Table: t}
}

// valvesSection lists the valves in the units.
func valvesSection(c inventory.Certificate, u, size shim.Unit) report.Section {
	t := &report.Table{Kind: "certified", Header: []string{"valve", "nominal", "limits", "as found", "as left", "shim was", "shim left", "mic", "checks", "remark"}, Right: []int{1, 5, 6, 7}}
	for _, v := range c.Valves {
		limits := shim.Limits{Tight: v.Tight, Loose: v.Loose}
		found, left := certifiedReading(v.Found, u), certifiedReading(v.Left, u)
		if left == "" {
			left = "NOT MEASURED"
		}
		var checks, remark []string
		for _, r := range []*inventory.CertificateReading{v.Found, v.Left} {
			if r != nil && !slices.Contains(checks, fmt.Sprint(r.Check)) {
				checks = append(checks, fmt.Sprint(r.Check))
			}
		}
		if !v.Proven {
			remark = append(remark, "NOT PROVEN: "+v.Why)
		}
		if v.Allowance != 0 {
			remark = append(remark, "settles by "+u.Show(v.Allowance, 2, 4))
		}
		if v.Note != "" {
			remark = append(remark, v.Note)
		}
		in := ""
		if v.Stamp != nil {
			in = sizeText(*v.Stamp, size)
		}
		if v.Mark != "" {
			in = strings.TrimSpace(v.Mark + " " + in)
		}
		t.Rows = append(t.Rows, []string{v.Valve, report.Figure(u, u.FormatAtLeast(v.Nominal, map[shim.Unit]int{shim.MM: 2, shim.IN: 3}[u])), report.Limits(u, limits), found, left, certifiedSize(v.Was, size), in, certifiedSize(v.Mic, size), strings.Join(checks, ", "), strings.Join(remark, "; ")})
	}
	return report.Section{Heading: fmt.Sprintf("Valves: clearances in %s, shims in %s", unitText(u), unitText(size)), Table: t}
}

func unitText(u shim.Unit) string {
	if u == shim.IN {
		return "inches"
	}
	return u.String()
}

func certifiedSize(l *shim.Length, u shim.Unit) string {
	if l == nil {
		return ""
	}
	return sizeText(*l, u)
}

// zeros are those before the point of a figure.
var zeros = regexp.MustCompile(`(^|[^0-9.])0\.`)

// certifiedReading is a reading with its verdict where that is not ok.
func certifiedReading(r *inventory.CertificateReading, u shim.Unit) string {
	if r == nil {
		return ""
	}
	text := r.Text
	if u == shim.IN {
		text = zeros.ReplaceAllString(text, "$1.") // as on drawings
	}
	switch c := r.Clearance; {
	case c == nil:
	case r.Counts:
		text += " as " + report.Figure(u, u.Show(*c, 2, 4))
	case strings.Contains(text, "less"): // a closer's, out of its loaded gap
		text = report.Figure(u, u.Show(*c, 2, 4)) + " (" + text + ")"
	}
	if r.Is != "ok" {
		text += " " + strings.ToUpper(r.Is)
	}
	return text
}

// remarks are what stands below the table.
func remarks(c inventory.Certificate) (lines []string) {
	if len(c.Unproven) > 0 {
		lines = append(lines, "NOT PROVEN inside the limits: "+joined(c.Unproven)+".")
	}
	if c.Anyway {
		lines = append(lines, "The job was closed without proof of every valve.")
	}
	if c.Build {
		lines = append(lines, "Fresh build: set-up shims were in when it was measured first, so nothing is as found. What is as left has not settled yet: the engine file's allowance is added before it is held against the limits.")
	}
	for _, check := range c.Checks {
		if g := check.Gauge; g != nil && g.OutOfDate {
			lines = append(lines, fmt.Sprintf("CAUTION: check %d was made with gauge set %s, which was to be calibrated by %s.", check.Number, gaugeText(inventory.Gauge{Name: g.Name, Number: g.Number}), g.Due))
		}
	}
	if c.MeterNew != "" {
		lines = append(lines, "Another meter is in; the old one read "+c.MeterNew+".")
	}
	lines = append(lines, c.Notes...)
	lines = append(lines, said(labelled("Since the visit before", c.Reset), labelled("Note", c.Note)).Lines...)
	return lines
}
