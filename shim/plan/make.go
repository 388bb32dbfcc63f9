package plan

import (
	"cmp"
	"context"
	"errors"
	"fmt"
	"slices"

	"shimwright/shim"
)

// ErrRequest is wrapped by every error that says what is wrong with a request.
var ErrRequest = errors.New("this cannot be planned")

// Make plans the request: the exact optimum of the policy over all open valves
// together. Jobs keep their order; the plan of each valve depends neither on
// that order nor on the order of the box's rows or of the offers. The error
// wraps [ErrRequest] and says what to do, or is the context's cause where that
// ends before the plan is made.
func Make(ctx context.Context, q Request) (*Plan, error) {
	m, err := newMaker(ctx, q)
	if err != nil {
		return nil, err
	}
	for _, family := range m.stock.families {
		n := newNetwork(m, family, q.Policy.places(), m.clear)
		solution, err := n.solve()
		if err != nil {
			return nil, err
		}
		n.carry(solution)
	}
	p := m.finish()
	if ctx.Err() != nil {
		return nil, context.Cause(ctx)
	}
	return p, nil
}

// A maker makes one plan: it knows what is asked for and what can be had.
type maker struct {
	ctx     context.Context
	request Request
	plan    *Plan
	stock   *stock
	ranked  []int // the plan's jobs by rank
	clear   *clearing
}

// newMaker opens the jobs and gathers the stock.
func newMaker(ctx context.Context, q Request) (*maker, error) {
	if ctx.Err() != nil {
		return nil, context.Cause(ctx)
	}
	if q.Confidence < 0 || q.Confidence >= 1 {
		return nil, fmt.Errorf("%w: a confidence of %g: it is from 0 up to 1", ErrRequest, q.Confidence)
	}
	p := &Plan{Policy: q.Policy, Margin: q.Margin, Confidence: q.Confidence, Jobs: make([]JobPlan, len(q.Jobs))}
	for i := range q.Jobs {
		if err := p.Jobs[i].open(&q.Jobs[i], &q, q.lift(i)); err != nil {
			return nil, err
		}
	}
	stock, err := gatherStock(&q)
	if err != nil {
		return nil, err
	}
	return &maker{
		ctx:     ctx,
		request: q,
		plan:    p,
		stock:   stock,
		ranked:  rank(q.Jobs),
		clear:   &clearing{margin: q.Margin, confidence: q.Confidence},
	}, nil
}

// finish adds up what the networks carried into the plan, lists the moves and
// gives reasons.
func (m *maker) finish() *Plan {
	p := m.plan
	for i := range p.Jobs {
		p.finish(i, m.clear, m.request.Jobs[i].Risk)
	}
	p.Shopping, p.Drawn, p.LeftOver = gather(p.Shopping), gather(p.Drawn), gather(p.LeftOver)
	bench := p.lay(m.stock)
	p.follow()
	if !m.request.unlisted {
		p.handEqual(bench, &m.request)
		p.listMoves(m.ranked, bench)
	}
	for _, i := range m.ranked { // the first job has the first choice of the bench
		m.explain(i, bench)
	}
	return p
}

// lift is what a job's lift names of its engine: among several engines, what
// only others have is theirs. What none of them has stays, to be refused.
func (q *Request) lift(i int) shim.Lift {
	lift := q.Jobs[i].Lift
	var own []string
	for _, name := range lift.Named {
		if q.Jobs[i].Engine.Lifts(name) || !slices.ContainsFunc(q.Jobs, func(j JobRequest) bool { return j.Engine.Lifts(name) }) {
			own = append(own, name)
		}
	}
	if len(lift.Named) > 0 && len(own) == 0 {
		return shim.Lift{None: true} // all that is named is others'
	}
	lift.Named = own
	return lift
}

