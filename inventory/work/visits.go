package work

import (
	"context"
	"slices"

	"shimwright/inventory"
	"shimwright/shim"
)

// Tagged lists the jobs that a tag or a part of one means: those at work, of that
// very tag where there are any. Where finished ones may be meant too, none is at
// work and all found are of one tag, it is the newest of them.
func Tagged(ctx context.Context, shop *inventory.Shop, tag string, finished bool) ([]inventory.Job, error) {
	jobs, err := shop.Jobs(ctx, inventory.JobFilter{TagPart: tag})
	if err != nil {
		return nil, err
	}
	var exact, part []inventory.Job
	for _, j := range jobs {
		switch {
		case j.State.Final():
		case inventory.TagKey(j.Tag) == inventory.TagKey(tag):
			exact = append(exact, j)
		default:
			part = append(part, j)
		}
	}
	switch {
	case len(exact) > 0:
		return exact, nil
	case len(part) == 0 && finished && len(jobs) > 0 && inventory.TagKey(jobs[0].Tag) == inventory.TagKey(jobs[len(jobs)-1].Tag):
		return jobs[:1], nil
	}
	return part, nil
}

// LastVisit is the machine's last closed job before this one, nil where there is
// none or the job has no machine.
func LastVisit(ctx context.Context, shop *inventory.Shop, job inventory.Job) (*inventory.Job, error) {
	if job.Machine == 0 {
		return nil, nil
	}
	list, err := shop.Jobs(ctx, inventory.JobFilter{Machine: job.Machine, States: []inventory.State{inventory.StateClosed}})
	if err != nil {
		return nil, err
	}
	for i := range list {
		if list[i].ID < job.ID {
			return &list[i], nil
		}
	}
	return nil, nil
}

// LastRecord is what is known of the job's engine from before: the last reading and
// the shim in each valve, here or in another shop, whichever is later, measured in
// the state that the job is measured in. It is nil where there is none since work
// that wear cannot be followed across.
func LastRecord(ctx context.Context, shop *inventory.Shop, job inventory.Job, e *shim.Engine, known []inventory.Known) ([]shim.Measurement, error) {
	if job.Machine == 0 {
		return nil, nil
	}
	file, err := shop.Machine(ctx, job.Machine)
	if err != nil {
		return nil, err
	}
	var earlier []*inventory.Visit
	for i := range file.Visits {
		v := &file.Visits[i]
		here, closed := v.Imported == nil, v.Job.State == inventory.StateClosed
		if before(v, job) && (here && closed || !here && v.Job.State != inventory.StateCancelled && sameValves(&v.Engine.Spec, e)) {
			earlier = append(earlier, v)
		}
	}
	v := comparable(earlier, e.State)
	switch {
	case v == nil:
		return nil, nil
	case v.Imported != nil:
		checks := []inventory.Check{{Readings: v.Found}, {Readings: v.Left}}
		return Record(inventory.File{Seats: v.Seats, Checks: checks}, e, known), nil
	}
	old, err := shop.Job(ctx, v.Job.ID)
	if err != nil {
		return nil, err
	}
	return Record(old, e, known), nil
}

// before reports whether a visit was before a job: one that is not kept yet is now.
func before(v *inventory.Visit, job inventory.Job) bool {
	if v.Imported == nil && v.Job.ID == job.ID {
		return false
	}
	return job.Opened.IsZero() || v.Job.Opened.Before(job.Opened) || v.Job.Opened.Equal(job.Opened) && (v.Imported != nil || v.Job.ID < job.ID)
}

// comparable is the last of the visits that was measured in the state, nil where
// there is none since work that wear cannot be followed across.
func comparable(visits []*inventory.Visit, state shim.State) *inventory.Visit {
	for _, v := range slices.Backward(visits) {
		if v.Engine.Spec.State == state {
			return v
		}
		if v.Job.Reset != "" || v.Job.Build {
			break
		}
	}
	return nil
}

// sameValves reports whether two engines have the same valves.
func sameValves(a, b *shim.Engine) bool { return slices.Equal(a.Valves(), b.Valves()) }

// Contradicted lists what the shop knows of the valve's shim where it fitted
// another one than that which is told now.
func Contradicted(known []inventory.Known, v shim.Valve, now shim.Marks) []inventory.Known {
	var list []inventory.Known
	for _, k := range known {
		if k.Valve == v && k.Fitted && !sameShim(k.Marks, now) {
			list = append(list, k)
		}
	}
	return list
}

// sameShim reports whether two shims can be one: of one stamp, or hardly apart
// where a stamp is not known.
func sameShim(was, is shim.Marks) bool {
	if is.Size() == 0 {
		return true
	}
	if is.Stamp != 0 && was.Stamp != 0 {
		return is.Stamp == was.Stamp
	}
	return (is.Size() - was.Size()).Abs() <= worn
}

// worn is how far two readings of one shim may be apart.
const worn = 10 * shim.Micrometre

// A Visit is what is known of a machine from before a job: its last visit here, the
// last one to another shop where that is later, and its shims.
type Visit struct {
	Job       *inventory.Job   // nil for none
	Elsewhere *inventory.Visit // nil for none since
	Known     []inventory.Known
}

// Open opens a job. Before is nil where its machine was never seen.
func Open(ctx context.Context, shop *inventory.Shop, opening inventory.Opening) (f inventory.File, before *Visit, err error) {
	job, err := shop.OpenJob(ctx, opening)
	if err != nil {
		return f, nil, err
	}
	if f, err = shop.Job(ctx, job.ID); err != nil {
		return f, nil, err
	}
	v := &Visit{}
	if v.Job, err = LastVisit(ctx, shop, job); err != nil {
		return f, nil, err
	}
	if v.Elsewhere, err = shop.Elsewhere(ctx, job.ID); err != nil {
		return f, nil, err
	}
	if v.Job != nil && v.Elsewhere != nil && v.Job.Opened.After(v.Elsewhere.Job.Opened) {
		v.Elsewhere = nil
	}
	if v.Job == nil && v.Elsewhere == nil {
		return f, nil, nil
	}
	v.Known, err = shop.Known(ctx, job.ID, false)
	return f, v, err
}
