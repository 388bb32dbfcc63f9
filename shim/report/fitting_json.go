package report

import (
	"cmp"
	"fmt"

	"shimwright/shim"
	"shimwright/shim/plan"
)

// A moveJSON is one element of jobs[].fitting.
type moveJSON struct {
	Step      int         `json:"step"`
	Valve     shim.Valve  `json:"valve"`
	Crank     *float64    `json:"crank_deg"`
	Out       shim.Length `json:"out_mm"`
	To        string      `json:"to"` // a valve, or one of the words below
	ToJob     string      `json:"to_job,omitempty"`
	In        shim.Length `json:"in_mm"`
	From      string      `json:"from"`
	FromJob   string      `json:"from_job,omitempty"`
	Temporary bool        `json:"temporary"`
}

// Where a shim goes and comes from that is in no valve.
const (
	inBox   = "box"
	onBench = "bench"
	bought  = "bought"
)

// A wantJSON is one element of jobs[].temporary_wanted.
type wantJSON struct {
	Ring     []shim.Valve `json:"ring"`
	RingJobs []string     `json:"ring_jobs,omitempty"`
	Valve    shim.Valve   `json:"valve"`
	ValveJob string       `json:"valve_job,omitempty"`
	Diameter shim.Length  `json:"diameter_mm"`
	Thin     shim.Length  `json:"from_mm"`
	Thick    shim.Length  `json:"to_mm"`
}

func move(p *plan.Plan, j *plan.JobPlan, m *plan.Move) moveJSON {
	row := moveJSON{Step: m.Step, Valve: m.Valve, Out: m.Out, To: inBox, In: m.In, From: inBox, Temporary: m.Temporary}
	if m.Turned {
		row.Crank = &m.Crank
	}
	switch {
	case m.To != nil:
		row.To, row.ToJob = m.To.Valve.String(), otherThan(p, j, *m.To)
	case m.Bench:
		row.To = onBench
	}
	switch m.By {
	case plan.Swap:
		row.From, row.FromJob = m.From.Valve.String(), otherThan(p, j, *m.From)
	case plan.Buy:
		row.From = bought
	}
	return row
}

// otherThan names the job of a valve where that is another one.
func otherThan(p *plan.Plan, j *plan.JobPlan, at plan.Place) string {
	if other := &p.Jobs[at.Job]; other != j {
		return cmp.Or(other.Job, other.Engine.Name)
	}
	return ""
}

func want(p *plan.Plan, j *plan.JobPlan, w *plan.Want) wantJSON {
	row := wantJSON{Valve: w.Valve.Valve, ValveJob: otherThan(p, j, w.Valve), Diameter: j.Engine.Diameter, Thin: w.Thin, Thick: w.Thick}
	several := false
	for _, at := range w.Ring {
		row.Ring = append(row.Ring, at.Valve)
		row.RingJobs = append(row.RingJobs, cmp.Or(p.Jobs[at.Job].Job, p.Jobs[at.Job].Engine.Name))
		several = several || at.Job != w.Ring[0].Job
	}
	if !several {
		row.RingJobs = nil
	}
	return row
}

// planned is the move again, of a plan of one job. Again tells that the valve
// was opened before.
func (row *moveJSON) planned(e *shim.Engine, again bool) (plan.Move, error) {
	m := plan.Move{Step: row.Step, Valve: row.Valve, Out: row.Out, In: row.In, Temporary: row.Temporary, Again: again}
	if row.Crank != nil {
		m.Crank, m.Turned = *row.Crank, true
	}
	at := func(name string) (*plan.Place, error) {
		v, err := shim.ParseValve(name)
		if _, found := e.Find(v); err != nil || !found {
			return nil, fmt.Errorf("%s is in no valve of %s, nor %s", name, e.Name, inBox)
		}
		return &plan.Place{Valve: v}, nil
	}
	if _, found := e.Find(row.Valve); !found {
		return m, fmt.Errorf("the fitting list has %s, which is not there", row.Valve)
	}
	var err error
	switch row.To {
	case inBox:
	case onBench:
		m.Bench = true
	default:
		if m.To, err = at(row.To); err != nil {
			return m, err
		}
	}
	switch row.From {
	case inBox:
		m.By = plan.Box
	case bought:
		m.By = plan.Buy
	default:
		m.By = plan.Swap
		m.From, err = at(row.From)
	}
	return m, err
}

// fittingOf gives a job its fitting list back.
func fittingOf(j *plan.JobPlan, rows []moveJSON, wants []wantJSON) error {
	opened := map[shim.Valve]bool{}
	for i := range rows {
		m, err := rows[i].planned(j.Engine, opened[rows[i].Valve])
		if err != nil {
			return err
		}
		opened[m.Valve] = true
		j.Moves = append(j.Moves, m)
	}
	for _, row := range wants {
		w := plan.Want{Valve: plan.Place{Valve: row.Valve}, Thin: row.Thin, Thick: row.Thick}
		for _, v := range row.Ring {
			w.Ring = append(w.Ring, plan.Place{Valve: v})
		}
		j.Wants = append(j.Wants, w)
	}
	return nil
}
