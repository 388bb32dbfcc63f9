package work

import (
	"context"
	"strings"

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

// LastVisit is the last closed job of the same engine and tag, nil where there
// is none or the job has no tag.
func LastVisit(ctx context.Context, shop *inventory.Shop, job inventory.Job) (*inventory.Job, error) {
	if job.Tag == "" {
		return nil, nil
	}
	list, err := shop.Jobs(ctx, inventory.JobFilter{Tag: job.Tag, States: []inventory.State{inventory.StateClosed}})
	if err != nil {
		return nil, err
	}
	for i := range list {
		if list[i].ID < job.ID && strings.EqualFold(list[i].Name, job.Name) {
			return &list[i], nil
		}
	}
	return nil, nil
}

// MeterAhead is an earlier visit of the machine on which its meter read more than
// the job's, cancelled or not: it was read all the same. It is nil where there is none.
func MeterAhead(ctx context.Context, shop *inventory.Shop, job inventory.Job) (*inventory.Job, error) {
	if inventory.TagKey(job.Tag) == "" || job.Meter == "" || job.MeterNew != "" {
		return nil, nil
	}
	visits, err := shop.Jobs(ctx, inventory.JobFilter{Tag: job.Tag})
	if err != nil {
		return nil, err
	}
	for i := range visits {
		v := &visits[i]
		earlier := job.Opened.IsZero() || v.Opened.Before(job.Opened) || v.Opened.Equal(job.Opened) && v.ID < job.ID
		if v.ID != job.ID && earlier && inventory.MeterWentBack(v.Meter, job.Meter) {
			return v, nil
		}
	}
	return nil, nil
}

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

// A Visit is an earlier job of a machine, with what is known of its shims since.
type Visit struct {
	Job   inventory.Job
	Known []inventory.Known
}

// Open opens a job. Before is its machine's last visit, nil where there is none.
func Open(ctx context.Context, shop *inventory.Shop, opening inventory.Opening) (f inventory.File, before *Visit, err error) {
	job, err := shop.OpenJob(ctx, opening)
	if err != nil {
		return f, nil, err
	}
	if f, err = shop.Job(ctx, job.ID); err != nil {
		return f, nil, err
	}
	last, err := LastVisit(ctx, shop, job)
	if err != nil || last == nil {
		return f, nil, err
	}
	known, err := shop.Known(ctx, job.ID, false)
	return f, &Visit{*last, known}, err
}
