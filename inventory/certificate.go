package inventory

import (
	"bytes"
	"compress/gzip"
	"context"
	"crypto/sha256"
	"encoding/hex"
	"encoding/json"
	"io"
	"slices"
	"strconv"
	"strings"
	"time"

	"shimwright/shim"
)

// A Certificate says how a job's valves were found and left. Its JSON is a contract
// (docs/certificate.md): what is given out of the shop, and what goes along with a
// machine. A correction is a new issue; the one before stays as it was.
type Certificate struct {
	Number   int64               `json:"certificate"` // the same in all its issues
	Job      int64               `json:"job"`
	Issue    int                 `json:"issue"` // 1, 2, 3, … of the job
	Issued   time.Time           `json:"issued"`
	By       string              `json:"issued_by"`
	Replaces *ReplacedIssue      `json:"replaces,omitempty"`
	Changes  []CertificateChange `json:"changes,omitempty"` // since the issue that it replaces
	CertificateData
	Ledger   LedgerMark `json:"ledger"`
	Cautions []string   `json:"cautions"`

	key string // of the command that made it
}

// A ReplacedIssue is the one that a certificate comes in the place of.
type ReplacedIssue struct {
	Issue  int       `json:"issue"`
	Issued time.Time `json:"issued"`
}

// A CertificateChange is something that a certificate says otherwise than the issue
// before.
type CertificateChange struct {
	What string `json:"what"`
	Old  string `json:"old"`
	New  string `json:"new"`
}

// A LedgerMark is the ledger's end when a certificate was made, and the job's last
// booking in it.
type LedgerMark struct {
	Booking int64  `json:"booking"` // 0 where the job moved no piece
	Row     int64  `json:"row"`
	Hash    string `json:"hash"`
}

// CertificateTexts are what a certificate says that the record does not know; nil is
// what the issue before said.
type CertificateTexts struct {
	Shop, Remark, CheckedBy, ApprovedBy *string
}

// CertificateData is what a certificate says. Where any of it changes, another issue
// is due.
type CertificateData struct {
	Shop       string             `json:"shop"` // as it calls itself
	Customer   string             `json:"customer"`
	Machine    int64              `json:"machine"`
	Tag        string             `json:"tag"`
	Serial     string             `json:"number"` // of the frame or engine
	Meter      string             `json:"meter"`
	MeterNew   string             `json:"meter_before,omitempty"`
	Reset      string             `json:"reset,omitempty"`
	Opened     time.Time          `json:"opened"`
	Closed     time.Time          `json:"closed"`
	Anyway     bool               `json:"closed_anyway"`
	Build      bool               `json:"build"`
	Model      CertificateModel   `json:"model"`
	Units      string             `json:"units"`      // of readings and limits, as printed
	ShimUnits  string             `json:"shim_units"` // of shims, as printed
	Checks     []CertificateCheck `json:"checks"`     // that the readings are from
	Valves     []CertificateValve `json:"valves"`
	Unproven   []string           `json:"not_proven"`
	Notes      []string           `json:"notes"` // of temperature and gauge sets
	Note       string             `json:"note"`  // the job's
	Remark     string             `json:"remark"`
	CheckedBy  string             `json:"checked_by"`
	ApprovedBy string             `json:"approved_by"`
}

// A CertificateModel is where the limits come from.
type CertificateModel struct {
	Name    string `json:"name"`
	Version int    `json:"version"` // among the engine files of that name and state
	SHA256  string `json:"sha256"`  // of what the shop read from it
	State   string `json:"state"`   // of the engine, that the limits are for
}

// A CertificateCheck is a round of measuring.
type CertificateCheck struct {
	Number       int                `json:"number"`
	Kind         CheckKind          `json:"kind"`
	Time         time.Time          `json:"time"`
	By           string             `json:"measured_by"`
	Note         string             `json:"note"`
	Temperatures []shim.Temperature `json:"temperatures_c"` // lowest and highest of those that are told
	Gauge        *CertificateGauge  `json:"gauge_set"`      // as it was then
}

// A CertificateGauge is a gauge set as it was when it was used.
type CertificateGauge struct {
	Name       string `json:"name"`
	Number     string `json:"number"`
	Calibrated string `json:"calibrated"`
	Due        string `json:"due"`
	OutOfDate  bool   `json:"out_of_date"`
}

