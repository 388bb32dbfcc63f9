package work

import (
	"context"
	"strings"
	"time"

	"shimwright/inventory"
	"shimwright/shim"
)

// A MeterKind is why a job's meter can hardly be right.
type MeterKind int

// The doubts of a meter.
const (
	MeterBack    MeterKind = iota // it reads less than on an earlier visit
	MeterJump                     // it ran on by more than ten times its pace
	MeterUnknown                  // it is not understood
	OldMeterBack                  // the meter before is said to have read less at its end than on an earlier visit
)

// A MeterDoubt is a doubt of a job's meter. Visit is the one that it does not agree
// with, nil for MeterUnknown.
type MeterDoubt struct {
	Kind  MeterKind
	Visit *inventory.Visit
}

// MeterUnsaid is what is said of a meter before that nobody knows.
const MeterUnsaid = "unknown"

// DoubtMeter holds a job's meter against the machine's earlier visits, here and to
// other shops, cancelled or not: it was read all the same. It refuses what the
// meter before cannot have read. A job without a machine yet goes by its tag and
// model; without a tag it is no visit, and nothing is doubted.
func DoubtMeter(ctx context.Context, shop *inventory.Shop, job inventory.Job, now time.Time) (list []MeterDoubt, err error) {
	old, known := shim.ParseMeter(job.MeterNew)
	replaced := known && job.MeterNew != ""
	if !known && job.MeterNew != "" && !strings.EqualFold(strings.TrimSpace(job.MeterNew), MeterUnsaid) {
		return nil, shim.Fail(inventory.ErrInvalid, "write what the old one read at the end, like \"48,350 km\", or unknown", "%q is not what a meter reads", job.MeterNew)
	}
	if inventory.TagKey(job.Tag) == "" {
		return nil, nil
	}
	is, known := shim.ParseMeter(job.Meter)
	if !known && job.Meter != "" {
		list = append(list, MeterDoubt{Kind: MeterUnknown})
	}
	machine := job.Machine
	if machine == 0 {
		if machine, err = shop.MachineOf(ctx, job.Tag, job.Name); err != nil || machine == 0 {
			return list, err
		}
	}
	file, err := shop.Machine(ctx, machine)
	if err != nil {
		return nil, err
	}
	if job.Opened.IsZero() {
		job.Opened = now
	}
	read := metersBefore(file.Visits, job)
	if len(read) == 0 {
		return list, nil
	}
	last := read[len(read)-1]
	if replaced {
		if old.Kind == "" {
			old.Kind = last.kind
		}
		if _, same := last.meter.In(old.Kind); !same && old.Kind != "" && last.kind != "" {
			return nil, shim.Fail(inventory.ErrInvalid, "write what the old one read at the end, or unknown", "the meter before cannot have read %s: it read %s", old, last.meter)
		}
		if v := aheadOf(read, old); v != nil {
			list = append(list, MeterDoubt{OldMeterBack, v})
		}
	}
	if !known || job.Meter == "" || job.MeterNew != "" {
		return list, nil
	}
	if is.Kind == "" {
		is.Kind = last.kind
	}
	if v := aheadOf(read, is); v != nil {
		list = append(list, MeterDoubt{MeterBack, v})
	} else if jumps(read, is, job.Opened) {
		list = append(list, MeterDoubt{MeterJump, last.visit})
	}
	return list, nil
}

// A metered visit is one whose meter is understood, with the unit that it has or
// that the visit before had.
type metered struct {
	visit *inventory.Visit
	meter shim.Meter
	kind  shim.MeterKind
}

// metersBefore are a machine's visits before a job with the meter that is in now.
func metersBefore(visits []inventory.Visit, job inventory.Job) (list []metered) {
	var kind shim.MeterKind
	for i := range visits {
		v := &visits[i]
		if !before(v, job) {
			continue
		}
		if v.Job.MeterNew != "" {
			list = nil
		}
		m, known := shim.ParseMeter(v.Job.Meter)
		if !known || v.Job.Meter == "" {
			continue
		}
		if m.Kind != "" {
			kind = m.Kind
		}
		m.Kind = kind
		list = append(list, metered{v, m, kind})
	}
	return list
}

// aheadOf is the newest of the visits on which the meter read more, nil for none.
func aheadOf(read []metered, is shim.Meter) *inventory.Visit {
	for i := len(read) - 1; i >= 0; i-- {
		was, same := read[i].meter.In(is.Kind)
		if is.Kind == "" || read[i].kind == "" {
			was, same = read[i].meter.Value(), true
		}
		if same && is.Value() < was-0.005 {
			return read[i].visit
		}
	}
	return nil
}

// jumps reports whether a meter ran on by more than ten times what its pace so far
// comes to, a month at least, and two of the maker's intervals; where no pace is
// known yet, by ten intervals.
func jumps(read []metered, is shim.Meter, opened time.Time) bool {
	last := read[len(read)-1]
	from, same := last.meter.In(is.Kind)
	if !same {
		return false
	}
	by := is.Value() - from
	interval, stated := last.visit.Engine.Spec.Interval.In(is.Kind)
	if !stated || interval <= 0 {
		interval, _ = shim.MeterOf(12_000, shim.Kilometres).In(is.Kind)
		if is.Kind == shim.Hours {
			interval = 200
		}
	}
	first, same := read[0].meter.In(is.Kind)
	days := last.visit.Job.Opened.Sub(read[0].visit.Job.Opened).Hours() / 24
	if !same || days < 30 || from <= first {
		return by > 10*interval
	}
	since := max(30, opened.Sub(last.visit.Job.Opened).Hours()/24)
	return by > max(10*since*(from-first)/days, 2*interval)
}
