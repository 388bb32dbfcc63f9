package inventory

import (
	"fmt"
	"slices"
	"strings"
	"time"

	"shimwright/shim"
)

// changes lists what a certificate says otherwise than this one did.
func (d CertificateData) changes(now CertificateData) (list []CertificateChange) {
	before, after := d.said(), now.said()
	value := func(side []saying, what string) (string, bool) {
		at := slices.IndexFunc(side, func(s saying) bool { return s.what == what })
		if at < 0 {
			return "", false
		}
		return side[at].text, true
	}
	for _, s := range after {
		if old, _ := value(before, s.what); old != s.text {
			list = append(list, CertificateChange{s.what, old, s.text})
		}
	}
	for _, s := range before {
		if _, still := value(after, s.what); !still && s.text != "" {
			list = append(list, CertificateChange{s.what, s.text, ""})
		}
	}
	return list
}

// A saying is one thing that a certificate says, under a name of its own.
type saying struct{ what, text string }

// said is all that a certificate says, in its order.
func (d CertificateData) said() (list []saying) {
	say := func(what string, value any) { list = append(list, saying{what, fmt.Sprint(value)}) }
	yes := map[bool]string{true: "yes"}
	say("shop", d.Shop)
	say("customer", d.Customer)
	if d.Machine != 0 {
		say("machine", d.Machine)
	}
	say("tag", d.Tag)
	say("frame or engine number", d.Serial)
	say("meter", d.Meter)
	say("meter before", d.MeterNew)
	say("reset", d.Reset)
	say("opened", d.Opened.Format(time.RFC3339))
	say("closed", d.Closed.Format(time.RFC3339))
	say("closed without proof", yes[d.Anyway])
	say("fresh build", yes[d.Build])
	say("model", d.Model.Name)
	say("limits", fmt.Sprintf("version %d, %s, %.12s", d.Model.Version, d.Model.State, d.Model.SHA256))
	say("units", d.Units)
	say("units of shims", d.ShimUnits)
	for _, c := range d.Checks {
		of := fmt.Sprintf("check %d: ", c.Number)
		say(of+"made", fmt.Sprintf("%s the fit, %s", c.Kind, c.Time.Format(time.RFC3339)))
		say(of+"measured by", c.By)
		say(of+"note", c.Note)
		say(of+"temperature", words(c.Temperatures))
		if g := c.Gauge; g != nil {
			say(of+"gauge set", g.Name)
			say(of+"gauge number", g.Number)
			say(of+"calibrated", g.Calibrated)
			say(of+"calibration due", g.Due)
			say(of+"gauge set out of date", yes[g.OutOfDate])
		}
	}
	for _, v := range d.Valves {
		of := v.Valve + ": "
		say(of+"nominal", v.Nominal)
		say(of+"limits", v.Tight.String()+"-"+v.Loose.String())
		say(of+"allowance", v.Allowance)
		say(of+"found", v.Found)
		say(of+"left", v.Left)
		say(of+"shim before", length(v.Was))
		say(of+"shim", strings.Trim(length(v.Stamp)+"/"+length(v.Mic), "/"))
		say(of+"mark", v.Mark)
		say(of+"shim changed", yes[v.Changed])
		say(of+"not proven", yes[!v.Proven]+v.Why)
		say(of+"note", v.Note)
	}
	say("not proven", strings.Join(d.Unproven, "; "))
	say("cautions", strings.Join(d.Notes, " "))
	say("note", d.Note)
	say("remark", d.Remark)
	say("checked by", d.CheckedBy)
	say("approved by", d.ApprovedBy)
	return list
}

// String is the reading with where it is from.
func (r *CertificateReading) String() string {
	if r == nil {
		return ""
	}
	text := fmt.Sprintf("%s %s, check %d", r.Text, r.Is, r.Check)
	if r.Temperature != 0 {
		text += ", " + r.Temperature.String()
	}
	if r.Counts {
		text += ", counts as " + length(r.Clearance)
	}
	return text
}

func words[T fmt.Stringer](list []T) string {
	var texts []string
	for _, x := range list {
		texts = append(texts, x.String())
	}
	return strings.Join(texts, " to ")
}

func length(l *shim.Length) string {
	if l == nil {
		return ""
	}
	return l.String()
}
