package inventory

import (
	"cmp"
	"context"
	"slices"
	"time"

	"shimwright/shim"
)

// A MachineFile is a machine with its visits, the first one first.
type MachineFile struct {
	Machine Machine
	Visits  []Visit
}

// A Visit is a job with what was found in each valve and what was left there.
type Visit struct {
	Job           Job
	Engine        Engine
	Found         []shim.Measurement // the last readings before anything was fitted, each with its shim
	Left          []shim.Measurement // the last ones after
	Seats         []Seat             // what is in each valve
	Gauges        []Gauge            // sets that were measured with, as they were then
	Certificates  []Certificate      // the issues of its certificate, of this shop's
	OutOfDate     []Gauge            // those of them whose calibration had run out when they were used
	Before, After time.Time          // when Found and Left were entered last, zero where never
	Edited        time.Time          // when the job was edited last, zero where never; not of an imported one
	Imported      *Imported          // of a visit to another shop, whose Job has no number here; nil for this shop's
}

// Machine gives a machine with its visits. One that was merged gives the one
// that it turned out to be.
func (s *Shop) Machine(ctx context.Context, id int64) (f MachineFile, err error) {
	err = s.store.View(ctx, func(r Reader) error {
		f, err = machineFile(r, id)
		return err
	})
	return f, err
}

func machineFile(r Reader, id int64) (f MachineFile, err error) {
	if f.Machine, err = standing(r, id); err != nil {
		return f, err
	}
	jobs, err := r.Jobs(JobFilter{Machine: f.Machine.ID})
	if err != nil {
		return f, err
	}
	for _, j := range jobs {
		v, err := visit(r, j.ID)
		if err != nil {
			return f, err
		}
		f.Visits = append(f.Visits, v)
	}
	elsewhere, err := imports(r, f.Machine.ID)
	if err != nil {
		return f, err
	}
	f.Visits = append(f.Visits, elsewhere...)
	slices.SortStableFunc(f.Visits, func(a, b Visit) int {
		return cmp.Or(a.Job.Opened.Compare(b.Job.Opened), cmp.Compare(a.Job.ID, b.Job.ID))
	})
	return f, nil
}

func visit(r Reader, job int64) (Visit, error) {
	w, err := load(r, job)
	if err != nil {
		return Visit{}, err
	}
	v := Visit{Job: w.Job, Engine: w.engine, Found: w.readAs(CheckBefore), Left: w.readAs(CheckRecheck)}
	for _, valve := range w.engine.Spec.Valves() {
		v.Seats = append(v.Seats, w.seated(valve))
	}
	edits, err := r.Edits(job)
	if err != nil {
		return Visit{}, err
	}
	if n := len(edits); n > 0 {
		v.Edited = edits[n-1].Time
	}
	v.Gauges = gaugesOf(w.checks)
	if v.Certificates, _, err = certificatesOf(r, job); err != nil {
		return Visit{}, err
	}
	for _, c := range w.checks {
		if c.Gauge.OutOfDate(c.Time) && !slices.Contains(v.OutOfDate, c.Gauge) {
			v.OutOfDate = append(v.OutOfDate, c.Gauge)
		}
		if c.Kind == CheckBefore {
			v.Before = c.Time
		} else {
			v.After = c.Time
		}
	}
	return v, nil
}