// A CertificateValve is one valve.
type CertificateValve struct {
	Valve   string      `json:"valve"`
	Nominal shim.Length `json:"nominal_mm"` // the aim: the middle where the engine file has no other
	Tight   shim.Length `json:"tight_mm"`
	Loose   shim.Length `json:"loose_mm"`
	// Allowance is added to what is as left in a fresh build before it is held against the
	// limits: by so much it is expected to settle.
	Allowance shim.Length `json:"allowance_mm,omitempty"`

	Found *CertificateReading `json:"found"` // nil where it was not measured, and in a fresh build
	Left  *CertificateReading `json:"left"`  // nil where it was not measured since its shim was changed

	Was     *shim.Length `json:"was_mm"` // the shim as found
	Stamp   *shim.Length `json:"stamp_mm"`
	Mic     *shim.Length `json:"mic_mm"`
	Mark    string       `json:"mark"` // of the shim left, where the engine's shims have marks that are no sizes
	Changed bool         `json:"changed"`
	Proven  bool         `json:"proven"` // measured inside its limits after its last change
	Why     string       `json:"why_not,omitempty"`
	Note    string       `json:"note"`
}

// A CertificateReading is a reading with the check that it is from.
type CertificateReading struct {
	Text        string           `json:"reading"` // as it was read, in the certificate's units
	Clearance   *shim.Length     `json:"clearance_mm"`
	Is          string           `json:"is"`        // ok, tight, loose, undecided or no number
	Counts      bool             `json:"converted"` // whether clearance_mm is that at another temperature, by the maker's table
	Check       int              `json:"check"`
	Temperature shim.Temperature `json:"temperature_c,omitempty"`
}

// A keptCertificate is the content of a certificate's record.
type keptCertificate struct {
	Certificate Certificate
	Key         string
	Page        []byte // as it was printed, by gzip
}

func certificate(r Record) (c Certificate, page []byte, err error) {
	var kept keptCertificate
	if err := r.read(&kept); err != nil {
		return c, nil, err
	}
	c = kept.Certificate
	c.key = kept.Key
	return c, kept.Page, nil
}

func certificatesOf(r Reader, job int64) (list []Certificate, pages [][]byte, err error) {
	rows, err := r.Records(RecordFilter{Kind: Certificates, Of: job})
	for _, row := range rows {
		c, page, err := certificate(row)
		if err != nil {
			return nil, nil, err
		}
		list, pages = append(list, c), append(pages, page)
	}
	return list, pages, err
}

// Issues are the issues of a visit's certificate, of another shop's visit as far as
// they can be read.
func (v Visit) Issues() []Certificate {
	if v.Imported == nil {
		return v.Certificates
	}
	var list []Certificate
	for _, text := range v.Imported.Certificates {
		var c Certificate
		if json.Unmarshal(text, &c) == nil && c.Issue > 0 {
			list = append(list, c)
		}
	}
	return list
}

// A Printed is an issue of a job's certificate with its page, byte for byte as it was
// printed first.
type Printed struct {
	Certificate
	Page []byte
	Made bool // whether it was made now
	Last int  // the newest issue of the job
}

// Printed gives an issue of a job's certificate: 0 is the one that was made under the
// key, the newest one where there is none.
func (s *Shop) Printed(ctx context.Context, job int64, issue int, key string) (p Printed, err error) {
	err = s.store.View(ctx, func(r Reader) error {
		list, pages, err := certificatesOf(r, job)
		if err != nil {
			return err
		}
		at := len(list) - 1
		switch {
		case issue > 0:
			at = slices.IndexFunc(list, func(c Certificate) bool { return c.Issue == issue })
		case key != "":
			if made := slices.IndexFunc(list, func(c Certificate) bool { return c.key == key }); made >= 0 {
				at = made
			}
		}
		switch {
		case len(list) == 0:
			return shim.Fail(ErrUnknown, "leave --issue out to make one", "job %d has no certificate", job)
		case at < 0:
			return shim.Fail(ErrUnknown, "", "the certificate of job %d has issues 1 to %d, not %d", job, len(list), issue)
		}
		p = Printed{Certificate: list[at], Last: len(list)}
		p.Page, err = unzipped(pages[at])
		return err
	})
	return p, err
}

