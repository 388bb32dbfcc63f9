package inventory

import (
	"encoding/json"
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
