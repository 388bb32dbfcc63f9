package inventory

import (
	"context"

	"shimwright/shim"
)

// A Recorded job is what was found in an engine before anything was fitted.
type Recorded struct {
	Job    Job
	Engine *shim.Engine
	// Found holds one measurement of each of the engine's valves, in the engine's
	// order, with the shim that sat there; unread where nobody measured.
	Found []shim.Measurement
}

// Recorded lists the jobs with readings that were not cancelled, the newest first,
// up to so many; 0 for all.
func (s *Shop) Recorded(ctx context.Context, most int) (list []Recorded, err error) {
	err = s.store.View(ctx, func(r Reader) error {
		jobs, err := r.Jobs(JobFilter{})
		if err != nil {
			return err
		}
		list = nil
		engines := map[int64]*Engine{}
		for _, j := range jobs {
			if j.State == StateOpen || j.State == StateCancelled {
				continue
			}
			if most > 0 && len(list) == most {
				break
			}
			if err := ctx.Err(); err != nil {
				return context.Cause(ctx)
			}
			engine := engines[j.Engine]
			if engine == nil {
				e, err := r.Engine(j.Engine)
				if err != nil {
					return err
				}
				engine, engines[j.Engine] = &e, &e
			}
			found, err := found(r, j, *engine)
			if err != nil {
				return err
			}
			if found != nil {
				list = append(list, Recorded{Job: j, Engine: &engine.Spec, Found: found})
			}
		}
		return nil
	})
	return list, err
}

// found is what the job found, nil where nothing was read.
func found(r Reader, j Job, engine Engine) ([]shim.Measurement, error) {
	w := &work{Job: j, engine: engine}
	if err := w.loadChecks(r); err != nil {
		return nil, err
	}
	readings, _ := w.latestOf(CheckBefore)
	if len(readings) == 0 {
		return nil, nil
	}
	valves := engine.Spec.Valves()
	list := make([]shim.Measurement, len(valves))
	for i, v := range valves {
		list[i].Valve = v
		if m, read := readings[v]; read {
			list[i] = m
		}
	}
	return list, nil
}
