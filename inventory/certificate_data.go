package inventory

import (
	"crypto/sha256"
	"encoding/hex"
	"slices"
	"strconv"
	"strings"
	"time"

	"shimwright/shim"
)

// certified writes what is known of a job into its certificate.
func (w *work) certified(r Reader, d *CertificateData, how Issuing) error {
	e := &w.engine.Spec
	switch {
	case w.State == StateCancelled:
		return shim.Fail(ErrState, "", "job %d is cancelled and gets no certificate", w.ID)
	case w.State != StateClosed:
		return shim.Fail(ErrState, "close it first: shimwright job close "+strconv.FormatInt(w.ID, 10), "job %d is %s: only a closed job gets a certificate", w.ID, w.State)
	}
	for _, t := range []struct{ asked, is *string }{{how.Shop, &d.Shop}, {how.Remark, &d.Remark}, {how.CheckedBy, &d.CheckedBy}, {how.ApprovedBy, &d.ApprovedBy}} {
		if t.asked != nil {
			*t.is = strings.TrimSpace(*t.asked)
		}
	}
	d.Customer, d.Serial, d.Machine = "", "", 0
	if w.Machine != 0 {
		m, err := standing(r, w.Machine)
		if err != nil {
			return err
		}
		d.Customer, d.Serial, d.Machine = m.Owner, m.Number, m.ID
	}
	d.Tag, d.Meter, d.MeterNew, d.Reset, d.Note = w.Tag, w.Meter, w.MeterNew, w.Reset, w.Note
	d.Opened, d.Closed, d.Anyway, d.Build = w.Opened, w.Changed, w.Anyway, w.Build
	d.Units, d.ShimUnits = e.Units.Clearance.String(), e.Units.Size.String()
	sum := sha256.Sum256(w.engine.Data)
	d.Model = CertificateModel{Name: e.Name, SHA256: hex.EncodeToString(sum[:]), State: e.State.String()}
	all, err := r.Engines(Page{})
	if err != nil {
		return err
	}
	for _, known := range Versions(all, e.Name) {
		if known.Spec.State == e.State && known.ID <= w.engine.ID {
			d.Model.Version++
		}
	}
	d.Unproven = append([]string{}, w.unproven()...)
	used, read := w.certifyValves(d)
	if len(read) == 0 {
		return shim.Fail(ErrState, "measure in a new job: shimwright job open", "job %d has no readings, so there is nothing to certify", w.ID)
	}
	changed, measured := 0, 0
	for _, v := range d.Valves {
		if v.Changed {
			changed++
			if v.Left != nil {
				measured++
			}
		}
	}
	if changed > 0 && measured == 0 && !how.Unmeasured {
		return shim.Fail(ErrState, "measure the valves in a new job of this machine and certify that one; or, if there is good reason, add --anyway: the valves then stand as not measured",
			"job %d was closed without a recheck: no valve was measured since its shim was changed", w.ID)
	}
	w.certifyChecks(d, used)
	d.Notes = []string{}
	if how.Warmth != nil {
		d.Notes = append(d.Notes, how.Warmth(e, read)...)
	}
	return nil
}

// certifyValves writes the valves. Used are the checks that the readings are from,
// read the readings.
func (w *work) certifyValves(d *CertificateData) (used []Check, read []shim.Measurement) {
	e := &w.engine.Spec
	found, foundIn := w.latestOf(CheckBefore)
	last, lastIn := w.latest()
	reading := func(m shim.Measurement, from Check, limits shim.Limits) *CertificateReading {
		from = w.original(from, m.Valve)
		if !slices.ContainsFunc(used, func(c Check) bool { return c.Number == from.Number }) {
			used = append(used, from)
		}
		read = append(read, m)
		c := &CertificateReading{Text: m.Reading.Format(e.Units.Clearance), Is: isText(limits, m.Reading), Counts: m.Reading.Converted(), Check: from.Number, Temperature: m.Temperature}
		if l, number := m.Reading.Estimate(); number {
			c.Clearance = &l
		}
		return c
	}
	d.Valves = []CertificateValve{}
	for _, valve := range e.Valves() {
		t := e.TrainOf(valve)
		seat := w.seated(valve)
		v := CertificateValve{Valve: valve.String(), Nominal: t.Aim(), Tight: t.Limits.Tight, Loose: t.Limits.Loose, Proven: true,
			Stamp: known(seat.Stamp), Mic: known(seat.Mic), Mark: e.Mark(e.FamilyOf(valve).Of(seat.Stamp))}
		if w.Build {
			v.Allowance = t.Allowance.By
		}
		if m, was := found[valve]; was && !w.Build {
			v.Found, v.Was, v.Note = reading(m, foundIn[valve], t.Limits), known(m.Size()), m.Note
			v.Changed = other(m.Marks, seat.Marks)
		}
		v.Changed = v.Changed || w.fittedBetween(valve, foundIn[valve].Seq, forever)
		if m, is := last[valve]; is && !seat.SetUp && !w.fittedBetween(valve, lastIn[valve].Seq, forever) {
			v.Left = reading(m, lastIn[valve], w.limits(valve))
			if m.Note != "" && m.Note != v.Note {
				v.Note = strings.TrimPrefix(v.Note+"; "+m.Note, "; ")
			}
		}
		for _, why := range d.Unproven {
			if rest, of := strings.CutPrefix(why, v.Valve+" "); of {
				v.Proven, v.Why = false, rest
			}
		}
		d.Valves = append(d.Valves, v)
	}
	return used, read
}

// isText is what a reading says of the limits. A leaf that does not go, or falls
// through, is enough where it leaves nothing inside.
func isText(l shim.Limits, r shim.Reading) string {
	switch verdict := l.Judge(r); {
	case verdict == shim.OK && l.Undecided(r):
		return "undecided"
	case verdict != shim.Unmeasured:
		return verdict.String()
	case !l.Outside(r):
		return "no number"
	case r.Kind == shim.Below:
		return shim.Tight.String()
	}
	return shim.Loose.String()
}

// certifyChecks writes the checks that readings are from, in their order.
func (w *work) certifyChecks(d *CertificateData, used []Check) {
	slices.SortFunc(used, func(a, b Check) int { return a.Number - b.Number })
	d.Checks = []CertificateCheck{}
	for _, c := range used {
		row := CertificateCheck{Number: c.Number, Kind: c.Kind, Time: c.Time, By: c.Who, Note: c.Note, Temperatures: []shim.Temperature{}}
		var at []shim.Temperature
		for _, m := range c.Readings {
			if m.Temperature != 0 {
				at = append(at, m.Temperature)
			}
		}
		if len(at) > 0 {
			row.Temperatures = slices.Compact([]shim.Temperature{slices.Min(at), slices.Max(at)})
		}
		if g := c.Gauge; g.ID != 0 {
			row.Gauge = &CertificateGauge{g.Name, g.Number, dateText(g.Calibrated), dateText(g.Due), g.OutOfDate(c.Time)}
		}
		d.Checks = append(d.Checks, row)
	}
}

func known(l shim.Length) *shim.Length {
	if l == 0 {
		return nil
	}
	return &l
}

// dateText is a day that is kept as one, nothing where it is not known.
func dateText(t time.Time) string {
	if t.IsZero() {
		return ""
	}
	return t.Format(time.DateOnly)
}
