package planjson

import (
	"cmp"
	"fmt"

	"shimwright/shim"
	"shimwright/shim/crank"
	"shimwright/shim/plan"
)

// A moveRow is one element of jobs[].fitting.
type moveRow struct {
	Step      int         `json:"step"`
	Valve     shim.Valve  `json:"valve"`
	Crank     *float64    `json:"crank_deg"`
	Piston    *float64    `json:"piston_deg,omitempty"` // not read: the engine tells
	Out       shim.Length `json:"out_mm"`
	OutMark   string      `json:"out_mark,omitempty"`
	To        string      `json:"to"` // a valve, or one of the words below
	ToJob     string      `json:"to_job,omitempty"`
	In        shim.Length `json:"in_mm"`
	InMark    string      `json:"in_mark,omitempty"`
	From      string      `json:"from"`
	FromJob   string      `json:"from_job,omitempty"`
	Temporary bool        `json:"temporary"`
	SetUp     bool        `json:"set_up,omitempty"` // what comes out is a set-up shim of the bench set, or none where out_mm is 0
}

// Where a shim goes and comes from that is in no valve.
const (
	inBox   = "box"
	onBench = "bench"
	bought  = "bought"
)

// A wantRow is one element of jobs[].temporary_wanted.
type wantRow struct {
	Ring     []shim.Valve `json:"ring"`
	RingJobs []string     `json:"ring_jobs,omitempty"`
	Valve    shim.Valve   `json:"valve"`
	ValveJob string       `json:"valve_job,omitempty"`
	shim.Family
	Thin  shim.Length `json:"from_mm"`
	Thick shim.Length `json:"to_mm"`
}

// openings are nil where the crank has no positions.
func moveOf(p *plan.Plan, j *plan.JobPlan, m *plan.Move, openings *crank.Openings) moveRow {
	row := moveRow{Step: m.Step, Valve: m.Valve, Out: m.Out, OutMark: j.Mark(m.Valve, m.Out), To: inBox, In: m.In, InMark: j.Mark(m.Valve, m.In), From: inBox, Temporary: m.Temporary}
	if m.Turned {
		row.Crank = &m.Crank
		if openings != nil {
			piston := openings.Piston(m.Valve, m.Crank)
			row.Piston = &piston
		}
	}
	switch {
	case m.To != nil:
		row.To, row.ToJob = m.To.Valve.String(), p.OtherJob(j, *m.To)
	case m.Bench:
		row.To = onBench
	case m.SetUp:
		row.To, row.SetUp = onBench, true
	}
	switch m.By {
	case plan.Swap:
		row.From, row.FromJob = m.From.Valve.String(), p.OtherJob(j, *m.From)
	case plan.Buy:
		row.From = bought
	}
	return row
}

func wantOf(p *plan.Plan, j *plan.JobPlan, w *plan.Want) wantRow {
	row := wantRow{Valve: w.Valve.Valve, ValveJob: p.OtherJob(j, w.Valve), Family: p.Jobs[w.Valve.Job].Engine.FamilyOf(w.Valve.Valve), Thin: w.Thin, Thick: w.Thick}
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

// read is the move again, of the plan's job with that place. Again tells that the
// valve was opened before.
func (row *moveRow) read(p *plan.Plan, job int, again bool) (plan.Move, error) {
	m := plan.Move{Step: row.Step, Valve: row.Valve, Out: row.Out, In: row.In, Temporary: row.Temporary, Again: again}
	if row.Crank != nil {
		m.Crank, m.Turned = *row.Crank, true
	}
	if _, found := p.Jobs[job].Engine.Find(row.Valve); !found {
		return m, fmt.Errorf("the fitting list has %s, which is not there", row.Valve)
	}
	at := func(name, other string) (*plan.Place, error) {
		v, err := shim.ParseValve(name)
		if err != nil {
			return nil, fmt.Errorf("%s is no valve, nor %s", name, inBox)
		}
		return place(p, job, v, other)
	}
	var err error
	switch row.To {
	case inBox:
	case onBench:
		m.Bench, m.SetUp = !row.SetUp, row.SetUp
	default:
		if m.To, err = at(row.To, row.ToJob); err != nil {
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
		m.From, err = at(row.From, row.FromJob)
	}
	return m, err
}

// readFitting gives the plan's job its fitting list back.
func readFitting(p *plan.Plan, job int, rows []moveRow, wants []wantRow) error {
	j := &p.Jobs[job]
	opened := map[shim.Valve]bool{}
	for i := range rows {
		m, err := rows[i].read(p, job, opened[rows[i].Valve])
		if err != nil {
			return err
		}
		opened[m.Valve] = true
		j.Moves = append(j.Moves, m)
	}
	for i := range wants {
		w, err := wants[i].read(p, job)
		if err != nil {
			return err
		}
		j.Wants = append(j.Wants, w)
	}
	return nil
}

func (row *wantRow) read(p *plan.Plan, job int) (plan.Want, error) {
	w := plan.Want{Thin: row.Thin, Thick: row.Thick}
	at, err := place(p, job, row.Valve, row.ValveJob)
	if err != nil {
		return w, err
	}
	w.Valve = *at
	for i, v := range row.Ring {
		other := ""
		if i < len(row.RingJobs) && row.RingJobs[i] != cmp.Or(p.Jobs[job].Job, p.Jobs[job].Engine.Name) {
			other = row.RingJobs[i]
		}
		if at, err = place(p, job, v, other); err != nil {
			return w, err
		}
		w.Ring = append(w.Ring, *at)
	}
	return w, nil
}

// place finds the valve in this job or, where other names one, in that: by its
// job or, where jobs have no names, its engine.
func place(p *plan.Plan, job int, v shim.Valve, other string) (*plan.Place, error) {
	for _, i := range named(p, job, other) {
		if _, found := p.Jobs[i].Engine.Find(v); found {
			return &plan.Place{Job: i, Valve: v}, nil
		}
	}
	return nil, fmt.Errorf("there is no valve %s in %s", v, cmp.Or(other, p.Jobs[job].Engine.Name))
}

// named lists the jobs of that name: this one alone where it is empty.
func named(p *plan.Plan, job int, name string) []int {
	if name == "" {
		return []int{job}
	}
	var list []int
	for i := range p.Jobs {
		if i != job && cmp.Or(p.Jobs[i].Job, p.Jobs[i].Engine.Name) == name {
			list = append(list, i)
		}
	}
	return list
}