// An Issuing says how a certificate is made.
type Issuing struct {
	CertificateTexts
	// Unmeasured lets a job have one of which no valve was measured since its shim was changed.
	Unmeasured bool
	// Warmth words what is to be said of temperatures.
	Warmth func(*shim.Engine, []shim.Measurement) []string
	// Page prints it.
	Page func(Certificate) ([]byte, error)
}

// Issue gives a job's certificate. Where it says what the newest issue says, that is
// given again; else a new one is made, which replaces it.
func (s *Shop) Issue(ctx context.Context, job int64, how Issuing) (p Printed, err error) {
	for name, text := range map[string]*string{"shop's name": how.Shop, "remark": how.Remark, "name of who checked": how.CheckedBy, "name of who approved": how.ApprovedBy} {
		if text == nil {
			continue
		}
		if err := validText(name, *text); err != nil {
			return p, err
		}
	}
	same := false
	err = s.store.View(ctx, func(r Reader) error {
		_, old, _, err := how.data(r, job)
		same = err == nil && len(old.Changes) == 0 && old.Issue > 0
		return err
	})
	if err != nil {
		return p, err
	}
	if same {
		return s.Printed(ctx, job, 0, "")
	}
	_, err = s.update(ctx, func(b *booking) error {
		w, c, last, err := how.data(b, job)
		if err != nil {
			return err
		}
		if last > 0 && len(c.Changes) == 0 { // by somebody else, just now
			p, err = Printed{Certificate: c, Last: last}, nil
			return nil
		}
		c.Issue, c.Job, c.Issued, c.By = last+1, job, b.at, s.who
		if c.Number == 0 {
			t, err := b.Tally(Group{What: Certificates})
			if err != nil {
				return err
			}
			c.Number = t.Count + 1 // its record's
		}
		c.Ledger = LedgerMark{Row: b.last.Seq, Hash: b.last.Hash.String()}
		for _, m := range w.moves {
			c.Ledger.Booking = max(c.Ledger.Booking, m.Batch)
		}
		c.Cautions, _ = shim.CautionsFor(&w.engine.Spec)
		page, err := how.Page(c)
		if err != nil {
			return err
		}
		kept := keptCertificate{Certificate: c, Page: zipped(page)}
		if s.command != nil {
			kept.Key = s.command.Key
		}
		row, err := record(Certificates, 0, strconv.FormatInt(job, 10)+"/"+strconv.Itoa(c.Issue), job, kept)
		if err != nil {
			return err
		}
		if _, err := b.AddRecord(row); err != nil {
			return err
		}
		p = Printed{Certificate: c, Page: page, Made: true, Last: c.Issue}
		return nil
	})
	if err == nil && !p.Made {
		return s.Printed(ctx, job, p.Last, "")
	}
	return p, err
}

// data is what a job's certificate is to say now, with what that changes of the last
// issue.
func (how Issuing) data(r Reader, job int64) (*work, Certificate, int, error) {
	w, err := load(r, job)
	if err != nil {
		return nil, Certificate{}, 0, err
	}
	list, _, err := certificatesOf(r, job)
	if err != nil {
		return nil, Certificate{}, 0, err
	}
	c := Certificate{}
	if n := len(list); n > 0 {
		c.CertificateData = list[n-1].CertificateData // its texts
	}
	if err := w.certified(r, &c.CertificateData, how); err != nil {
		return nil, c, 0, err
	}
	if n := len(list); n > 0 {
		last := list[n-1]
		c.Changes = last.CertificateData.changes(c.CertificateData)
		c.Number, c.Issue, c.Replaces = last.Number, last.Issue, &ReplacedIssue{last.Issue, last.Issued}
	}
	return w, c, len(list), nil
}

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
		m, err := machineAt(r, w.Machine)
		if err != nil {
			return err
		}
		if m, err = standing(r, m); err != nil {
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

func zipped(page []byte) []byte {
	var out bytes.Buffer
	w := gzip.NewWriter(&out)
	_, _ = w.Write(page) // into memory: neither fails
	_ = w.Close()
	return out.Bytes()
}

func unzipped(page []byte) ([]byte, error) {
	r, err := gzip.NewReader(bytes.NewReader(page))
	if err != nil {
		return nil, Damaged("the page of a certificate", "cannot be read: "+err.Error())
	}
	text, err := io.ReadAll(r)
	if err != nil {
		return nil, Damaged("the page of a certificate", "cannot be read: "+err.Error())
	}
	return text, nil
}
