package inventory

import (
	"bytes"
	"compress/gzip"
	"context"
	"io"
	"slices"
	"strconv"

	"shimwright/shim"
)

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

func zipped(page []byte) []byte {
	var out bytes.Buffer
	w := gzip.NewWriter(&out)
	_, _ = w.Write(page) // into memory: neither fails
	_ = w.Close()
	return out.Bytes()
}

func unzipped(page []byte) (text []byte, err error) {
	r, err := gzip.NewReader(bytes.NewReader(page))
	if err == nil {
		text, err = io.ReadAll(r)
	}
	if err != nil {
		return nil, Damaged("the page of a certificate", "cannot be read: "+err.Error())
	}
	return text, nil
}