// open says of every valve what the check says, and opens what the lift asks for.
func (j *JobPlan) open(job *JobRequest, q *Request, lift shim.Lift) error {
	e := job.Engine
	valves := e.Valves()
	if len(job.Check) != len(valves) {
		return fmt.Errorf("%w: %s has %d valves, the check %d", ErrRequest, e.Name, len(valves), len(job.Check))
	}
	for place, m := range job.Check {
		if at, found := e.Find(m.Valve); !found || at != place {
			return fmt.Errorf("%w: the check of %s has %s out of the engine's order", ErrRequest, e.Name, m.Valve)
		}
	}
	for _, side := range []shim.Side{shim.Intake, shim.Exhaust} {
		// A file of an earlier version may have one: it would bind the valve.
		if t := e.Train(side); t.Valves > 0 && t.Ratio.Times <= 0 {
			return fmt.Errorf("%w: %s has a ratio of %s at its %s valves; a thicker shim gives less clearance, at a closing shim too: give the engine file with ratio 1", ErrRequest, e.Name, t.Ratio, side)
		}
	}
	if job.Build {
		lift = shim.LiftAll
	}
	check, warmth := make([]shim.Measurement, len(valves)), make([]shim.TemperatureNote, len(valves))
	for place, m := range job.Check {
		check[place], warmth[place] = e.AtLimits(m)
	}
	open, lifted, err := e.Open(lift, check)
	if err != nil {
		return fmt.Errorf("%w: %w", ErrRequest, err)
	}
	*j = JobPlan{Job: job.Name, Engine: e, Units: e.Units, Provisional: job.Provisional, Build: job.Build, Lifted: lifted, Valves: make([]ValvePlan, len(valves))}
	gauge := q.Gauge
	if gauge == nil {
		gauge = job.Gauge
	}
	if gauge == nil {
		gauge = e.Gauge
	}
	if j.GaugeStated = gauge != nil; !j.GaugeStated {
		gauge = &shim.UsualGauge
	}
	j.Gauge = *gauge
	var trains [2][2]shim.Train // of openers and closers, by side
	for _, side := range shim.Sides {
		for _, closer := range []bool{false, true} {
			trains[bit(closer)][side] = e.TrainOf(shim.Valve{Side: side, Closer: closer})
		}
	}
	for place, m := range check {
		t := &trains[bit(m.Valve.Closer)][m.Valve.Side]
		clearance, measured := m.Reading.Estimate()
		v := &j.Valves[place]
		*v = ValvePlan{
			Valve:          m.Valve,
			Limits:         t.Limits,
			Aim:            t.Aim(),
			Reading:        m.Reading,
			Measured:       measured,
			Clearance:      clearance,
			Installed:      m.Size(),
			InstalledMiked: m.Mic != 0,
			Miked:          m.Mic != 0,
			Verdict:        t.Judge(m.Reading),
			Undecided:      t.Undecided(m.Reading),
			Open:           open[place],
			Action:         Leave,
			Size:           m.Size(),
			Expected:       clearance,
			Temperature:    m.Temperature,
			Warmth:         warmth[place],
		}
		if q.Gauge == nil && j.Gauge.Leaves(m.With) != j.Gauge {
			v.With = shim.Gauge{Step: m.With.Step, Leaf: m.With.Leaf}
		}
		if over, other := job.Over[m.Valve]; other {
			v.Over = &over
		}
		if job.Build {
			v.build(t, !job.Own[m.Valve])
		}
		if v.Open && v.Installed == 0 && !v.SetUp && v.Verdict == shim.OK {
			v.Action = Keep
		}
		if job.CloserFirst == nil && v.Valve.Closer && v.Limits.NoPlay(m.Reading) {
			j.Valves[place-1].closerFirst()
		}
		if slices.Contains(job.CloserFirst, m.Valve) {
			v.closerFirst()
		}
	}
	return nil
}

// closerFirst leaves an opener out until its closer has been put right.
func (v *ValvePlan) closerFirst() {
	if v.Measured {
		v.CloserFirst, v.Measured, v.Clearance, v.Expected = true, false, 0, 0
		v.Undecided, v.Action = false, Leave
	}
}

