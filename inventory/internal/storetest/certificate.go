package storetest

import (
	"encoding/json"
	"fmt"
	"sync"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"shimwright/inventory"
	"shimwright/shim"
)

var certificateTests = map[string]func(*testing.T, inventory.Store){
	"at once":         certificateAtOnce,
	"issues":          certificateIssues,
	"what it says":    certificateSays,
	"when there is":   certificateRefused,
	"at a correction": certificateCarried,
}

// paged prints a certificate as its JSON, and counts how often.
func paged(n *int) inventory.Issuing {
	return inventory.Issuing{Page: func(c inventory.Certificate) ([]byte, error) {
		*n++
		return json.Marshal(c)
	}}
}

// recheckedJob is a job whose in1a got another shim, with all read after the fit.
func recheckedJob(t *testing.T, b *bench) int64 {
	b.receive(piece("2.35", "A1", true))
	job := b.measured(map[string][2]string{"in1a": {"0.1", "2.425"}})
	require.NoError(t, b.plan(job, drawn("in1a", "2.35")))
	b.fit(job, inventory.Fit{})
	_, err := b.Read(ctx, job, []shim.Measurement{{Valve: v("in1a"), Reading: shim.ReadingOf(mm("0.175"))}}, "")
	require.NoError(t, err)
	return job
}

func certificateIssues(t *testing.T, s inventory.Store) {
	b := newBench(t, s)
	job := recheckedJob(t, b)
	require.NoError(t, b.Close(ctx, job, true))
	printed := 0
	first, err := b.Issue(ctx, job, paged(&printed))
	require.NoError(t, err)
	assert.True(t, first.Made)
	assert.Equal(t, [3]int{1, 1, 1}, [3]int{int(first.Number), first.Issue, printed})
	assert.Nil(t, first.Replaces)
	b.receive(piece("2.5", "A1", true)) // the ledger goes on
	again, err := b.Issue(ctx, job, paged(&printed))
	require.NoError(t, err)
	assert.False(t, again.Made)
	assert.Equal(t, first.Page, again.Page, "the same, byte for byte")
	assert.Equal(t, first.Certificate, again.Certificate)
	assert.Equal(t, 1, printed)

	remark, checked := "seals new", "B. Example"
	how := paged(&printed)
	how.Remark, how.CheckedBy = &remark, &checked
	second, err := b.Issue(ctx, job, how)
	require.NoError(t, err)
	assert.Equal(t, &inventory.ReplacedIssue{Issue: 1, Issued: first.Issued}, second.Replaces)
	assert.Equal(t, []inventory.CertificateChange{{What: "remark", New: remark}, {What: "checked by", New: checked}}, second.Changes)
	assert.Equal(t, first.Number, second.Number, "one certificate")
	_, err = b.EditJob(ctx, job, map[inventory.Field]string{inventory.MeterField: "24,310 km"}, nil)
	require.NoError(t, err)
	third, err := b.Issue(ctx, job, paged(&printed))
	require.NoError(t, err)
	assert.Equal(t, []inventory.CertificateChange{{What: "meter", Old: "18200 km", New: "24,310 km"}}, third.Changes)
	assert.Equal(t, remark, third.Remark, "texts stay")
	for issue, want := range []inventory.Printed{first, second, third} {
		got, err := b.Printed(ctx, job, issue+1, "")
		require.NoError(t, err)
		assert.Equal(t, want.Page, got.Page)
		assert.Equal(t, 3, got.Last)
	}
	_, err = b.Printed(ctx, job, 4, "")
	require.ErrorIs(t, err, inventory.ErrUnknown)
	assert.Len(t, b.file(job).Certificates, 3)
	failing := paged(&printed)
	failing.Page = func(inventory.Certificate) ([]byte, error) { return nil, fmt.Errorf("no ink") }
	other := "other"
	failing.Remark = &other
	_, err = b.Issue(ctx, job, failing)
	require.ErrorContains(t, err, "no ink")
	assert.Len(t, b.file(job).Certificates, 3, "nothing is half made")

	another := recheckedJob(t, b)
	require.NoError(t, b.Close(ctx, another, true))
	next, err := b.Issue(ctx, another, paged(&printed))
	require.NoError(t, err)
	assert.Equal(t, [2]int{4, 1}, [2]int{int(next.Number), next.Issue}, "a number of its own")
	b.sound()
}

// certificateAtOnce: of several who ask for the same at once one makes it, and all
// get that.
func certificateAtOnce(t *testing.T, s inventory.Store) {
	b := newBench(t, s)
	job := recheckedJob(t, b)
	require.NoError(t, b.Close(ctx, job, true))
	var got [6]inventory.Printed
	var errs [6]error
	var all sync.WaitGroup
	for i := range got {
		all.Go(func() {
			n := 0
			got[i], errs[i] = b.Issue(ctx, job, paged(&n))
		})
	}
	all.Wait()
	made := 0
	for i, p := range got {
		require.NoError(t, errs[i])
		assert.Equal(t, got[0].Page, p.Page)
		if p.Made {
			made++
		}
	}
	assert.Equal(t, 1, made)
	assert.Len(t, b.file(job).Certificates, 1)
	b.sound()
}

