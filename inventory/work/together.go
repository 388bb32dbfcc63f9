package work

import (
	"fmt"

	"shimwright/inventory"
	"shimwright/shim"
	"shimwright/shim/plan"
)

// A Skip is a job that cannot be planned together with others, and why.
type Skip struct {
	Job inventory.Job
	Why string
}

// Together makes jobs ready to be planned together, on bases that were read
// together. Those that have to be planned alone, or cannot be planned yet, are
// left out with the reason.
func Together(bases []inventory.Basis) (ready []*Ready, skipped []Skip) {
	for _, basis := range bases {
		if r, why := together(basis); why == "" {
			ready = append(ready, r)
		} else {
			skipped = append(skipped, Skip{basis.Job, why})
		}
	}
	return ready, skipped
}

// together makes one job ready, or says why it is left out.
func together(basis inventory.Basis) (*Ready, string) {
	coming := 0
	for _, p := range basis.Orders {
		coming += p.Coming()
	}
	if coming > 0 {
		// A piece on order belongs to its job; the joint plan would hand it round.
		return nil, "shims are on order for it"
	}
	r, err := Prepare(basis)
	if err != nil {
		return nil, err.Error()
	}
	if len(r.StandIns) > 0 {
		return nil, fmt.Sprintf("%s has no shim fitted", r.StandIns[0].Valve)
	}
	unread, unseen := 0, 0
	for _, m := range r.Check {
		if m.Reading.Kind == shim.Unread {
			unread++
		}
		if m.Size() == 0 && (!basis.Job.Build || r.Own[m.Valve]) {
			unseen++
		}
	}
	switch {
	case unread == 1:
		return nil, "1 valve is not read yet"
	case unread > 0:
		return nil, fmt.Sprintf("%d valves are not read yet", unread)
	case unseen == 1:
		return nil, "1 shim is not known yet"
	case unseen > 0:
		return nil, fmt.Sprintf("%d shims are not known yet", unseen)
	}
	return r, ""
}

// Request is what is to be planned for jobs that [Together] made ready.
func Request(ready []*Ready, lift shim.Lift) plan.Request {
	var q plan.Request
	boxed := map[shim.Family]bool{}
	engines := map[int64]*shim.Engine{}
	for _, r := range ready {
		job := r.Job(lift)
		if known := engines[r.basis.Engine.ID]; known != nil {
			job.Engine = known // equal valves of equal engines are planned as one
		}
		engines[r.basis.Engine.ID] = job.Engine
		job.Name = fmt.Sprint(r.basis.Job.ID)
		q.Jobs = append(q.Jobs, job)
		for _, row := range r.Box {
			if !boxed[row.Family] {
				q.Box = append(q.Box, row)
			}
		}
		for _, f := range job.Engine.Families() {
			boxed[f] = true
		}
	}
	return q
}