// build makes the valve one of a fresh build: what its reading says of the
// limits is said of the reading and the allowance.
func (v *ValvePlan) build(t *shim.Train, setUp bool) {
	v.Allowance = t.Allowance
	v.Expected += t.Allowance.By
	measured := t.Settling()
	v.Verdict, v.Undecided = measured.Judge(v.Reading), measured.Undecided(v.Reading)
	if setUp {
		v.SetUp, v.Size, v.Miked, v.Undecided = true, 0, false, false
	}
}

// finish says which valves are near a limit and adds up the job's criteria.
func (p *Plan) finish(i int, clear *clearing, risk func(Fit) int64) {
	j := &p.Jobs[i]
	for k := range j.Valves {
		v := &j.Valves[k]
		v.MayBind = j.mayBind(v)
		v.Near = v.Served() && !clear.of(j.Gauge, v.Limits, v.parts(j.Engine)).Contain(v.Expected)
		if risk != nil && takesPart(v) && v.Size != 0 {
			v.Risk = risk(Fit{Valve: v.Valve, Size: v.Size, Own: !v.Changed(), Known: v.Fitted()})
		}
	}
	j.sum()
	p.Criteria.add(j.Criteria)
}

// sum adds up the job's criteria from its valves.
func (j *JobPlan) sum() {
	j.Criteria = Criteria{}
	for k := range j.Valves {
		v := &j.Valves[k]
		if !v.Open {
			continue
		}
		c := Criteria{}
		if !v.Served() {
			c.Unserved = 1
		}
		if v.Measured && (!v.SetUp || v.Changed()) {
			c.Deviation = (v.Expected - v.Aim).Abs()
		}
		c.Risk = v.Risk
		if v.Near {
			c.Near = 1
		}
		if v.Changed() {
			c.Changed = 1
			if v.Verdict == shim.OK && !v.SetUp {
				c.Disturbed = 1
			}
		}
		switch v.Action {
		case Box:
			c.Drawn = 1
		case Buy:
			c.Bought, c.Cost = 1, v.Price
		}
		j.Criteria.add(c)
	}
}

// rank lists the jobs by what they say, so that of plans equally good the same
// one is found in whatever order the jobs stand.
func rank(jobs []JobRequest) []int {
	ranked := make([]int, len(jobs))
	for i := range jobs {
		ranked[i] = i
	}
	slices.SortStableFunc(ranked, func(a, b int) int {
		x, y := &jobs[a], &jobs[b]
		return cmp.Or(
			cmp.Compare(x.Name, y.Name),
			cmp.Compare(x.Engine.Name, y.Engine.Name),
			cmp.Compare(x.Lift.String(), y.Lift.String()),
			slices.CompareFunc(x.Check, y.Check, func(m, n shim.Measurement) int {
				return cmp.Or(
					m.Valve.Compare(n.Valve),
					cmp.Compare(m.Reading.Kind, n.Reading.Kind),
					cmp.Compare(m.Reading.Low, n.Reading.Low),
					cmp.Compare(m.Reading.High, n.Reading.High),
					cmp.Compare(m.Reading.Second.Low, n.Reading.Second.Low),
					cmp.Compare(m.Reading.Second.High, n.Reading.Second.High),
					cmp.Compare(m.Reading.Unloaded.Low, n.Reading.Unloaded.Low),
					cmp.Compare(m.Reading.Unloaded.High, n.Reading.Unloaded.High),
					cmp.Compare(m.Reading.Unloaded.Most, n.Reading.Unloaded.Most),
					cmp.Compare(m.Size(), n.Size()),
					cmp.Compare(m.Mic, n.Mic),
					cmp.Compare(m.With.Step, n.With.Step),
					cmp.Compare(m.With.Leaf, n.With.Leaf),
				)
			}),
		)
	})
	return ranked
}

// compareSizes orders lengths.
func compareSizes(a, b shim.Length) int { return int(max(-1, min(1, a-b))) }

// sortedSizes is the list in order, without equals.
func sortedSizes(sizes []shim.Length) []shim.Length {
	slices.Sort(sizes)
	return slices.Compact(sizes)
}