func certificateSays(t *testing.T, s inventory.Store) {
	b := newBench(t, s)
	set, err := b.PutGauge(ctx, inventory.Gauge{Name: "a", Number: "7", Spec: fineSet, Calibrated: date("2025-01-11"), Due: date("2026-01-10")})
	require.NoError(t, err)
	b.receive(piece("2.35", "A1", true))
	job := b.measured(map[string][2]string{"in1a": {"0.1", "2.425"}})
	require.NoError(t, b.plan(job, drawn("in1a", "2.35")))
	b.fit(job, inventory.Fit{})
	_, err = b.ReadWith(ctx, job, []shim.Measurement{{Valve: v("in1a"), Reading: shim.ReadingOf(mm("0.175")), Temperature: 294_150}}, "after", set.ID)
	require.NoError(t, err)
	_, err = b.ReadWith(ctx, job, []shim.Measurement{
		{Valve: v("in1b"), Reading: shim.ReadingOf(mm("0.175")), Marks: shim.Marks{Stamp: mm("2.4"), Mic: mm("2.396")}},
		{Valve: v("ex1a"), Reading: shim.Reading{Kind: shim.Below, High: mm("0.1")}},
	}, "", 0)
	require.NoError(t, err)
	require.NoError(t, b.Close(ctx, job, true))
	n := 0
	p, err := b.Issue(ctx, job, paged(&n))
	require.NoError(t, err)
	for _, valve := range p.Valves {
		switch valve.Valve {
		case "in1b":
			assert.False(t, valve.Changed, "the same shim, measured since")
			assert.Equal(t, mm("2.396"), *valve.Mic)
		case "ex1a":
			assert.Equal(t, "tight", valve.Left.Is, "that leaf proves it")
			assert.Nil(t, valve.Left.Clearance)
			assert.False(t, valve.Proven)
		}
	}
	var in1a inventory.CertificateValve
	for _, valve := range p.Valves {
		if valve.Valve == "in1a" {
			in1a = valve
		}
	}
	size := func(text string) *shim.Length { l := mm(text); return &l }
	assert.Equal(t, inventory.CertificateValve{
		Valve: "in1a", Nominal: mm("0.175"), Tight: mm("0.14"), Loose: mm("0.21"),
		Found: &inventory.CertificateReading{Text: "0.10", Clearance: size("0.1"), Is: "tight", Check: 1},
		Left:  &inventory.CertificateReading{Text: "0.175", Clearance: size("0.175"), Is: "ok", Check: 2, Temperature: 294_150},
		Was:   size("2.425"), Stamp: size("2.35"), Changed: true, Proven: true,
	}, in1a)
	require.Len(t, p.Checks, 3)
	assert.Nil(t, p.Checks[0].Gauge)
	assert.Equal(t, &inventory.CertificateGauge{Name: "a", Number: "7", Calibrated: "2025-01-11", Due: "2026-01-10", OutOfDate: true}, p.Checks[1].Gauge)
	assert.Equal(t, []shim.Temperature{294_150}, p.Checks[1].Temperatures)
	assert.Equal(t, "R. Example", p.Checks[1].By)
	var last inventory.Movement
	view(t, s, func(r inventory.Reader) {
		last, err = r.Last()
		require.NoError(t, err)
	})
	assert.Equal(t, inventory.LedgerMark{Booking: last.Batch, Row: last.Seq, Hash: last.Hash.String()}, p.Ledger)
	assert.NotEmpty(t, p.Cautions)
}

// certificateRefused: of a job that is not closed, and of one without a recheck
// unless that is asked for.
func certificateRefused(t *testing.T, s inventory.Store) {
	b := newBench(t, s)
	n := 0
	b.receive(piece("2.35", "A1", true))
	job := b.measured(map[string][2]string{"in1a": {"0.1", "2.425"}})
	_, err := b.Issue(ctx, job, paged(&n))
	require.ErrorIs(t, err, inventory.ErrState)
	require.NoError(t, b.plan(job, drawn("in1a", "2.35")))
	b.fit(job, inventory.Fit{})
	require.NoError(t, b.Close(ctx, job, true))
	_, err = b.Issue(ctx, job, paged(&n))
	require.ErrorIs(t, err, inventory.ErrState)
	assert.ErrorContains(t, err, "without a recheck")
	how := paged(&n)
	how.Unmeasured = true
	p, err := b.Issue(ctx, job, how)
	require.NoError(t, err)
	assert.Contains(t, p.Unproven, "in1a is not measured since its shim was changed")
	for _, valve := range p.Valves {
		if valve.Valve == "in1a" {
			assert.Nil(t, valve.Left)
			assert.False(t, valve.Proven)
			assert.Equal(t, "is not measured since its shim was changed", valve.Why)
		}
	}
	long := string(make([]byte, 1<<20))
	how.Remark = &long
	_, err = b.Issue(ctx, job, how)
	require.ErrorIs(t, err, inventory.ErrInvalid)
	assert.Equal(t, 1, n)
	b.sound()
}

// certificateCarried: a reading that a correction entered again is from the check that
// it was made in.
func certificateCarried(t *testing.T, s inventory.Store) {
	b := newBench(t, s)
	job := recheckedJob(t, b)
	_, err := b.CorrectFit(ctx, job, inventory.Correction{Lay: []inventory.Lay{{Valve: v("in1a"), Marks: shim.Marks{Mic: mm("2.34")}}}})
	require.NoError(t, err)
	require.NoError(t, b.Close(ctx, job, true))
	n := 0
	p, err := b.Issue(ctx, job, paged(&n))
	require.NoError(t, err)
	require.Len(t, p.Checks, 2, "the one before and the one after; nobody measured at the correction")
	for _, valve := range p.Valves {
		if valve.Valve == "in1a" {
			assert.Equal(t, 2, valve.Left.Check)
			assert.Equal(t, mm("2.34"), *valve.Mic)
		}
	}
}
